package exchange_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// untilDone exchanges until there is no more, and returns what each call said.
func untilDone(t testing.TB, r *exchange.Replica, log *logbook.Line, l *exchange.Peer, limit int) (calls []exchange.Request) {
	t.Helper()
	for more := true; more; {
		req := r.Request(*log)
		req.Limit = limit
		a, err := l.Exchange(req, logtest.ID(61), 9)
		if err != nil {
			t.Fatal(err)
		}
		if calls = append(calls, req); len(calls) > 5000 {
			t.Fatal("the exchange does not end")
		}
		*log, more = r.Take(a)
	}
	return calls
}

func newReplica() *exchange.Replica {
	return exchange.NewReplica(logtest.Production, logtest.ID(61), kinds.Rules, logtest.Lines(0x50))
}

// A log that went back to an earlier copy, on which others wrote since: whatever of all edits
// each holds, and in parts of whatever size, at the end both hold all.
func TestAfterARestoreEachGetsWhatItLacks(t *testing.T) {
	for seed := range uint64(300) {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			chance := rand.New(rand.NewPCG(seed, 1))
			store := logbook.NewMemory()
			l, restored := openPeer(t, store, 0x10), restoredFrom(t, store)
			r, log := newReplica(), logbook.Line{}
			var edits []*logbook.Edit
			lines := 1 + chance.IntN(40)
			for i := range 1 + chance.IntN(200) {
				edits = append(edits, logtest.ClipEdit(i%lines, uint64(i/lines*(1+int(seed%2)))+1, "lens", `"35 mm"`))
			}
			pushAll(t, l, edits[:chance.IntN(len(edits)+1)])
			if chance.IntN(4) > 0 {
				untilDone(t, r, &log, l, 0)
			}
			var others, first []*logbook.Edit
			for _, e := range edits {
				switch chance.IntN(3) {
				case 0:
					r.Hold(e)
				case 1:
					others = append(others, e)
				default:
					r.Hold(e)
					first = append(first, e)
				}
			}
			pushAll(t, restored, append(first, others...))
			untilDone(t, r, &log, restored, []int{1, 200, 3000, 0}[chance.IntN(4)])
			here := logbook.Held{}
			for d := range r.AllEdits() {
				here.Add(d)
			}
			held, err := restored.Ranges()
			if err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(held, here.Ranges()) {
				t.Fatalf("the log holds %v, the device %v", held, here.Ranges())
			}
		})
	}
}

// restoredFrom is an empty log with the identity of another: a copy from before its first edit.
func restoredFrom(t *testing.T, store *logbook.Memory) *exchange.Peer {
	t.Helper()
	head, err := store.Head(logtest.Production)
	if err != nil {
		t.Fatal(err)
	}
	copied := logbook.NewMemory()
	if err := copied.Begin(logtest.Production, head.Identity); err != nil {
		t.Fatal(err)
	}
	return openPeer(t, copied, 0x20)
}

func pushAll(t *testing.T, l *exchange.Peer, edits []*logbook.Edit) {
	t.Helper()
	if _, err := l.Push(edits, logtest.ID(60), 9); err != nil {
		t.Fatal(err)
	}
}

func TestAListInParts(t *testing.T) {
	thirty := func() *exchange.Peer {
		l := openPeer(t, logbook.NewMemory(), 0x10)
		for line := range 30 {
			pushMany(t, l, line, 1, 3, 5)
		}
		return l
	}
	l := thirty()
	t.Run("is told once, in order, and what stands behind is not offered before", func(t *testing.T) {
		r, log := newReplica(), logbook.Line{}
		for line := 20; line < 40; line++ {
			for n := uint64(1); n <= 5; n++ {
				r.Hold(logtest.ClipEdit(line, n, "card", logbook.TextValue("x")))
			}
		}
		told := logbook.Held{}
		for _, call := range untilDone(t, r, &log, thirty(), 300) {
			for _, e := range call.Edits {
				if told.Has(e.Dot) {
					t.Errorf("%s is brought again", e.Dot)
				}
				if call.ListBehind != (logbook.Dot{}) && call.ListBehind.Less(e.Dot) {
					t.Errorf("%s is brought although the list was told up to %s", e.Dot, call.ListBehind)
				}
				told.Add(e.Dot)
			}
		}
		if n := len(told.Ranges()); n != 20 {
			t.Errorf("edits of %d lines were brought, want those of 20", n)
		}
	})
	t.Run("is whole for a device that takes none", func(t *testing.T) {
		a, err := l.Exchange(exchange.Request{Limit: 1}, logtest.ID(61), 9)
		if err != nil || len(a.List) != 30 || a.ListTo != (logbook.Dot{}) {
			t.Errorf("got %d lines up to %s (%v), want 30 and all", len(a.List), a.ListTo, err)
		}
	})
	t.Run("a part and what is wanted bring nothing from behind the cursor", func(t *testing.T) {
		for _, req := range []exchange.Request{
			{Run: l.Run(), Parts: true, ListBehind: logtest.Dot(5, 2)},
			{Run: l.Run(), Parts: true, Want: logbook.Ranges{logtest.Line(7): {{From: 2, To: 9}}, logtest.Line(99): {{From: 1, To: 1 << 62}}}},
		} {
			a, err := l.Exchange(req, logtest.ID(61), 9)
			if err != nil {
				t.Fatal(err)
			}
			place, err := l.Exchange(exchange.Request{Run: l.Run(), Cursor: a.Cursor}, logtest.ID(61), 9)
			if err != nil || !a.More || len(place.Edits) != 90 {
				t.Errorf("it goes on with %d edits (%v, more %v), want all 90", len(place.Edits), err, a.More)
			}
			if req.Want != nil && len(a.Edits) != 2 || req.Want == nil && len(a.Edits) != 0 {
				t.Errorf("got %d edits", len(a.Edits))
			}
			if req.Want == nil && (a.List.Has(logtest.Dot(5, 2)) || !a.List.Has(logtest.Dot(5, 3))) {
				t.Errorf("the part behind %s is %v", req.ListBehind, a.List)
			}
		}
	})
}

// A row that was damaged since the list was made is passed over: the device goes on.
func TestWhatCannotBeSentIsNotAskedForAgain(t *testing.T) {
	r := newReplica()
	run, log := logtest.Line(8), logtest.Line(9)
	list := logbook.Ranges{logtest.Line(1): {{From: 1, To: 3}}}
	r.Take(exchange.Answer{Run: run, Identity: log, Reset: true, More: true, Cursor: "x", List: list})
	for i, step := range []struct {
		comes []*logbook.Edit
		want  logbook.Ranges
	}{
		{[]*logbook.Edit{logtest.ClipEdit(1, 2, "lens", `"35 mm"`)}, list},
		{nil, logbook.Ranges{logtest.Line(1): {{From: 3, To: 3}}}},
	} {
		if got := r.Request(log).Want; !reflect.DeepEqual(got, step.want) {
			t.Fatalf("call %d: it wants %v, want %v", i, got, step.want)
		}
		r.Take(exchange.Answer{Run: run, Identity: log, More: true, Cursor: "x", Edits: step.comes})
	}
	if req := r.Request(log); req.Want != nil || req.Cursor != "x" {
		t.Errorf("it goes on with %+v, want nothing wanted", req)
	}
}
