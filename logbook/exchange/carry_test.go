package exchange_test

import (
	"bytes"
	"errors"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/logtest"
)

// logOf is a log that holds the first edits of one line.
func logOf(t *testing.T, edits uint64) *exchange.Peer {
	t.Helper()
	l := openPeer(t, logbook.NewMemory(), 0x10)
	for n := uint64(1); n <= edits; n++ {
		if _, err := l.Push([]*logbook.Edit{logtest.ClipEdit(1, n, "lens", `"50 mm"`)}, logtest.ID(2), 1000); err != nil {
			t.Fatal(err)
		}
	}
	return l
}

func bundleSince(t *testing.T, l *exchange.Peer, place string) (bundle []byte, end string, edits int) {
	t.Helper()
	s, err := l.Since(place)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	written, err := s.WriteBundle(&b)
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes(), s.End(), written.Edits
}

func TestABundleIsReadBackAgainstWhatWasWritten(t *testing.T) {
	l := logOf(t, 7)
	stretch, err := l.Since("")
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	written, err := stretch.WriteBundle(&out)
	if err != nil {
		t.Fatal(err)
	}
	if written.Edits != 7 || written.Chain != stretch.Head().Chain {
		t.Errorf("got %+v, want 7 edits and the chain of the log at %+v", written, stretch.Head())
	}
	whole := out.Bytes()
	bundle := func(edits ...*logbook.Edit) []byte {
		var b bytes.Buffer
		if err := exchange.WriteBundle(&b, l.Production(), edits); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	var edits []*logbook.Edit
	if err := exchange.ReadBundle(bytes.NewReader(whole), l.Production(), func(e *logbook.Edit) error {
		edits = append(edits, e)
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	changed := slices.Clone(edits)
	other := *edits[3]
	other.By = "somebody else"
	changed[3] = &other
	for name, c := range map[string]struct {
		bundle []byte
		same   bool
	}{
		"as it was written":  {whole, true},
		"cut off":            {whole[:len(whole)-1], false},
		"without the last":   {bundle(edits[:6]...), false},
		"with one more":      {bundle(append(slices.Clone(edits), logtest.ClipEdit(9, 1, "lens", `"50 mm"`))...), false},
		"in another order":   {bundle(edits[1], edits[0], edits[2], edits[3], edits[4], edits[5], edits[6]), false},
		"with other bytes":   {bundle(changed...), false},
		"of no edits":        {bundle(), false},
		"of none, not there": {nil, false},
	} {
		err := exchange.SameBundle(bytes.NewReader(c.bundle), l.Production(), written)
		if (err == nil) != c.same || err != nil && !errors.Is(err, logbook.ErrDamaged) {
			t.Errorf("%s: got %v", name, err)
		}
	}
	if _, err := l.Push([]*logbook.Edit{logtest.ClipEdit(9, 1, "lens", `"50 mm"`)}, logtest.ID(2), 3000); err != nil {
		t.Fatal(err)
	}
	if again, err := stretch.WriteBundle(&out); err != nil || again != written {
		t.Errorf("after the log went on: got %+v (%v), want %+v", again, err, written)
	}
	if head, err := l.Head(); err != nil || head == stretch.Head() || stretch.Head().Seq != 7 {
		t.Errorf("the stretch ends at %+v, the log at %+v (%v)", stretch.Head(), head, err)
	}
}

func TestABundleFillsAnotherLog(t *testing.T) {
	const all = 2*exchange.TakenAtOnce + 7
	from := logOf(t, all)
	first, end, n := bundleSince(t, from, "")
	if n != all {
		t.Fatalf("the bundle holds %d edits, want %d", n, all)
	}
	to := openPeer(t, logbook.NewMemory(), 0x20)
	got, err := to.TakeBundle(bytes.NewReader(first), exchange.Bringer{Via: logtest.ID(3)}, 2000)
	if want := (exchange.Tally{Taken: all}); err != nil || got != want {
		t.Fatalf("got %v (%v), want %v", got, err, want)
	}
	got, err = to.TakeBundle(bytes.NewReader(first), exchange.Bringer{Via: logtest.ID(3)}, 2000)
	if want := (exchange.Tally{Repeat: all}); err != nil || got != want {
		t.Errorf("taken again: got %v (%v), want %v", got, err, want)
	}

	t.Run("a further one holds only what came since", func(t *testing.T) {
		bad, other := logtest.ClipEdit(1, all+1, "kelvin", "-3"), logtest.ClipEdit(1, 2, "lens", `"85 mm"`)
		if _, err := from.Push([]*logbook.Edit{bad}, logtest.ID(2), 3000); err != nil {
			t.Fatal(err)
		}
		second, _, n := bundleSince(t, from, end)
		got, err := to.TakeBundle(bytes.NewReader(second), exchange.Bringer{Via: logtest.ID(3)}, 3000)
		if want := (exchange.Tally{Refused: 1}); n != 1 || err != nil || got != want {
			t.Errorf("got %d edits, %v (%v), want one that is refused", n, got, err)
		}
		var b bytes.Buffer
		if err := exchange.WriteBundle(&b, logtest.Production, []*logbook.Edit{other}); err != nil {
			t.Fatal(err)
		}
		got, err = to.TakeBundle(&b, exchange.Bringer{Via: logtest.ID(3)}, 3000)
		if want := (exchange.Tally{Clash: 1}); err != nil || got != want {
			t.Errorf("got %v (%v), want a clash", got, err)
		}
	})
	t.Run("a place of another log is refused", func(t *testing.T) {
		_, err := to.Since(end)
		if !errors.Is(err, logbook.ErrRequest) || !strings.Contains(err.Error(), "leads nowhere") {
			t.Errorf("got %v", err)
		}
	})
	t.Run("what comes while it is written waits for the next", func(t *testing.T) {
		s, err := from.Since("")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := from.Push([]*logbook.Edit{logtest.ClipEdit(1, all+2, "lens", `"35 mm"`)}, logtest.ID(2), 4000); err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if n, err := s.WriteBundle(&b); err != nil || n.Edits != all+1 {
			t.Errorf("got %+v (%v), want %d edits", n, err, all+1)
		}
		if _, _, n := bundleSince(t, from, s.End()); n != 1 {
			t.Errorf("the next holds %d edits, want 1", n)
		}
	})
}

func TestADamagedBundleIsTakenUpToTheDamage(t *testing.T) {
	const all = exchange.TakenAtOnce + 5
	whole, _, _ := bundleSince(t, logOf(t, all), "")
	for _, at := range []int{len(whole) / 3, len(whole) - 40} {
		damaged := append([]byte(nil), whole...)
		damaged[at] ^= 1
		to := openPeer(t, logbook.NewMemory(), 0x20)
		got, err := to.TakeBundle(bytes.NewReader(damaged), exchange.Bringer{Via: logtest.ID(3)}, 2000)
		if !errors.Is(err, logbook.ErrDamaged) || !strings.Contains(err.Error(), "at edit ") {
			t.Fatalf("damaged at byte %d: got %v, want the damaged edit named", at, err)
		}
		head, err := to.Head()
		if err != nil || got.Taken == 0 || got.Taken >= all || head.Seq != logbook.Seq(got.Taken) {
			t.Errorf("damaged at byte %d: %v counted, the log holds %d (%v)", at, got, head.Seq, err)
		}
	}
}

// brimful is a store that has room for some calls of Append.
type brimful struct {
	logbook.Store
	room int
}

func (b *brimful) Append(production logbook.ID, entries []logbook.Entry) ([]logbook.Receipt, error) {
	if b.room--; b.room < 0 {
		return nil, logbook.ErrFull
	}
	return b.Store.Append(production, entries)
}

func TestABundleThatFillsTheDiskIsTakenAsFarAsThereIsRoom(t *testing.T) {
	whole, _, _ := bundleSince(t, logOf(t, 2*exchange.TakenAtOnce+1), "")
	to := openPeer(t, &brimful{logbook.NewMemory(), 2}, 0x20)
	got, err := to.TakeBundle(bytes.NewReader(whole), exchange.Bringer{Via: logtest.ID(3)}, 2000)
	if want := (exchange.Tally{Taken: 2 * exchange.TakenAtOnce}); !errors.Is(err, logbook.ErrFull) || got != want {
		t.Errorf("got %v (%v), want %v and the disk full", got, err, want)
	}
}
