package api

import (
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"sync"

	"github.com/labstack/echo/v4"

	"evenwhite/logbook"
	"evenwhite/logbook/answers"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/review"
	"evenwhite/openapi"
)

// ListDeviations lists what is off, grouped by cause, as of one head: edits are merged
// meanwhile.
func (s *service) ListDeviations(c echo.Context, production openapi.ProductionParameter, params openapi.ListDeviationsParams) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	asked := offQuery{scope: deviation.Scope{SetUp: optionalID(params.SetUpFilterParameter), Day: optionalID(params.DayFilterParameter)}}
	if wanted := params.AcceptedFilterParameter; wanted != nil {
		asked.some, asked.accepted = true, *wanted
	}
	found, err := s.off.ask(l, asked, s.now())
	if err != nil {
		return err
	}
	if unchanged(c, found.tag) {
		return nil
	}
	return c.Blob(http.StatusOK, echo.MIMEApplicationJSON, found.body)
}

// offQuery is what somebody asks: of a scope all, or only what is accepted or is not.
type offQuery struct {
	scope          deviation.Scope
	some, accepted bool
}

// An offAnswer is what was off at a head.
type offAnswer struct {
	head logbook.Head
	at   logbook.Millis
	tag  string
	body []byte
}

// offAnswers are the last answers of each production. One is worked out at a time: whoever asks
// meanwhile waits for it, and mostly it is theirs too.
type offAnswers struct {
	mu  sync.Mutex
	all map[logbook.ID]*offBoard
}

type offBoard struct {
	mu   sync.Mutex
	last map[offQuery]offAnswer
	kept deviation.Kept
}

const (
	// stillNow is how long an answer stands where nothing comes in: ages are told in minutes.
	stillNow = logbook.Millis(10_000)
	// mostAnswers bounds the memory of a production: of a job of 60,000 edits each is 5 MB.
	mostAnswers = 4
)

func (o *offAnswers) board(production logbook.ID) *offBoard {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.all == nil {
		o.all = map[logbook.ID]*offBoard{}
	}
	if o.all[production] == nil {
		o.all[production] = &offBoard{last: map[offQuery]offAnswer{}}
	}
	return o.all[production]
}

// ask finds an answer that holds all that was held when it was asked for.
func (o *offAnswers) ask(l *exchange.Peer, asked offQuery, now logbook.Millis) (offAnswer, error) {
	head, err := l.Head()
	if err != nil {
		return offAnswer{}, err
	}
	b := o.board(l.Production())
	b.mu.Lock()
	defer b.mu.Unlock()
	if a, ok := b.last[asked]; ok && a.holds(head) && max(a.at-now, now-a.at) <= stillNow {
		return a, nil
	}
	a, err := b.look(l, asked, now)
	if err != nil {
		return offAnswer{}, err
	}
	if _, ok := b.last[asked]; !ok && len(b.last) >= mostAnswers {
		clear(b.last)
	}
	b.last[asked] = a
	return a, nil
}

// search finds the clips that a query wants by what is off at a head that holds all that was held when it
// was asked.
func (o *offAnswers) search(l *exchange.Peer, q glance.ClipQuery, now logbook.Millis) (found glance.ClipList, err error) {
	frozen, err := l.Freeze()
	if err != nil {
		return found, err
	}
	defer frozen.Close()
	board := o.board(l.Production())
	board.mu.Lock()
	off, err := board.kept.OffClips(frozen, q.Scope(), now)
	board.mu.Unlock()
	if err == nil {
		frozen.Read(func(b *logbook.Book) { found, err = glance.SearchClips(b, q, off) })
	}
	return found, err
}

func (a *offAnswer) holds(head logbook.Head) bool {
	return a.head.Identity == head.Identity && a.head.Seq >= head.Seq
}

func (b *offBoard) look(l *exchange.Peer, asked offQuery, now logbook.Millis) (a offAnswer, err error) {
	frozen, err := l.Freeze()
	if err != nil {
		return a, err
	}
	defer frozen.Close()
	frozen.Read(func(b *logbook.Book) { err = review.InScope(b, asked.scope.SetUp, asked.scope.Day) })
	if err != nil {
		return a, err
	}
	found, err := b.kept.Of(frozen, asked.scope, now)
	if err != nil {
		return a, err
	}
	out := []deviation.Deviation{}
	for _, d := range found {
		if !asked.some || asked.accepted == (d.Accepted != nil) {
			out = append(out, d)
		}
	}
	a.head, a.at = frozen.Head(), now
	if a.body, err = answers.JSON(&deviation.List{Deviations: out}); err != nil {
		return a, err
	}
	sum := sha256.Sum256(a.body)
	a.tag = hex.EncodeToString(sum[:12])
	return a, nil
}
