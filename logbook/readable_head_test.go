package logbook_test

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

// held is a store that has committed, and answers when it is let.
type held struct {
	*logbook.Memory
	committed, let chan struct{}
}

func (h *held) Append(production logbook.ID, entries []logbook.Entry) ([]logbook.Receipt, error) {
	receipts, err := h.Memory.Append(production, entries)
	if entries[0].Dot.Line == logtest.Line(1) {
		h.committed <- struct{}{}
		<-h.let
	}
	return receipts, err
}

func TestTheLogIsReadableAsFarAsItIsInTheBook(t *testing.T) {
	store := &held{logbook.NewMemory(), make(chan struct{}), make(chan struct{})}
	l := logtest.Open(t, store, rules, 0x10)
	push := func(e *logbook.Edit) {
		if _, err := l.Push([]*logbook.Edit{e}, logtest.ID(60), 9); err != nil {
			t.Error(err)
		}
	}
	readable := func(want logbook.Seq, when string) {
		t.Helper()
		got, err := l.Readable()
		chain, ok, _ := store.ChainAt(logtest.Production, want)
		if err != nil || got.Seq != want || !ok || got.Chain != chain {
			t.Errorf("%s it is readable up to %d %x (%v), want %d %x", when, got.Seq, got.Chain, err, want, chain)
		}
	}
	push(logtest.ClipEdit(2, 1, "lens", `"35"`))
	readable(1, "with one edit")
	done := make(chan struct{})
	go func() {
		defer close(done)
		push(logtest.ClipEdit(1, 1, "lens", `"50"`))
	}()
	<-store.committed
	readable(1, "while the second is stored and not in the book")
	push(logtest.ClipEdit(2, 2, "lens", `"85"`))
	readable(1, "while the third is in the book before the second")
	l.Read(func(b *logbook.Book) {
		if b.Held(logtest.Dot(1, 1)) || !b.Held(logtest.Dot(2, 2)) {
			t.Error("the test does not hold the second up")
		}
	})
	close(store.let)
	<-done
	readable(3, "with all three in the book")
}
