package logbook

import (
	"errors"
	"fmt"
	"strings"
	"sync"
	"testing"
)

// drawn returns a source of lines that never repeats.
func drawn(start byte) func() Line {
	var mu sync.Mutex
	n := byte(0)
	return func() Line {
		mu.Lock()
		defer mu.Unlock()
		n++
		return Line{start, n}
	}
}

// openPeer opens the log of the tests' production for exchanges.
func openPeer(store Store, rules Rules, draw func() Line) (*Peer, error) {
	l, err := OpenLog(store, testID(1), rules, draw)
	if err != nil {
		return nil, err
	}
	return NewPeer(l), nil
}

func openTestLog(t *testing.T, store Store) *Peer {
	t.Helper()
	l, err := openPeer(store, KindRules, drawn(0x10))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func clipEdit(line int, n uint64, field string, value Value, over ...Dot) *Edit {
	return &Edit{Production: testID(1), Record: testID(2), Device: testID(60 + line), Kind: KindClip, Dot: Dot{testLine(line), n},
		At: Millis(n), By: fmt.Sprintf("phone %d", line), Set: []Change{{field, value, over}}}
}

// exchange is one exchange of a device that keeps what it is told.
type device struct {
	t    *testing.T
	id   ID
	run  Line
	at   string
	held map[Dot]*Edit
	have Ranges // offered after a reset
}

func newDevice(t *testing.T, n int) *device {
	return &device{t: t, id: testID(60 + n), held: map[Dot]*Edit{}}
}

func (d *device) exchange(l *Peer, limit int, edits ...*Edit) ExchangeAnswer {
	d.t.Helper()
	a, err := l.Exchange(ExchangeRequest{Run: d.run, Cursor: d.at, Have: d.have, Edits: edits, Limit: limit}, d.id, 1000)
	if err != nil {
		d.t.Fatal(err)
	}
	for _, e := range append(append([]*Edit(nil), edits...), a.Edits...) {
		d.held[e.Dot] = e
	}
	if a.Reset {
		d.have = Ranges{}
		for dot := range d.held {
			d.have.Add(dot)
		}
	} else if !a.More {
		d.have = nil
	}
	d.run, d.at = a.Run, a.Cursor
	return a
}

// all exchanges until nothing more comes, offering what the list lacks.
func (d *device) all(l *Peer, limit int) {
	d.t.Helper()
	var offer []*Edit
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
		l := openTestLog(t, NewMemory())
		d := newDevice(t, 1)
		other := clipEdit(1, 1, "lens", `"85 mm"`)
		for _, step := range []struct {
			edit *Edit
			want string
		}{
			{clipEdit(1, 1, "lens", `"50 mm"`), AnswerTaken},
			{clipEdit(1, 1, "lens", `"50 mm"`), AnswerRepeat},
			{other, AnswerClash},
			{clipEdit(1, 2, "kelvin", "-3"), AnswerRefused},
			{clipEdit(1, 3, "kelvin", "3200"), AnswerTaken},
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
	t.Run("tells a device everything but what it brings, page by page", func(t *testing.T) {
		l := openTestLog(t, NewMemory())
		a, b := newDevice(t, 1), newDevice(t, 2)
		for n := uint64(1); n <= 30; n++ {
			a.exchange(l, 0, clipEdit(1, n, "card", `"A001"`))
		}
		first := b.exchange(l, 300, clipEdit(2, 1, "card", `"A002"`))
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
		l := openTestLog(t, NewMemory())
		a, b := newDevice(t, 1), newDevice(t, 2)
		a.exchange(l, 0, clipEdit(1, 1, "lens", `"50 mm"`))
		b.all(l, 0)
		b.exchange(l, 0, clipEdit(2, 1, "lens", `"85 mm"`))
		empty, err := openPeer(NewMemory(), KindRules, drawn(0x20))
		if err != nil {
			t.Fatal(err)
		}
		b.all(empty, 0) // b alone holds both
		a.all(empty, 0)
		var got, want string
		l.Read(func(b *Book) { want = describe(b) })
		empty.Read(func(b *Book) { got = describe(b) })
		if got != want {
			t.Errorf("got %s, want %s", got, want)
		}
		if !strings.Contains(want, "conflict=true") {
			t.Errorf("the state to restore holds no conflict: %s", want)
		}
	})
	t.Run("notices a log that went another way", func(t *testing.T) {
		store := NewMemory()
		l := openTestLog(t, store)
		d := newDevice(t, 1)
		d.exchange(l, 0, clipEdit(1, 1, "lens", `"50 mm"`))
		d.exchange(l, 0)
		head, err := l.Head()
		if err != nil {
			t.Fatal(err)
		}
		head.Chain[0]++
		d.at = cursor{head.Identity, head.Seq, head.Chain}.String()
		if a := d.exchange(l, 0); !a.Reset || a.List == nil || !a.More {
			t.Errorf("got reset %v, list %v, more %v; want a reset with the list", a.Reset, a.List, a.More)
		}
	})
	t.Run("says what is wrong with a request", func(t *testing.T) {
		l := openTestLog(t, NewMemory())
		foreign := clipEdit(1, 1, "lens", `"50 mm"`)
		foreign.Production = testID(99)
		for name, c := range map[string]struct {
			req  ExchangeRequest
			want string
		}{
			"a cursor":   {ExchangeRequest{Cursor: "x"}, "cursor is"},
			"production": {ExchangeRequest{Edits: []*Edit{foreign}}, "has production"},
			"too many":   {ExchangeRequest{Edits: make([]*Edit, 501)}, "allowed are at most 500"},
		} {
			if _, err := l.Exchange(c.req, testID(60), 1); !errors.Is(err, ErrRequest) || !strings.Contains(err.Error(), c.want) {
				t.Errorf("%s: got %v, want %q", name, err, c.want)
			}
		}
		if head, err := l.Head(); err != nil || head.Seq != 0 {
			t.Errorf("got sequence %d (%v), want nothing stored", head.Seq, err)
		}
	})
}

func TestChange(t *testing.T) {
	draft := func(value Value) func(*Book) ([]Draft, error) {
		return func(b *Book) ([]Draft, error) {
			c := Change{Field: "lens", Value: value}
			if v, ok := b.Record(testID(2)); ok {
				c = Replace(v, "lens", value)
			}
			return []Draft{{KindClip, testID(2), []Change{c}}}, nil
		}
	}
	writer := Writer{Device: testID(70), By: "DIT", Now: 5}
	t.Run("changes made at once follow each other", func(t *testing.T) {
		l := openTestLog(t, NewMemory())
		var all sync.WaitGroup
		for i := 0; i < 16; i++ {
			all.Go(func() {
				if _, err := l.Change(writer, draft(TextValue(fmt.Sprint(i)))); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		l.Read(func(b *Book) {
			v, _ := b.Record(testID(2))
			if len(v.Edits()) != 16 || len(v.Field("lens").Heads) != 1 {
				t.Errorf("got %d edits and %d heads, want 16 and 1", len(v.Edits()), len(v.Field("lens").Heads))
			}
		})
	})
	t.Run("a change that is not valid stores nothing", func(t *testing.T) {
		l := openTestLog(t, NewMemory())
		_, err := l.Change(writer, func(*Book) ([]Draft, error) {
			return []Draft{{KindClip, testID(2), []Change{{"lens", `"a"`, nil}}}, {KindClip, testID(3), []Change{{"kelvin", "-3", nil}}}}, nil
		})
		if err == nil {
			t.Fatal("a kelvin of -3 was stored")
		}
		if head, _ := l.Head(); head.Seq != 0 {
			t.Errorf("got sequence %d, want nothing stored", head.Seq)
		}
	})
	t.Run("nothing is written under a dot that somebody named", func(t *testing.T) {
		l := openTestLog(t, NewMemory())
		first, err := l.Change(writer, draft(`"a"`))
		if err != nil {
			t.Fatal(err)
		}
		named := Dot{first[0].Dot.Line, 2} // as the server wrote before its memory was set back
		if _, err := l.Push([]*Edit{clipEdit(1, 1, "lens", `"b"`, named)}, testID(61), 9); err != nil {
			t.Fatal(err)
		}
		next, err := l.Change(writer, draft(`"c"`))
		if err != nil || next[0].Dot == named {
			t.Fatalf("got dot %s (%v), want one of another line", next[0].Dot, err)
		}
		l.Read(func(b *Book) {
			if v, _ := b.Record(testID(2)); v.Text("lens") != "c" || len(v.Field("lens").Heads) != 1 {
				t.Errorf("got %v, want c alone", v.Field("lens").Heads)
			}
		})
	})
	t.Run("a write that failed ends the line: it may lie in the store all the same", func(t *testing.T) {
		store := &forgetful{Memory: NewMemory()}
		l, err := openPeer(store, KindRules, drawn(0x70))
		if err != nil {
			t.Fatal(err)
		}
		write := func(lens string) ([]*Edit, error) {
			return l.Change(Writer{Device: testID(70), By: "desk", Now: 5}, func(*Book) ([]Draft, error) {
				return []Draft{{KindClip, testID(2), []Change{{"lens", TextValue(lens), nil}}}}, nil
			})
		}
		if _, err := write("50 mm"); !errors.Is(err, ErrBroken) {
			t.Fatalf("got %v, want what the store said", err)
		}
		second, err := write("85 mm")
		if err != nil {
			t.Fatal(err)
		}
		stored, err := store.Read(testID(1), 0, 1<<20)
		if err != nil || len(stored) != 2 || stored[0].Dot.Line == second[0].Dot.Line {
			t.Errorf("got %d edits (%v), the second in line %s; want it in another line than that which failed", len(stored), err, second[0].Dot.Line)
		}
		if clashes, err := l.Clashes(); err != nil || len(clashes) > 0 {
			t.Errorf("got the clashes %v (%v), want that nothing was tried under the dot again", clashes, err)
		}
	})
	t.Run("a start writes under a line of its own", func(t *testing.T) {
		store := NewMemory()
		l := openTestLog(t, store)
		first, err := l.Change(writer, draft(`"a"`))
		if err != nil {
			t.Fatal(err)
		}
		again, err := openPeer(store, KindRules, drawn(0x30))
		if err != nil {
			t.Fatal(err)
		}
		second, err := again.Change(writer, draft(`"b"`))
		if err != nil {
			t.Fatal(err)
		}
		if first[0].Dot.Line == second[0].Dot.Line {
			t.Errorf("two starts wrote in line %s", first[0].Dot.Line)
		}
		again.Read(func(b *Book) {
			if v, _ := b.Record(testID(2)); v.Text("lens") != "b" || len(v.Conflicts()) != 0 {
				t.Errorf("got %q with conflicts %v, want b alone", v.Text("lens"), v.Conflicts())
			}
		})
	})
}

// forgetful is a store that says of the first write that it failed, and holds it.
type forgetful struct {
	*Memory
	told bool
}

func (f *forgetful) Append(production ID, entries []Entry) ([]Receipt, error) {
	receipts, err := f.Memory.Append(production, entries)
	if err == nil && !f.told {
		f.told = true
		return nil, ErrBroken
	}
	return receipts, err
}

// growing is a store to which another edit comes after every page that is read.
type growing struct {
	*Memory
	t *testing.T
	n uint64
}

func (g *growing) Read(production ID, after Seq, _ int) ([]Stored, error) {
	page, err := g.Memory.Read(production, after, 1)
	g.n++
	mustAppend(g.t, g.Memory, clipEdit(9, g.n, "lens", `"35"`))
	return page, err
}

func mustAppend(t *testing.T, store Store, edits ...*Edit) {
	t.Helper()
	for _, e := range edits {
		entry, err := entryOf(e, testID(2), 0)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := store.Append(testID(1), []Entry{entry}); err != nil {
			t.Fatal(err)
		}
	}
}

func TestABookIsReadAsFarAsTheHeadItNames(t *testing.T) {
	store := &growing{Memory: NewMemory(), t: t}
	if err := store.Begin(testID(1), testLine(1)); err != nil {
		t.Fatal(err)
	}
	for n := uint64(1); n <= 5; n++ {
		mustAppend(t, store.Memory, clipEdit(1, n, "lens", `"50"`))
	}
	b, head, err := ReadBook(store, testID(1), KindRules)
	if err != nil || head.Seq != 5 {
		t.Fatalf("got the head %v (%v), want sequence 5", head, err)
	}
	for n := uint64(1); n <= 5; n++ {
		if !b.Held(Dot{testLine(1), n}) {
			t.Errorf("edit %d is not in the book", n)
		}
	}
	if b.Held(Dot{testLine(9), 1}) {
		t.Error("the book holds an edit that came after its head")
	}
	chain, ok, err := store.ChainAt(testID(1), head.Seq)
	if err != nil || !ok || chain != head.Chain {
		t.Errorf("the head names chain %x, the log has %x (%v)", head.Chain, chain, err)
	}
}

// A machine whose memory is set back goes on in a line that others know further.
func TestAChangeGoesOnInANewLineWhereItsDotsAreTaken(t *testing.T) {
	store := NewMemory()
	l := openTestLog(t, store)
	writer := Writer{Device: testID(70), By: "DIT", Now: 5}
	draft := func(record int) Draft { return Draft{KindClip, testID(record), []Change{{"lens", `"35"`, nil}}} }
	first, err := l.Change(writer, func(*Book) ([]Draft, error) { return []Draft{draft(2)}, nil })
	if err != nil {
		t.Fatal(err)
	}
	foreign := clipEdit(1, 1, "filters", `"none"`)
	foreign.Dot = Dot{first[0].Dot.Line, 3}
	if _, err := l.Push([]*Edit{foreign}, testID(61), 9); err != nil {
		t.Fatal(err)
	}
	edits, err := l.Change(writer, func(*Book) ([]Draft, error) { return []Draft{draft(4), draft(5), draft(6)}, nil })
	if err != nil {
		t.Fatalf("the change failed: %v", err)
	}
	for i, e := range edits {
		if e.Dot.Line == first[0].Dot.Line || e.Act != edits[0].Dot || !edits[0].Dot.Less(e.Dot) && i > 0 {
			t.Errorf("edit %d has dot %s in the act %s, want all in one act of a new line", i, e.Dot, e.Act)
		}
	}
	again, err := openPeer(store, KindRules, drawn(0x40))
	if err != nil {
		t.Fatal(err)
	}
	var now, stored string
	l.Read(func(b *Book) { now = describe(b) })
	again.Read(func(b *Book) { stored = describe(b) })
	if now != stored {
		t.Errorf("the book says\n%swhat is stored\n%s", now, stored)
	}
}
