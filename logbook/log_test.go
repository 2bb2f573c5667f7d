package logbook_test

import (
	"errors"
	"fmt"
	"sync"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

func TestChange(t *testing.T) {
	draft := func(value logbook.Value) func(*logbook.Book) ([]logbook.Draft, error) {
		return func(b *logbook.Book) ([]logbook.Draft, error) {
			c := logbook.Change{Field: "lens", Value: value}
			if v, ok := b.Record(logtest.ID(2)); ok {
				c = logbook.Replace(v, "lens", value)
			}
			return []logbook.Draft{{Kind: "clip", Record: logtest.ID(2), Set: []logbook.Change{c}}}, nil
		}
	}
	writer := logbook.Writer{Device: logtest.ID(70), By: "DIT", Now: 5}
	t.Run("changes made at once follow each other", func(t *testing.T) {
		l := logtest.Open(t, logbook.NewMemory(), rules, 0x10)
		var all sync.WaitGroup
		for i := 0; i < 16; i++ {
			all.Go(func() {
				if _, err := l.Change(writer, draft(logbook.TextValue(fmt.Sprint(i)))); err != nil {
					t.Error(err)
				}
			})
		}
		all.Wait()
		l.Read(func(b *logbook.Book) {
			v, _ := b.Record(logtest.ID(2))
			if len(v.Edits()) != 16 || len(v.Field("lens").Heads) != 1 {
				t.Errorf("got %d edits and %d heads, want 16 and 1", len(v.Edits()), len(v.Field("lens").Heads))
			}
		})
	})
	t.Run("a change that is not valid stores nothing", func(t *testing.T) {
		l := logtest.Open(t, logbook.NewMemory(), rules, 0x10)
		_, err := l.Change(writer, func(*logbook.Book) ([]logbook.Draft, error) {
			return []logbook.Draft{
				{Kind: "clip", Record: logtest.ID(2), Set: []logbook.Change{{Field: "lens", Value: `"a"`}}},
				{Kind: "clip", Record: logtest.ID(3), Set: []logbook.Change{{Field: "kelvin", Value: "-3"}}},
			}, nil
		})
		if err == nil {
			t.Fatal("a kelvin of -3 was stored")
		}
		if head, _ := l.Head(); head.Seq != 0 {
			t.Errorf("got sequence %d, want nothing stored", head.Seq)
		}
	})
	t.Run("nothing is written under a dot that somebody named", func(t *testing.T) {
		l := logtest.Open(t, logbook.NewMemory(), rules, 0x10)
		first, err := l.Change(writer, draft(`"a"`))
		if err != nil {
			t.Fatal(err)
		}
		named := logbook.Dot{Line: first[0].Dot.Line, N: 2} // as the server wrote before its memory was set back
		if _, err := l.Push([]*logbook.Edit{logtest.ClipEdit(1, 1, "lens", `"b"`, named)}, logtest.ID(61), 9); err != nil {
			t.Fatal(err)
		}
		next, err := l.Change(writer, draft(`"c"`))
		if err != nil || next[0].Dot == named {
			t.Fatalf("got dot %s (%v), want one of another line", next[0].Dot, err)
		}
		l.Read(func(b *logbook.Book) {
			if v, _ := b.Record(logtest.ID(2)); v.Text("lens") != "c" || len(v.Field("lens").Heads) != 1 {
				t.Errorf("got %v, want c alone", v.Field("lens").Heads)
			}
		})
	})
	t.Run("a write that failed ends the line: it may lie in the store all the same", func(t *testing.T) {
		store := &forgetful{Memory: logbook.NewMemory()}
		l := logtest.Open(t, store, rules, 0x70)
		write := func(lens string) ([]*logbook.Edit, error) {
			return l.Change(logbook.Writer{Device: logtest.ID(70), By: "desk", Now: 5}, func(*logbook.Book) ([]logbook.Draft, error) {
				return []logbook.Draft{
					{Kind: "clip", Record: logtest.ID(2), Set: []logbook.Change{{Field: "lens", Value: logbook.TextValue(lens)}}},
				}, nil
			})
		}
		if _, err := write("50 mm"); !errors.Is(err, logbook.ErrBroken) {
			t.Fatalf("got %v, want what the store said", err)
		}
		second, err := write("85 mm")
		if err != nil {
			t.Fatal(err)
		}
		stored, err := store.Read(logtest.Production, 0, 1<<20)
		if err != nil || len(stored) != 2 || stored[0].Dot.Line == second[0].Dot.Line {
			t.Errorf("got %d edits (%v), the second in line %s; want it in another line than that which failed",
				len(stored), err, second[0].Dot.Line)
		}
		if clashes, err := l.Clashes(); err != nil || len(clashes) > 0 {
			t.Errorf("got the clashes %v (%v), want that nothing was tried under the dot again", clashes, err)
		}
	})
	t.Run("a start writes under a line of its own", func(t *testing.T) {
		store := logbook.NewMemory()
		l := logtest.Open(t, store, rules, 0x10)
		first, err := l.Change(writer, draft(`"a"`))
		if err != nil {
			t.Fatal(err)
		}
		again := logtest.Open(t, store, rules, 0x30)
		second, err := again.Change(writer, draft(`"b"`))
		if err != nil {
			t.Fatal(err)
		}
		if first[0].Dot.Line == second[0].Dot.Line {
			t.Errorf("two starts wrote in line %s", first[0].Dot.Line)
		}
		again.Read(func(b *logbook.Book) {
			if v, _ := b.Record(logtest.ID(2)); v.Text("lens") != "b" || len(v.Conflicts()) != 0 {
				t.Errorf("got %q with conflicts %v, want b alone", v.Text("lens"), v.Conflicts())
			}
		})
	})
}

// forgetful is a store that says of the first write that it failed, and holds it.
type forgetful struct {
	*logbook.Memory
	failed bool
}

func (f *forgetful) Append(production logbook.ID, entries []logbook.Entry) ([]logbook.Receipt, error) {
	receipts, err := f.Memory.Append(production, entries)
	if err == nil && !f.failed {
		f.failed = true
		return nil, logbook.ErrBroken
	}
	return receipts, err
}

// growing is a store to which another edit comes after every page that is read.
type growing struct {
	*logbook.Memory
	t *testing.T
	n uint64
}

func (g *growing) Read(production logbook.ID, after logbook.Seq, _ int) ([]logbook.Stored, error) {
	page, err := g.Memory.Read(production, after, 1)
	g.n++
	mustAppend(g.t, g.Memory, logtest.ClipEdit(9, g.n, "lens", `"35"`))
	return page, err
}

func mustAppend(t *testing.T, store logbook.Store, edits ...*logbook.Edit) {
	t.Helper()
	for _, e := range edits {
		b, err := logbook.EncodeEdit(e)
		if err != nil {
			t.Fatal(err)
		}
		entry := logbook.Entry{Dot: e.Dot, Hash: logbook.HashOf(b), Bytes: b, Via: logtest.ID(2)}
		if _, err := store.Append(logtest.Production, []logbook.Entry{entry}); err != nil {
			t.Fatal(err)
		}
	}
}

func TestABookIsReadOfTheEditsThatAreAskedFor(t *testing.T) {
	store := &growing{Memory: logbook.NewMemory(), t: t}
	if err := store.Begin(logtest.Production, logtest.Line(1)); err != nil {
		t.Fatal(err)
	}
	for n := uint64(1); n <= 5; n++ {
		mustAppend(t, store.Memory, logtest.ClipEdit(1, n, "lens", `"50"`))
	}
	held := logbook.HeldOf(logbook.Ranges{logtest.Line(1): {{From: 1, To: 3}, {From: 5, To: 5}}})
	b, err := logbook.ReadHeld(store, logtest.Production, rules, held)
	if err != nil {
		t.Fatal(err)
	}
	for n := uint64(1); n <= 5; n++ {
		if b.Held(logtest.Dot(1, n)) != (n != 4) {
			t.Errorf("edit %d is in the book: %v", n, n == 4)
		}
	}
	if b.Held(logtest.Dot(9, 1)) {
		t.Error("the book holds an edit that came meanwhile")
	}
}

// A machine whose memory is set back goes on in a line that others know further.
func TestAChangeGoesOnInANewLineWhereItsDotsAreTaken(t *testing.T) {
	store := logbook.NewMemory()
	l := logtest.Open(t, store, rules, 0x10)
	writer := logbook.Writer{Device: logtest.ID(70), By: "DIT", Now: 5}
	draft := func(record int) logbook.Draft {
		return logbook.Draft{Kind: "clip", Record: logtest.ID(record), Set: []logbook.Change{{Field: "lens", Value: `"35"`}}}
	}
	first, err := l.Change(writer, func(*logbook.Book) ([]logbook.Draft, error) { return []logbook.Draft{draft(2)}, nil })
	if err != nil {
		t.Fatal(err)
	}
	foreign := logtest.ClipEdit(1, 1, "filters", `"none"`)
	foreign.Dot = logbook.Dot{Line: first[0].Dot.Line, N: 3}
	if _, err := l.Push([]*logbook.Edit{foreign}, logtest.ID(61), 9); err != nil {
		t.Fatal(err)
	}
	edits, err := l.Change(writer, func(*logbook.Book) ([]logbook.Draft, error) {
		return []logbook.Draft{draft(4), draft(5), draft(6)}, nil
	})
	if err != nil {
		t.Fatalf("the change failed: %v", err)
	}
	for i, e := range edits {
		if e.Dot.Line == first[0].Dot.Line || e.Act != edits[0].Dot || !edits[0].Dot.Less(e.Dot) && i > 0 {
			t.Errorf("edit %d has dot %s in the act %s, want all in one act of a new line", i, e.Dot, e.Act)
		}
	}
	again := logtest.Open(t, store, rules, 0x40)
	var now, stored string
	l.Read(func(b *logbook.Book) { now = describe(b) })
	again.Read(func(b *logbook.Book) { stored = describe(b) })
	if now != stored {
		t.Errorf("the book says\n%swhat is stored\n%s", now, stored)
	}
}
