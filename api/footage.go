package api

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"mime"
	"net/http"
	"os"
	"time"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"evenwhite/api/quota"
	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/footage"
	"evenwhite/openapi"
)

// listingTime is how long a listing may take to arrive: 64 MiB at 350 kB/s.
const listingTime = 3 * time.Minute

const (
	listingsAtOnce = 4
	listingsEach   = 1
)

// A listingDoor bounds what listings take together: few are read, and one is joined at a time.
type listingDoor struct {
	coming  *quota.Budget
	joining chan struct{}
}

func newListingDoor() listingDoor {
	return listingDoor{quota.NewBudget(listingsAtOnce, listingsEach), make(chan struct{}, 1)}
}

// JoinFootage answers which recorded file belongs to which clip, and stores nothing.
func (s *service) JoinFootage(c echo.Context, production openapi.ProductionParameter, _ openapi.JoinFootageParams) error {
	_, joined, err := s.joined(c, production)
	if err != nil {
		return err
	}
	return answer(c, http.StatusOK, joined)
}

// AdoptFootage writes into the log what somebody takes over of what a listing says. Of a listing that comes
// again under its key nothing is read: what was seen is named in the query.
func (s *service) AdoptFootage(c echo.Context, production openapi.ProductionParameter, params openapi.AdoptFootageParams) error {
	return s.once(c, params.IdempotencyKeyParameter, func(w logbook.Writer) (deed, error) {
		l, joined, err := s.joined(c, production)
		if err != nil {
			return deed{}, err
		}
		if joined.Seen != params.Seen {
			return deed{}, fmt.Errorf("%w: seen is %s, the present result is %s", footage.ErrMoved, shorten(params.Seen), joined.Seen)
		}
		edits, err := Adopt(l, w, joined, params.What)
		return deed{log: l, edits: edits}, err
	}, func(made deed) error {
		if err := passOver(c, nil); err != nil {
			return err
		}
		return answer(c, http.StatusOK, openapi.FootageAdopted{Act: made.edits[0].Dot.String(), Clips: recordsIn(made.edits)})
	})
}

// Adopt writes one act of what is taken over of a join.
func Adopt(l *exchange.Peer, w logbook.Writer, joined footage.Joined, what string) ([]*logbook.Edit, error) {
	return l.Change(w, func(b *logbook.Book) ([]logbook.Draft, error) { return footage.Adopt(b, joined, what) })
}

// columnsOf are the columns that the query names.
func columnsOf(c echo.Context) footage.Columns {
	return footage.Columns{Name: c.QueryParam("nameColumn"), Folder: c.QueryParam("folderColumn"), Time: c.QueryParam("timeColumn"),
		Size: c.QueryParam("sizeColumn"), Hash: c.QueryParam("hashColumn"), Kelvin: c.QueryParam("kelvinColumn"),
		Tint: c.QueryParam("tintColumn"), Lens: c.QueryParam("lensColumn")}
}

func recordsIn(edits []*logbook.Edit) int {
	records := map[logbook.ID]bool{}
	for _, e := range edits {
		records[e.Record] = true
	}
	return len(records)
}

// joined joins the listing of a request with the log of a production.
func (s *service) joined(c echo.Context, production openapi.ProductionParameter) (*exchange.Peer, footage.Joined, error) {
	l, err := s.log(production)
	if err != nil {
		return nil, footage.Joined{}, err
	}
	joined, err := s.join(c, l)
	return l, joined, err
}

// join reads the listing of a request as it arrives and joins it with the log.
func (s *service) join(c echo.Context, l *exchange.Peer) (joined footage.Joined, err error) {
	who := asker(c)
	if !s.listings.coming.Take(who, 1) {
		return joined, passOver(c, quota.ErrBusy)
	}
	defer s.listings.coming.Give(who, 1)
	if err := supported(http.NewResponseController(c.Response()).SetReadDeadline(time.Now().Add(listingTime))); err != nil {
		return joined, err
	}
	rows, err := RowsOf(l)
	if err != nil {
		return joined, err
	}
	form := footage.Form{Columns: columnsOf(c), Around: around(rows, s.now())}
	switch media, _, _ := mime.ParseMediaType(c.Request().Header.Get(echo.HeaderContentType)); media {
	case "text/csv":
		form.Of = footage.Table
	case "application/xml":
		form.Of = footage.HashList
	default:
		form.Of = footage.Lines
	}
	list := footage.NewCollection()
	if err := listingProblem(list.Read(c.Request().Body, form)); err != nil {
		return joined, err
	}
	select {
	case s.listings.joining <- struct{}{}:
	case <-c.Request().Context().Done():
		return joined, c.Request().Context().Err()
	}
	defer func() { <-s.listings.joining }()
	return JoinRows(rows, list)
}

