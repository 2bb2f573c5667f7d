package logbook_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

func TestWhoReadsHoldsUpNoAnswer(t *testing.T) {
	t.Run("a push is answered while the book is read, and shows to whoever looks then", func(t *testing.T) {
		l := logtest.Open(t, logbook.NewMemory(), rules, 1)
		changed := l.Changed()
		l.Read(func(b *logbook.Book) {
			isAnswered(t, func() {
				push(t, l, logtest.ClipEdit(0, 1, "kelvin", "3200"), logbook.AnswerTaken)
				push(t, l, logtest.ClipEdit(0, 2, "kelvin", "-3"), logbook.AnswerRefused)
				push(t, l, logtest.ClipEdit(0, 1, "kelvin", "3200"), logbook.AnswerRepeat)
			})
			if v, found := b.Record(logtest.ID(2)); found {
				t.Errorf("got %s in the book that is being read, want it as it was", about(v))
			}
		})
		select {
		case <-changed:
		default:
			t.Error("nobody was woken")
		}
		if head, err := l.Readable(); err != nil || head.Seq != 2 {
			t.Errorf("readable as far as %d (%v), want 2", head.Seq, err)
		}
		l.Read(func(b *logbook.Book) {
			if v, _ := b.Record(logtest.ID(2)); v.Value("kelvin") != "3200" || len(b.Refused()) != 1 {
				t.Errorf("got %s and %d refused edits, want kelvin 3200 and 1", about(v), len(b.Refused()))
			}
		})
	})
	t.Run("and while a frozen book is read, which does not change", func(t *testing.T) {
		l := logtest.Open(t, logbook.NewMemory(), rules, 1)
		first := logtest.ClipEdit(0, 1, "kelvin", "3200")
		push(t, l, first, logbook.AnswerTaken)
		f, err := l.Freeze()
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		f.Read(func(*logbook.Book) {
			isAnswered(t, func() { push(t, l, logtest.ClipEdit(1, 1, "kelvin", "5600"), logbook.AnswerTaken) })
		})
		if err := (frozenAt{f, []*logbook.Edit{first}}).compare([]*logbook.Edit{first}); err != nil {
			t.Error(err)
		}
		again, err := l.Freeze()
		if err != nil || again.Head().Seq != 2 {
			t.Fatalf("frozen at %d (%v), want 2", again.Head().Seq, err)
		}
		defer again.Close()
		again.Read(func(b *logbook.Book) {
			if !b.Held(logtest.Dot(1, 1)) {
				t.Error("what waited is not in the next frozen book")
			}
		})
	})
	t.Run("its state is another at once", func(t *testing.T) {
		l := logtest.Open(t, logbook.NewMemory(), rules, 1)
		before := l.State()
		l.Read(func(*logbook.Book) {
			isAnswered(t, func() { push(t, l, logtest.ClipEdit(0, 1, "kelvin", "3200"), logbook.AnswerTaken) })
		})
		if l.State() == before {
			t.Error("got the state of before the push")
		}
	})
	t.Run("but no more waits than there is room for", func(t *testing.T) {
		l := logtest.Open(t, logbook.NewMemory(), rules, 1)
		const batch, batches = 500, 12
		ended := make(chan struct{})
		answered := make(chan struct{}, batches)
		l.Read(func(*logbook.Book) {
			go func() {
				defer close(ended)
				for i := range batches {
					var edits []*logbook.Edit
					for n := range batch {
						edits = append(edits, logtest.ClipEdit(0, uint64(i*batch+n+1), "kelvin", logbook.Value(fmt.Sprint(n))))
					}
					if _, err := l.Push(edits, logtest.ID(50), 1); err != nil {
						t.Error(err)
					}
					answered <- struct{}{}
				}
			}()
			for range logbook.MostWaiting / batch {
				select {
				case <-answered:
				case <-time.After(30 * time.Second):
					t.Error("it waits for who reads, although there is room")
					return
				}
			}
			select {
			case <-answered:
				t.Error("one more is answered than there is room for")
			case <-time.After(time.Second): // it waits
			}
		})
		<-ended
		l.Read(func(b *logbook.Book) {
			if n := len(slices.Collect(b.Applied())); n != batch*batches {
				t.Errorf("got %d edits in the book, want %d", n, batch*batches)
			}
		})
	})
}

// isAnswered lets others act while the caller reads. What never ends while it does is a fault, and
// ends once it does not.
func isAnswered(t *testing.T, act func()) {
	t.Helper()
	done := make(chan struct{})
	go func() {
		defer close(done)
		act()
	}()
	select {
	case <-done:
	case <-time.After(30 * time.Second):
		t.Error("it waits for who reads")
	}
}

func push(t *testing.T, l *logbook.Log, e *logbook.Edit, want string) {
	t.Helper()
	if answers, err := l.Push([]*logbook.Edit{e}, e.Device, 1); err != nil || answers[0].Outcome != want {
		t.Errorf("got %v, %v; want it %s", answers, err, want)
	}
}
