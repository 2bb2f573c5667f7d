package api

import (
	"fmt"
	"net/http"
	"strings"

	"github.com/google/uuid"
	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/review"
	"evenwhite/logbook/slate"
	"evenwhite/openapi"
)

// idOf is the id in an object that a device made, or a new one.
func idOf(object logbook.Value) (logbook.ID, error) {
	given := object.Member("id")
	if given == "" || given == logbook.Null {
		return drawID(), nil
	}
	id, ok := given.ID()
	if !ok || id[6]>>4 != 7 {
		return logbook.ID{}, wrong("id", string(given), "a UUID of version 7, or none: then the service makes one")
	}
	return id, nil
}

// CreateRecord makes a record of one kind.
func (s *service) CreateRecord(
	c echo.Context, production openapi.ProductionParameter, kind openapi.KindParameter, params openapi.CreateRecordParams,
) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	if logbook.Kind(kind) == kinds.Production {
		return wrong("kind", string(kind), "any other kind; productions begin at /v1/productions")
	}
	return s.create(c, params.IdempotencyKeyParameter, logbook.Kind(kind), func(logbook.ID) (*exchange.Peer, error) { return l, nil })
}

// create makes the record that the body describes, in the log that is found for its id,
// and answers with it.
func (s *service) create(c echo.Context, key *string, kind logbook.Kind, logOf func(logbook.ID) (*exchange.Peer, error)) error {
	return s.once(c, key, func(w logbook.Writer) (made deed, err error) {
		object, err := logbook.ParseValue(string(bodyOf(c)))
		if err != nil {
			return made, err
		}
		d := logbook.Draft{Kind: kind}
		if d.Set, err = amend.Changes(kind, object); err != nil {
			return made, err
		}
		if d.Record, err = idOf(object); err != nil {
			return made, err
		}
		if made.log, err = logOf(d.Record); err != nil {
			return made, err
		}
		if kind == kinds.Note && onlyPost(callerOf(c.Request().Context()), made.log.Production()) {
			if err = postMayMake(d.Set); err != nil {
				return made, err
			}
		}
		made.edits, err = made.log.Change(w, func(b *logbook.Book) ([]logbook.Draft, error) {
			if _, ok := b.Record(d.Record); ok {
				return nil, fmt.Errorf("%w: record %s", ErrExists, d.Record)
			}
			drafts, err := slate.Counted(b, []logbook.Draft{d})
			if err != nil {
				return nil, err
			}
			return slate.Resting(b, drafts, w.Now)
		})
		return made, err
	}, func(made deed) error {
		e := made.edits[0]
		c.Response().Header().Set(echo.HeaderLocation, addressOf(e.Production, e.Kind, e.Record))
		return s.show(c, made.log, http.StatusCreated, e.Kind, e.Record)
	})
}

func addressOf(production logbook.ID, kind logbook.Kind, record logbook.ID) string {
	if kind == kinds.Production {
		return "/v1/productions/" + record.String()
	}
	return fmt.Sprintf("/v1/productions/%s/records/%s/%s", production, kind, record)
}

// show answers with a record as it is now.
func (s *service) show(c echo.Context, l *exchange.Peer, status int, kind logbook.Kind, id logbook.ID) error {
	var object logbook.Value
	var tag string
	var err error
	l.Read(func(b *logbook.Book) {
		var v logbook.View
		if v, err = review.Find(b, kind, id); err == nil {
			object, tag = amend.Object(v), v.ETag()
		}
	})
	if err != nil {
		return err
	}
	c.Response().Header().Set("Accept-Patch", mergePatch)
	c.Response().Header().Set("ETag", tag)
	c.Response().Header().Set("Cache-Control", "no-cache")
	if m := c.Request().Method; (m == http.MethodGet || m == http.MethodHead) && matches(tagsKnown(c), tag) {
		return c.NoContent(http.StatusNotModified)
	}
	return c.Blob(status, echo.MIMEApplicationJSON, []byte(object))
}

// matches reports whether a list of entity tags holds one, or is * (RFC 9110,
// section 13.1).
func matches(list, tag string) bool {
	for _, item := range strings.Split(list, ",") {
		if item = strings.TrimSpace(item); item == "*" || item == tag {
			return true
		}
	}
	return false
}

// GetRecord answers with a record, struck out or not.
func (s *service) GetRecord(
	c echo.Context, production openapi.ProductionParameter, kind openapi.KindParameter,
	record openapi.RecordParameter, _ openapi.GetRecordParams,
) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	return s.show(c, l, http.StatusOK, logbook.Kind(kind), logbook.ID(record))
}

// A target is a record that a caller wants to change.
type target struct {
	production logbook.ID
	kind       logbook.Kind
	record     logbook.ID
	seen       *string // its tag as the caller saw it
	key        *string // Idempotency-Key
}

func targetOf(
	production openapi.ProductionParameter, kind openapi.KindParameter, record openapi.RecordParameter, seen, key *string,
) target {
	return target{logbook.ID(production), logbook.Kind(kind), logbook.ID(record), seen, key}
}