// RowsOf reads the clips of a log without holding up anybody who writes.
func RowsOf(l *exchange.Peer) (rows []*footage.Row, err error) {
	frozen, err := l.Freeze()
	if err != nil {
		return nil, err
	}
	defer frozen.Close()
	frozen.Read(func(b *logbook.Book) { rows = footage.RowsOf(b) })
	return rows, nil
}

// JoinRows joins, and names the result by all that it says.
func JoinRows(rows []*footage.Row, list *footage.Collection) (footage.Joined, error) {
	joined := footage.Join(rows, list)
	b, err := json.Marshal(joined)
	sum := sha256.Sum256(b)
	joined.Seen = hex.EncodeToString(sum[:12])
	return joined, err
}

// around is the moment near which dates without a year lie.
func around(rows []*footage.Row, now logbook.Millis) logbook.Millis {
	if len(rows) == 0 {
		return now
	}
	return rows[len(rows)-1].At
}

// listingProblem says why a listing could not be read to its end.
func listingProblem(err error) error {
	var tooLarge *http.MaxBytesError
	var line *footage.ListingError
	switch {
	case errors.As(err, &tooLarge):
		return fmt.Errorf("%w: at most %d MiB are taken here", ErrTooLarge, tooLarge.Limit>>20)
	case errors.Is(err, os.ErrDeadlineExceeded):
		return fmt.Errorf("%w: a listing has %s", ErrSlow, listingTime)
	case errors.As(err, &line):
		return &Wrong{"the listing cannot be read", []FieldProblem{{fmt.Sprintf("line %d", line.Line), footage.Shown(line.Seen), line.Allowed}}}
	case err != nil && !errors.Is(err, footage.ErrTooLong):
		return &Wrong{Detail: "the body could not be read to its end"}
	}
	return err
}

// UndoAct takes back all edits of one act.
func (s *service) UndoAct(
	c echo.Context, production openapi.ProductionParameter, text openapi.DotParameter, params openapi.UndoActParams,
) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	d, err := parseDot(text)
	if err != nil {
		return err
	}
	var left []openapi.LeftEdit
	return s.once(c, params.IdempotencyKeyParameter, func(w logbook.Writer) (deed, error) {
		edits, stay, err := TakeBack(l, w, d)
		for _, e := range stay {
			left = append(left, openapi.LeftEdit{Kind: string(e.Kind), Record: uuid.UUID(e.Record), Why: e.Why})
		}
		return deed{log: l, edits: edits}, err
	}, func(made deed) error {
		out := openapi.ActUndone{Act: made.edits[0].Dot.String(), Records: recordsIn(made.edits)}
		if len(left) > 0 {
			out.Left = &left
		}
		return answer(c, http.StatusOK, out)
	})
}

// TakeBack takes back the act of an edit, and says what of it stays.
func TakeBack(l *exchange.Peer, w logbook.Writer, d logbook.Dot) (edits []*logbook.Edit, left []amend.LeftAlone, err error) {
	act, err := actAt(l, d)
	if err != nil {
		return nil, nil, err
	}
	edits, err = l.Change(w, func(b *logbook.Book) ([]logbook.Draft, error) {
		undone, err := amend.UndoAct(b, act)
		left = undone.Left
		return undone.Drafts, err
	})
	return edits, left, err
}

// actAt reads the act of an edit, whose edits stand one after another in a line, out of the store.
func actAt(l *exchange.Peer, d logbook.Dot) (act []*logbook.Edit, err error) {
	found, err := editsAt(l, d, 1)
	if err != nil {
		return nil, err
	}
	if len(found) == 0 {
		return nil, fmt.Errorf("%w: no edit %s", logbook.ErrNoRecord, d)
	}
	if found[0].Act.IsZero() {
		return found, nil
	}
	of := found[0].Act
	const some = 1024
	for from := of; ; from.N += some {
		found, err := editsAt(l, from, some)
		if err != nil {
			return nil, err
		}
		for _, e := range found {
			if e.Act == of {
				act = append(act, e)
			}
		}
		if len(found) < some || found[some-1].Act != of {
			return act, nil
		}
	}
}

// editsAt reads the edits of a line from a dot on that are here.
func editsAt(l *exchange.Peer, from logbook.Dot, count uint64) (edits []*logbook.Edit, err error) {
	dots := make([]logbook.Dot, count)
	for i := range dots {
		dots[i] = logbook.Dot{Line: from.Line, N: from.N + uint64(i)}
	}
	stored, err := l.Get(dots)
	if err != nil {
		return nil, err
	}
	for i := range stored {
		e, err := logbook.DecodeEdit(stored[i].Bytes)
		if err != nil {
			return nil, fmt.Errorf("%w: edit %s at sequence %d: %w", logbook.ErrDamaged, stored[i].Dot, stored[i].Seq, err)
		}
		edits = append(edits, e)
	}
	return edits, nil
}
