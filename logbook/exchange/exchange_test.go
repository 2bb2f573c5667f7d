package exchange_test

import (
	"encoding/base64"
	"errors"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// openPeer opens the log of the tests' production for exchanges; its lines begin with
// a byte.
func openPeer(t testing.TB, store logbook.Store, start byte) *exchange.Peer {
	t.Helper()
	return exchange.NewPeer(logtest.Open(t, store, kinds.Rules, start))
}

// device is a device that keeps what it is sent.
type device struct {
	t    *testing.T
	id   logbook.ID
	run  logbook.Line
	at   string
	held map[logbook.Dot]*logbook.Edit
	have logbook.Ranges // offered after a reset
}

func newDevice(t *testing.T, n int) *device {
	return &device{t: t, id: logtest.ID(60 + n), held: map[logbook.Dot]*logbook.Edit{}}
}

func (d *device) exchange(l *exchange.Peer, limit int, edits ...*logbook.Edit) exchange.Answer {
	d.t.Helper()
	a, err := l.Exchange(exchange.Request{Run: d.run, Cursor: d.at, Have: d.have, Edits: edits, Limit: limit}, d.id, 1000)
	if err != nil {
		d.t.Fatal(err)
	}
	for _, e := range append(append([]*logbook.Edit(nil), edits...), a.Edits...) {
		d.held[e.Dot] = e
	}
	if a.Reset {
		var have logbook.Held
		for dot := range d.held {
			have.Add(dot)
		}
		d.have = have.Ranges()
	} else if !a.More {
		d.have = nil
	}
	d.run, d.at = a.Run, a.Cursor
	return a
}

// all exchanges until nothing more comes, offering what the list lacks.
func (d *device) all(l *exchange.Peer, limit int) {
	d.t.Helper()
	var offer []*logbook.Edit
	for {
		a := d.exchange(l, limit, offer...)
		offer = nil
		if a.List != nil {
			for dot, e := range d.held {
				if !a.List.Has(dot) {
					offer = append(offer, e)
				}
			}
		}
		if !a.More && len(offer) == 0 {
			return
		}
	}
}

func TestExchange(t *testing.T) {
	t.Run("answers each edit after the commit", func(t *testing.T) {
		l := openPeer(t, logbook.NewMemory(), 0x10)
		d := newDevice(t, 1)
		other := logtest.ClipEdit(1, 1, "lens", `"85 mm"`)
		for _, step := range []struct {
			edit *logbook.Edit
			want string
		}{
			{logtest.ClipEdit(1, 1, "lens", `"50 mm"`), logbook.AnswerTaken},
			{logtest.ClipEdit(1, 1, "lens", `"50 mm"`), logbook.AnswerRepeat},
			{other, logbook.AnswerClash},
			{logtest.ClipEdit(1, 2, "kelvin", "-3"), logbook.AnswerRefused},
			{logtest.ClipEdit(1, 3, "kelvin", "3200"), logbook.AnswerTaken},
		} {
			a := d.exchange(l, 0, step.edit)
			if a.Answers[0].Outcome != step.want {
				t.Errorf("%s: got %s (%s), want %s", step.edit.Dot, a.Answers[0].Outcome, a.Answers[0].Reason, step.want)
			}
		}
		if clashes, err := l.Clashes(); err != nil || len(clashes) != 1 {
			t.Errorf("got %d clashes (%v), want the one kept aside", len(clashes), err)
		}
	})
	t.Run("sends a device everything but what it brings, page by page", func(t *testing.T) {
		l := openPeer(t, logbook.NewMemory(), 0x10)
		a, b := newDevice(t, 1), newDevice(t, 2)
		for n := uint64(1); n <= 30; n++ {
			a.exchange(l, 0, logtest.ClipEdit(1, n, "card", `"A001"`))
		}
		first := b.exchange(l, 300, logtest.ClipEdit(2, 1, "card", `"A002"`))
		if !first.More || len(first.Edits) == 0 || len(first.Edits) > 5 {
			t.Fatalf("got %d edits and more %v, want a short page", len(first.Edits), first.More)
		}
		b.all(l, 300)
		if len(b.held) != 31 {
			t.Errorf("got %d edits, want 31", len(b.held))
		}
		if again := b.exchange(l, 300); len(again.Edits) != 0 || again.List != nil {
			t.Errorf("got %d edits and a list %v, want nothing to say", len(again.Edits), again.List)
		}
	})
	t.Run("refills an empty log from the devices", func(t *testing.T) {
		l := openPeer(t, logbook.NewMemory(), 0x10)
		a, b := newDevice(t, 1), newDevice(t, 2)
		a.exchange(l, 0, logtest.ClipEdit(1, 1, "lens", `"50 mm"`))
		b.all(l, 0)
		b.exchange(l, 0, logtest.ClipEdit(2, 1, "lens", `"85 mm"`))
		empty := openPeer(t, logbook.NewMemory(), 0x20)
		b.all(empty, 0) // b alone holds both
		a.all(empty, 0)
		var got, want string
		l.Read(func(b *logbook.Book) { want = everything(b) })
		empty.Read(func(b *logbook.Book) { got = everything(b) })
		if got != want {
			t.Errorf("got %s, want %s", got, want)
		}
		if !strings.Contains(want, "conflict=true") {
			t.Errorf("the state to restore holds no conflict: %s", want)
		}
	})
	t.Run("notices a log that went another way", func(t *testing.T) {
		store := logbook.NewMemory()
		l := openPeer(t, store, 0x10)
		d := newDevice(t, 1)
		d.exchange(l, 0, logtest.ClipEdit(1, 1, "lens", `"50 mm"`))
		d.exchange(l, 0)
		place, err := base64.RawURLEncoding.DecodeString(d.at)
		if err != nil {
			t.Fatal(err)
		}
		place[16]++ // the chain stands last
		d.at = base64.RawURLEncoding.EncodeToString(place)
		if a := d.exchange(l, 0); !a.Reset || a.List == nil || !a.More {
			t.Errorf("got reset %v, list %v, more %v; want a reset with the list", a.Reset, a.List, a.More)
		}
	})
	t.Run("says what is wrong with a request", func(t *testing.T) {
		l := openPeer(t, logbook.NewMemory(), 0x10)
		foreign := logtest.ClipEdit(1, 1, "lens", `"50 mm"`)
		foreign.Production = logtest.ID(99)
		for name, c := range map[string]struct {
			req  exchange.Request
			want string
		}{
			"a cursor":   {exchange.Request{Cursor: "x"}, "cursor is"},
			"production": {exchange.Request{Edits: []*logbook.Edit{foreign}}, "has production"},
			"too many":   {exchange.Request{Edits: make([]*logbook.Edit, 501)}, "allowed are at most 500"},
		} {
			if _, err := l.Exchange(c.req, logtest.ID(60), 1); !errors.Is(err, logbook.ErrRequest) || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%s: got %v, want %q", name, err, c.want)
			}
		}
		if head, err := l.Head(); err != nil || head.Seq != 0 {
			t.Errorf("got sequence %d (%v), want nothing stored", head.Seq, err)
		}
	})
}
