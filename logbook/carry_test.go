package logbook

import (
	"bytes"
	"errors"
	"strings"
	"testing"
)

// carryLog is an empty log of the production of the tests, whose identity begins
// with a byte.
func carryLog(t *testing.T, store Store, identity byte) *Peer {
	t.Helper()
	l, err := openPeer(store, KindRules, drawn(identity))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// logOf is a log that holds the first edits of one line.
func logOf(t *testing.T, edits uint64) *Peer {
	t.Helper()
	l := carryLog(t, NewMemory(), 0x10)
	for n := uint64(1); n <= edits; n++ {
		if _, err := l.Push([]*Edit{clipEdit(1, n, "lens", `"50 mm"`)}, testID(2), 1000); err != nil {
			t.Fatal(err)
		}
	}
	return l
}

func bundleSince(t *testing.T, l *Peer, place string) (bundle []byte, end string, edits int) {
	t.Helper()
	s, err := l.Since(place)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	n, err := s.WriteBundle(&b)
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes(), s.End(), n
}

func TestABundleFillsAnotherLog(t *testing.T) {
	const all = 2*takenAtOnce + 7
	from := logOf(t, all)
	first, end, n := bundleSince(t, from, "")
	if n != all {
		t.Fatalf("the bundle holds %d edits, want %d", n, all)
	}
	to := carryLog(t, NewMemory(), 0x20)
	got, err := to.TakeBundle(bytes.NewReader(first), testID(3), 2000)
	if want := (Tally{Taken: all}); err != nil || got != want {
		t.Fatalf("got %v (%v), want %v", got, err, want)
	}
	got, err = to.TakeBundle(bytes.NewReader(first), testID(3), 2000)
	if want := (Tally{Repeat: all}); err != nil || got != want {
		t.Errorf("taken again: got %v (%v), want %v", got, err, want)
	}

	t.Run("a further one holds only what came since", func(t *testing.T) {
		bad, other := clipEdit(1, all+1, "kelvin", "-3"), clipEdit(1, 2, "lens", `"85 mm"`)
		if _, err := from.Push([]*Edit{bad}, testID(2), 3000); err != nil {
			t.Fatal(err)
		}
		second, _, n := bundleSince(t, from, end)
		got, err := to.TakeBundle(bytes.NewReader(second), testID(3), 3000)
		if want := (Tally{Refused: 1}); n != 1 || err != nil || got != want {
			t.Errorf("got %d edits, %v (%v), want one that is refused", n, got, err)
		}
		var b bytes.Buffer
		if err := WriteBundle(&b, testID(1), []*Edit{other}); err != nil {
			t.Fatal(err)
		}
		got, err = to.TakeBundle(&b, testID(3), 3000)
		if want := (Tally{Clash: 1}); err != nil || got != want {
			t.Errorf("got %v (%v), want a clash", got, err)
		}
	})
	t.Run("a place of another log is refused", func(t *testing.T) {
		_, err := to.Since(end)
		if !errors.Is(err, ErrRequest) || !strings.Contains(err.Error(), "leads nowhere") {
			t.Errorf("got %v", err)
		}
	})
	t.Run("what comes while it is written waits for the next", func(t *testing.T) {
		s, err := from.Since("")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := from.Push([]*Edit{clipEdit(1, all+2, "lens", `"35 mm"`)}, testID(2), 4000); err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if n, err := s.WriteBundle(&b); err != nil || n != all+1 {
			t.Errorf("got %d edits (%v), want %d", n, err, all+1)
		}
		if _, _, n := bundleSince(t, from, s.End()); n != 1 {
			t.Errorf("the next holds %d edits, want 1", n)
		}
	})
}

func TestADamagedBundleIsTakenUpToTheDamage(t *testing.T) {
	const all = takenAtOnce + 5
	whole, _, _ := bundleSince(t, logOf(t, all), "")
	for _, at := range []int{len(whole) / 3, len(whole) - 40} {
		damaged := append([]byte(nil), whole...)
		damaged[at] ^= 1
		to := carryLog(t, NewMemory(), 0x20)
		got, err := to.TakeBundle(bytes.NewReader(damaged), testID(3), 2000)
		if !errors.Is(err, ErrDamaged) || !strings.Contains(err.Error(), "at edit ") {
			t.Fatalf("damaged at byte %d: got %v, want the damaged edit named", at, err)
		}
		head, err := to.Head()
		if err != nil || got.Taken == 0 || got.Taken >= all || head.Seq != Seq(got.Taken) {
			t.Errorf("damaged at byte %d: %v counted, the log holds %d (%v)", at, got, head.Seq, err)
		}
	}
}

// brimful is a store that has room for some calls of Append.
type brimful struct {
	Store
	room int
}

func (b *brimful) Append(production ID, entries []Entry) ([]Receipt, error) {
	if b.room--; b.room < 0 {
		return nil, ErrFull
	}
	return b.Store.Append(production, entries)
}

func TestABundleThatFillsTheDiskIsTakenAsFarAsThereIsRoom(t *testing.T) {
	whole, _, _ := bundleSince(t, logOf(t, 2*takenAtOnce+1), "")
	to := carryLog(t, &brimful{NewMemory(), 2}, 0x20)
	got, err := to.TakeBundle(bytes.NewReader(whole), testID(3), 2000)
	if want := (Tally{Taken: 2 * takenAtOnce}); !errors.Is(err, ErrFull) || got != want {
		t.Errorf("got %v (%v), want %v and the disk full", got, err, want)
	}
}
