package storetest

import (
	"math"
	"reflect"
	"testing"

	"evenwhite/logbook"
)

// RunDurable runs what a store that lives in a folder promises across openings.
// open opens the store in the folder, an empty one where there is none, and does
// not close it.
func RunDurable(t *testing.T, open func(t *testing.T, folder string) logbook.Store) {
	t.Run("a store that is opened again holds everything", func(t *testing.T) { heldAgain(t, open) })
	t.Run("a store that is opened again goes on where it ended", func(t *testing.T) { goesOn(t, open) })
	t.Run("what was acknowledged before closing under load is there", func(t *testing.T) {
		folder := t.TempDir()
		acknowledged := closeUnderLoad(t, open(t, folder))
		s := open(t, folder)
		defer s.Close()
		held, err := s.Ranges(Production)
		if err != nil {
			t.Fatal(err)
		}
		for dot := range acknowledged {
			if !held.Has(dot) {
				t.Errorf("edit %s was acknowledged and is lost", dot)
			}
		}
		MustAgree(t, s)
	})
}

// holding is everything that a store says of itself.
type holding struct {
	Productions []logbook.ID
	Heads       []logbook.Head
	Edits       [][]logbook.Stored
	Ranges      []logbook.Ranges
	Clashes     [][]logbook.Entry
	Kept        []logbook.KeptValue
}

func holdingOf(t *testing.T, s logbook.Store) (h holding) {
	t.Helper()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	var err error
	h.Productions, err = s.Productions()
	must(err)
	for _, p := range h.Productions {
		head, err := s.Head(p)
		must(err)
		edits, err := s.Read(p, 0, math.MaxInt)
		must(err)
		ranges, err := s.Ranges(p)
		must(err)
		clashes, err := s.Clashes(p)
		must(err)
		h.Heads, h.Edits = append(h.Heads, head), append(h.Edits, edits)
		h.Ranges, h.Clashes = append(h.Ranges, ranges), append(h.Clashes, clashes)
	}
	h.Kept, err = s.KeptUnder("")
	must(err)
	return h
}

func fill(t *testing.T, s logbook.Store) {
	t.Helper()
	begin(t, s)
	other := logbook.ID{0, 14: 9}
	if err := s.Begin(other, logbook.Line{9}); err != nil {
		t.Fatal(err)
	}
	add(t, s, Entry(1, 1, "a"), Entry(1, 3, "b"), Entry(2, 1, "c"), Entry(1, 1, "clash"))
	add(t, s, Entry(1, 2, "d"), Entry(2, 2, "e"))
	keep(t, s, "device/a", "1")
	keep(t, s, "device/b", "2")
	if err := s.Keep("device/a", nil); err != nil {
		t.Fatal(err)
	}
}

func heldAgain(t *testing.T, open func(*testing.T, string) logbook.Store) {
	folder := t.TempDir()
	s := open(t, folder)
	fill(t, s)
	want := holdingOf(t, s)
	for range 2 {
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		s = open(t, folder)
		if got := holdingOf(t, s); !reflect.DeepEqual(got, want) {
			t.Errorf("it holds %+v, want %+v", got, want)
		}
		MustAgree(t, s)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}

func goesOn(t *testing.T, open func(*testing.T, string) logbook.Store) {
	folder := t.TempDir()
	s := open(t, folder)
	fill(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open(t, folder)
	defer s.Close()
	begin(t, s)
	got := add(t, s, Entry(1, 4, "f"), Entry(1, 2, "d"), Entry(1, 1, "clash"), Entry(2, 2, "another clash"))
	want := []logbook.Receipt{{Outcome: logbook.Taken, Seq: 6}, {Outcome: logbook.Repeat, Seq: 4},
		{Outcome: logbook.Clash, Seq: 1}, {Outcome: logbook.Clash, Seq: 5}}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("receipts are %+v, want %+v", got, want)
	}
	if clashes, err := s.Clashes(Production); err != nil || len(clashes) != 2 {
		t.Errorf("got %d clashes (%v), want the old and the new one", len(clashes), err)
	}
	MustAgree(t, s)
}
