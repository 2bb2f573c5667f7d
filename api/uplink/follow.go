package uplink

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

// How soon the other server is asked again after a failure, or at the soonest where there is a new edit
// for it; and how much one answer of an exchange brings: little enough for a slow line.
const (
	firstPause   = time.Second
	longestPause = 30 * time.Second
	editPause    = 2 * time.Second
	limitBytes   = 128 << 10
	keepEvery    = 20 // exchanges, in a long catching up
)

// A following is one production of a link. exchange runs in one goroutine.
type following struct {
	link   *Link
	caller *caller
	peer   *exchange.Peer
	relay  *exchange.Relay
	store  Keeper
	log    *slog.Logger
	now    func() time.Time
	pause  time.Duration // where nothing wakes
	wake   chan struct{} // the other server has something new
	again  chan struct{} // it may be there again
	back   func()        // it is there again
	over   func(error)   // it is followed no more

	filling bool // the production began here by this link, and its first edits are not all here

	mu    sync.Mutex
	state ProductionState
	at    string // the place of the relay, for its listener
}

// ProductionState is how the exchange of one production stands.
type ProductionState struct {
	Production logbook.ID `json:"production"`
	Title      string     `json:"title,omitempty"`   // as it reads here
	Last       time.Time  `json:"last,omitzero"`     // when nothing was left to exchange
	Waiting    int        `json:"waiting"`           // edits here that the other lacks
	Coming     int        `json:"coming"`            // edits there, as far as is known, that are not here
	Aside      int        `json:"aside,omitempty"`   // of those that went: an owner there takes them in, or left them
	Clashes    int        `json:"clashes,omitempty"` // since the start
	Trouble    string     `json:"trouble,omitempty"` // why the last exchange failed
	Apart      string     `json:"apart,omitempty"`   // why it is not exchanged, where nobody asked for that
	Rules      int        `json:"rules,omitempty"`   // by which the other judges, where they are not those of here
	// Clock is how many seconds the other's clock is ahead of the one here; 0: less than a minute.
	Clock int64 `json:"clockAheadSeconds,omitempty"`
}

// known is how the store keeps what a following knows.
type known struct {
	Filling   bool   `json:"filling,omitempty"`
	Knowledge string `json:"knowledge,omitempty"`
}

func (f *following) name() string {
	return keptLinks + f.link.Device.String() + "/" + f.peer.Production().String()
}

// recall goes on where an earlier start was. What cannot be read is asked for again.
func (f *following) recall() error {
	b, err := f.store.Kept(f.name())
	if err != nil || b == nil {
		return err
	}
	var k known
	if err := json.Unmarshal(b, &k); err != nil {
		return nil
	}
	f.filling = k.Filling
	if k.Knowledge != "" {
		if err := f.relay.Recall([]byte(k.Knowledge)); err != nil {
			f.log.Warn("what is known of a linked server cannot be read: all of it is asked for again", "error", err)
		}
	}
	return nil
}

func (f *following) keep() error {
	b, err := json.Marshal(known{f.filling, string(f.relay.Knowledge())})
	if err != nil {
		return err
	}
	return f.store.Keep(f.name(), b)
}

// run exchanges until ctx ends: at once, after edits here, when it is woken, and now and then.
func (f *following) run(ctx context.Context) {
	pauses := backOff{usual: f.pause}
	for {
		changed := f.peer.Changed()
		err := f.exchangeAll(ctx)
		if ctx.Err() != nil {
			return
		}
		f.tell(err)
		if errors.Is(err, logbook.ErrRemoved) { // from here: readmitted, it is another log
			f.over(err)
			return
		}
		if !f.rest(ctx, pauses.after(err), changed, err != nil) {
			return
		}
	}
}

// A backOff says how long to wait: after each failure twice as long as before, up to a limit.
type backOff struct{ usual, failed time.Duration }

func (b *backOff) after(err error) time.Duration {
	if err == nil {
		b.failed = 0
		return about(b.usual)
	}
	b.failed = min(2*max(b.failed, firstPause), longestPause)
	return about(b.failed)
}

// about is a time with a quarter of chance in it: many servers that lost one do not ask it at once.
func about(d time.Duration) time.Duration { return d - d/8 + rand.N(d/4+1) }