// change lets edit make the drafts of a record that the caller has seen, and
// answers with the record. The tag is compared while no other change can come in
// between.
func (s *service) change(c echo.Context, t target, edit func(logbook.View) ([]logbook.Draft, error)) error {
	l, err := s.Logs.Find(t.production)
	if err != nil {
		return err
	}
	if t.kind == kinds.Production {
		if err := callerOf(c.Request().Context()).May(pairing.Owner, t.production); err != nil {
			return err // as under /v1/productions/{production}
		}
	}
	if t.seen == nil {
		return ErrNoIfMatch
	}
	return s.once(c, t.key, func(w logbook.Writer) (deed, error) {
		edits, err := l.Change(w, func(b *logbook.Book) ([]logbook.Draft, error) {
			v, err := review.Find(b, t.kind, t.record)
			if err != nil {
				return nil, err
			}
			if !matches(*t.seen, v.ETag()) {
				return nil, fmt.Errorf("%w: If-Match is %s, the record's ETag is %s", ErrStale, shorten(*t.seen), v.ETag())
			}
			drafts, err := edit(v)
			if err == nil && !strings.Contains(*t.seen, v.ETag()) {
				err = unread(v, drafts)
			}
			return drafts, err
		})
		return deed{log: l, edits: edits}, err
	}, func(deed) error { return s.show(c, l, http.StatusOK, t.kind, t.record) })
}

// PatchRecord applies a merge patch.
func (s *service) PatchRecord(
	c echo.Context, production openapi.ProductionParameter, kind openapi.KindParameter,
	record openapi.RecordParameter, params openapi.PatchRecordParams,
) error {
	return s.change(c, targetOf(production, kind, record, params.IfMatchParameter, nil),
		func(v logbook.View) ([]logbook.Draft, error) {
			patch, err := logbook.ParseValue(string(bodyOf(c)))
			if err != nil {
				return nil, err
			}
			changes, err := amend.Patch(v, patch)
			if err != nil {
				return nil, err
			}
			return slate.Counted(v.Book(), v.Drafts(changes))
		})
}

// DeleteRecord strikes a record out.
func (s *service) DeleteRecord(
	c echo.Context, production openapi.ProductionParameter, kind openapi.KindParameter,
	record openapi.RecordParameter, params openapi.DeleteRecordParams,
) error {
	return s.change(c, targetOf(production, kind, record, params.IfMatchParameter, nil),
		func(v logbook.View) ([]logbook.Draft, error) {
			return v.Drafts([]logbook.Change{logbook.Strike(v)}), nil
		})
}

// RestoreRecord brings a struck-out record back.
func (s *service) RestoreRecord(
	c echo.Context, production openapi.ProductionParameter, kind openapi.KindParameter,
	record openapi.RecordParameter, params openapi.RestoreRecordParams,
) error {
	return s.change(c, targetOf(production, kind, record, params.IfMatchParameter, params.IdempotencyKeyParameter),
		func(v logbook.View) ([]logbook.Draft, error) {
			return amend.Restore(v), nil
		})
}

// UndoEdit sets what one edit set back to what it replaced.
func (s *service) UndoEdit(
	c echo.Context, production openapi.ProductionParameter, kind openapi.KindParameter,
	record openapi.RecordParameter, text openapi.DotParameter, params openapi.UndoEditParams,
) error {
	d, err := parseDot(text)
	if err != nil {
		return err
	}
	return s.change(c, targetOf(production, kind, record, params.IfMatchParameter, params.IdempotencyKeyParameter),
		func(v logbook.View) ([]logbook.Draft, error) {
			return amend.Undo(v, d)
		})
}

// GetHistory lists all edits of a record.
func (s *service) GetHistory(
	c echo.Context, production openapi.ProductionParameter, kind openapi.KindParameter, record openapi.RecordParameter,
	_ openapi.GetHistoryParams,
) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	if unchanged(c, stateOf(l)) {
		return nil
	}
	return readIn(l, nil, func(b *logbook.Book) (review.History, error) {
		return review.HistoryOf(b, logbook.Kind(kind), logbook.ID(record))
	}).answer(c)
}

// ListRecords lists a page of the records of a kind.
func (s *service) ListRecords(
	c echo.Context, production openapi.ProductionParameter, kind openapi.KindParameter, params openapi.ListRecordsParams,
) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	if unchanged(c, stateOf(l)) {
		return nil
	}
	of := review.Part{Kind: logbook.Kind(kind), SetUp: optionalID(params.SetUpFilterParameter), Day: optionalID(params.DayFilterParameter),
		Deleted: params.DeletedFilterParameter != nil && *params.DeletedFilterParameter}
	r := readIn(l, nil, func(b *logbook.Book) (review.RecordsPage, error) {
		page, err := review.Records(b, of, params.CursorParameter, limitOf(params.LimitParameter))
		return page, atCursor(err, params.CursorParameter)
	})
	linkNext(c, r.value.Next)
	return r.answer(c)
}

// optionalID is the id of a parameter, or zero where it was not given.
func optionalID(given *uuid.UUID) (id logbook.ID) {
	if given != nil {
		id = logbook.ID(*given)
	}
	return id
}
