package exchange_test

import (
	"errors"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// ask is one exchange of a relay with a peer.
func ask(t *testing.T, r *exchange.Relay, p *exchange.Peer) (exchange.Request, exchange.Round) {
	t.Helper()
	q, err := r.Request()
	if err != nil {
		t.Fatal(err)
	}
	a, err := p.Exchange(q, logtest.ID(90), 1000)
	if err != nil {
		t.Fatal(err)
	}
	round, err := r.Take(&a, exchange.Bringer{Via: logtest.ID(91)}, 1000)
	if err != nil {
		t.Fatal(err)
	}
	return q, round
}

// askAll asks until there is no more, and counts.
func askAll(t *testing.T, r *exchange.Relay, p *exchange.Peer) (went, came int) {
	t.Helper()
	for n := 0; ; n++ {
		q, round := ask(t, r, p)
		went, came = went+len(q.Edits), came+round.Came
		if !round.More {
			return went, came
		}
		if n > 100 {
			t.Fatal("it does not end")
		}
	}
}

// filled is a peer whose log holds some edits under a line.
func filled(t *testing.T, start byte, line, edits int) *exchange.Peer {
	t.Helper()
	p := openPeer(t, logbook.NewMemory(), start)
	for n := range edits {
		push(t, p, logtest.ClipEdit(line, uint64(n+1), "note", `"x"`))
	}
	return p
}

func push(t *testing.T, p *exchange.Peer, e *logbook.Edit) {
	t.Helper()
	if _, err := p.Push([]*logbook.Edit{e}, logtest.ID(92), 1000); err != nil {
		t.Fatal(err)
	}
}

func TestARelayBringsTwoLogsTogether(t *testing.T) {
	here, there := filled(t, 1, 10, 5), filled(t, 2, 20, 3)
	r := exchange.NewRelay(here, false)
	if n := r.Waiting(); n != 5 {
		t.Errorf("%d edits wait before the other was met, want all 5", n)
	}
	if went, came := askAll(t, r, there); went != 5 || came != 3 {
		t.Errorf("%d went and %d came, want 5 and 3", went, came)
	}
	for name, p := range map[string]*exchange.Peer{"here": here, "there": there} {
		ranges, err := p.Ranges()
		if err != nil || dotsIn(ranges) != 8 {
			t.Errorf("%s are %d edits (%v), want 8", name, dotsIn(ranges), err)
		}
	}
	if n := r.Waiting(); n != 0 {
		t.Errorf("%d edits wait, want none", n)
	}

	t.Run("goes on after a start with what was kept", func(t *testing.T) {
		again := exchange.NewRelay(here, false)
		if err := again.Recall(r.Knowledge()); err != nil {
			t.Fatal(err)
		}
		if q, err := again.Request(); err != nil || q.Cursor == "" || q.Run == (logbook.Line{}) {
			t.Errorf("it begins with %+v (%v), want the place and the run that it knew", q, err)
		}
		push(t, here, logtest.ClipEdit(10, 6, "note", `"x"`))
		if went, came := askAll(t, again, there); went != 1 || came != 0 {
			t.Errorf("%d went and %d came, want 1 and 0", went, came)
		}
	})
	t.Run("a log is not linked with itself", func(t *testing.T) {
		q, err := r.Request()
		if err != nil {
			t.Fatal(err)
		}
		a, err := here.Exchange(q, logtest.ID(90), 1000)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := r.Take(&a, exchange.Bringer{}, 1000); !errors.Is(err, exchange.ErrItself) {
			t.Errorf("got %v", err)
		}
	})
}

func TestARelayThatFetchesOffersNothing(t *testing.T) {
	here, there := filled(t, 1, 10, 5), filled(t, 2, 20, 3)
	r := exchange.NewRelay(here, true)
	for _, want := range []int{3, 0} { // the second time it knows what the other lacks
		if went, came := askAll(t, r, there); went != 0 || came != want {
			t.Errorf("%d went and %d came, want 0 and %d", went, came, want)
		}
	}
	if n := r.Waiting(); n != 0 {
		t.Errorf("%d edits are said to wait, want none", n)
	}
}

// fullStore takes nothing while it is full.
type fullStore struct {
	*logbook.Memory
	full bool
}

func (s *fullStore) Append(production logbook.ID, entries []logbook.Entry) ([]logbook.Receipt, error) {
	if s.full {
		return nil, logbook.ErrFull
	}
	return s.Memory.Append(production, entries)
}

func TestARelayMovesOnOverNothingThatIsNotStored(t *testing.T) {
	store := &fullStore{Memory: logbook.NewMemory()}
	here, there := openPeer(t, store, 1), filled(t, 2, 20, 3)
	r := exchange.NewRelay(here, false)
	store.full = true
	q, err := r.Request()
	if err != nil {
		t.Fatal(err)
	}
	a, err := there.Exchange(q, logtest.ID(90), 1000)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.Take(&a, exchange.Bringer{}, 1000); !errors.Is(err, exchange.ErrNoRoom) {
		t.Fatalf("with a full disk: %v", err)
	}
	store.full = false
	if _, came := askAll(t, r, there); came != 3 {
		t.Errorf("%d came once there was room, want 3", came)
	}
}

// TestARelayLeavesToTheOwnerWhatItMayNotPut: what waits here for an owner is asked for no more
// than once in a run of the other, and offered back to nobody until it is taken in.
func TestARelayLeavesToTheOwnerWhatItMayNotPut(t *testing.T) {
	here, there := openPeer(t, logbook.NewMemory(), 1), filled(t, 2, 20, 3)
	guard := func(e *logbook.Edit) bool { return e.Kind == kinds.Clip }
	r := exchange.NewRelay(here, false)
	for range 2 { // the second time it finds what it knows of the other
		for more := true; more; {
			q, err := r.Request()
			if err != nil {
				t.Fatal(err)
			}
			a, err := there.Exchange(q, logtest.ID(90), 1000)
			if err != nil {
				t.Fatal(err)
			}
			round, err := r.Take(&a, exchange.Bringer{Via: logtest.ID(91), Guard: guard}, 1000)
			if err != nil {
				t.Fatal(err)
			}
			more = round.More
		}
	}
	if n := here.Waiting(); n != 3 {
		t.Fatalf("%d edits wait for the owner, want 3", n)
	}
	rows, err := here.Asides()
	if err != nil {
		t.Fatal(err)
	}
	var keys []logbook.AsideKey
	for i := range rows {
		keys = append(keys, rows[i].Key())
	}
	if _, err := here.TakeAside(keys, 1000); err != nil {
		t.Fatal(err)
	}
	if went, came := askAll(t, r, there); went != 0 || came != 0 {
		t.Errorf("%d went and %d came after the owner took them in, want none", went, came)
	}
}