// rest waits for a reason to exchange. After a failure the other's events are none; that it answers
// anywhere else is one, and so is an edit here, a little later.
func (f *following) rest(ctx context.Context, pause time.Duration, changed <-chan struct{}, failed bool) bool {
	timer := time.NewTimer(pause)
	defer timer.Stop()
	wake, again := f.wake, f.again
	if failed {
		wake = nil
	} else {
		again = nil
	}
	for {
		select {
		case <-ctx.Done():
			return false
		case <-timer.C:
			return true
		case <-wake:
			return true
		case <-again:
			return true
		case <-changed:
			changed = f.peer.Changed()
			switch waits := f.count() > 0; { // else it came from there
			case waits && !failed:
				return true
			case waits && pause > editPause:
				pause = editPause
				timer.Reset(pause)
			}
		}
	}
}

// exchangeAll exchanges until there is no more.
func (f *following) exchangeAll(ctx context.Context) error {
	place := f.relay.Place()
	if place == "" {
		if err := f.compare(ctx); err != nil {
			return err
		}
	}
	for n := 1; ; n++ {
		round, err := f.exchange(ctx)
		if err != nil {
			return err
		}
		if !round.More {
			f.filling = false
			if f.relay.Place() == place && round.Came == 0 && len(round.Went) == 0 {
				return nil
			}
			return f.keep()
		}
		if n%keepEvery == 0 {
			if err := f.keep(); err != nil {
				return err
			}
		}
	}
}

// exchange is one request and its answer. Where either side lacks a record that was left out, it is
// said again with all of them.
func (f *following) exchange(ctx context.Context) (exchange.Round, error) {
	q, err := f.relay.Request()
	if err != nil {
		return exchange.Round{}, err
	}
	q.Limit = limitBytes
	for spelled := false; ; {
		rows, err := f.relay.Rows(&q, spelled)
		if err != nil {
			return exchange.Round{}, err
		}
		begun := f.now()
		said, err := f.caller.exchange(ctx, f.peer.Production().String(), rows)
		var refusal *Refusal
		if errors.As(err, &refusal) && refusal.is("records-wanted") && !spelled {
			spelled = true
			continue
		}
		if err != nil {
			return exchange.Round{}, err
		}
		a, err := exchange.ReadAnswerRows(said, f.peer.Production(), f.relay.Records)
		if errors.Is(err, exchange.ErrRecords) && !q.Whole {
			q.Whole = true
			continue
		}
		if err != nil {
			return exchange.Round{}, err
		}
		round, err := f.relay.Take(&a, exchange.Bringer{Via: f.link.Device, Guard: f.guard()}, logbook.MillisOf(f.now()))
		f.note(&a, round, begun)
		return round, err
	}
}

// guard keeps changes of the production's own settings for an owner here, as from every editor;
// but not of a production that began here by this link.
func (f *following) guard() logbook.Guard {
	if f.filling {
		return nil
	}
	return func(e *logbook.Edit) bool { return e.Kind == kinds.Production }
}

// compare looks, before anything is exchanged for the first time, whether the other has the same
// production: its record was begun once, so that of its edits one is on either side. Two that were begun
// apart under one id would be mixed for good.
func (f *following) compare(ctx context.Context) error {
	id := f.peer.Production()
	var there struct {
		Edits []*logbook.Edit `json:"edits"`
	}
	q := call{method: http.MethodGet, path: "/v1/productions/" + id.String() + "/records/production/" + id.String() + "/history"}
	err := f.caller.read(ctx, q, &there)
	var refusal *Refusal
	if errors.As(err, &refusal) && refusal.Status == http.StatusNotFound {
		return nil // it has none yet, or keeps it for its owner
	}
	if err != nil {
		return err
	}
	f.peer.Read(func(b *logbook.Book) {
		_, here := b.RecordOf(kinds.Production, id)
		if here && !slices.ContainsFunc(there.Edits, func(e *logbook.Edit) bool { return b.Held(e.Dot) }) {
			err = ErrOther
		}
	})
	return err
}

// clockAway is from when on another clock is told.
const clockAway = time.Minute

func (f *following) note(a *exchange.Answer, r exchange.Round, begun time.Time) {
	now := f.now()
	away := a.Now.Time().Sub(begun.Add(now.Sub(begun) / 2))
	f.mu.Lock()
	defer f.mu.Unlock()
	f.state.Clashes += r.Clashes
	if f.state.Clock = 0; away.Abs() >= clockAway {
		f.state.Clock = int64(away.Round(time.Second) / time.Second)
	}
	f.state.Rules = 0
	if a.Rules != f.peer.Rules() {
		f.state.Rules = a.Rules
	}
}

// count counts what waits here for the other.
func (f *following) count() int {
	n, coming, aside := f.relay.Waiting(), f.relay.Coming(), f.relay.Aside()
	f.mu.Lock()
	defer f.mu.Unlock()
	f.state.Waiting, f.state.Coming, f.state.Aside = n, coming, aside
	return n
}

// tell notes how the exchange stands, and has the link's others know that the other is there again.
func (f *following) tell(err error) {
	f.count()
	f.mu.Lock()
	was := f.state.Trouble
	f.state.Trouble, f.at = "", f.relay.Place()
	if err == nil {
		f.state.Last = f.now()
	} else {
		f.state.Trouble = troubleOf(err)
	}
	f.mu.Unlock()
	switch {
	case err == nil && was != "":
		f.log.Info("a linked server is reached again", "address", f.link.Address, "production", f.peer.Production().String())
		f.back()
	case err != nil && was == "":
		f.log.Warn("a linked server does not exchange", "address", f.link.Address, "production", f.peer.Production().String(),
			"error", err, "advice", "nothing is lost: it is tried again by itself")
	}
}

// troubleOf says what keeps an exchange away, without what only a programmer reads.
func troubleOf(err error) string {
	var refusal *Refusal
	switch {
	case errors.As(err, &refusal), errors.Is(err, ErrRevoked), errors.Is(err, ErrStrange), errors.Is(err, ErrFingerprint),
		errors.Is(err, ErrOther), errors.Is(err, exchange.ErrItself), errors.Is(err, exchange.ErrNoRoom), errors.Is(err, logbook.ErrRemoved):
		return err.Error()
	case errors.Is(err, context.DeadlineExceeded):
		return "it does not answer in time"
	}
	var asked *url.Error
	if errors.As(err, &asked) {
		err = asked.Err // but for the address, which stands beside it
	}
	return "it cannot be reached: " + err.Error()
}

// stands is how the exchange stands.
func (f *following) stands() ProductionState {
	f.mu.Lock()
	s := f.state
	f.mu.Unlock()
	f.peer.Read(func(b *logbook.Book) {
		if v, ok := b.RecordOf(kinds.Production, s.Production); ok {
			s.Title = v.Text("title")
		}
	})
	return s
}

// place is the end of the other log as it was heard last.
func (f *following) place() string {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.at
}

// listen wakes the exchange on the other server's events until ctx ends. A proxy that holds them back
// does no harm: it is asked now and then as well.
func (f *following) listen(ctx context.Context) {
	for pause := firstPause; ctx.Err() == nil; pause = min(2*pause, longestPause) {
		begun := f.now()
		if err := f.stream(ctx); err != nil && ctx.Err() == nil {
			f.log.Debug("an event stream ended", "address", f.link.Address, "error", err)
		}
		rouse(f.wake) // an exchange finds out why
		if f.now().Sub(begun) > f.pause {
			pause = firstPause
		}
		timer := time.NewTimer(about(pause))
		select {
		case <-ctx.Done():
		case <-timer.C:
		}
		timer.Stop()
	}
}

// stream reads one event stream.
func (f *following) stream(ctx context.Context) error {
	response, err := f.caller.send(ctx, call{method: http.MethodGet, path: "/v1/productions/" + f.peer.Production().String() + "/events",
		header: map[string]string{"Accept": "text/event-stream"}})
	if err != nil {
		return err
	}
	defer response.Body.Close()
	if media := response.Header.Get("Content-Type"); !strings.HasPrefix(media, "text/event-stream") {
		return fmt.Errorf("the event stream is %q", media)
	}
	rouse(f.again)
	for lines := bufio.NewScanner(response.Body); lines.Scan(); {
		if place, is := strings.CutPrefix(lines.Text(), "id: "); is && place != f.place() {
			rouse(f.wake)
		}
	}
	return nil
}

// rouse has who waits go on, or who will wait next.
func rouse(waits chan struct{}) {
	select {
	case waits <- struct{}{}:
	default:
	}
}
