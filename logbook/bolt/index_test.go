package bolt

import (
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook"
)

func TestIndexFindsWhatWasAdded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x, want := newIndex(), map[logbook.Dot]logbook.Seq{}
		for seq, n := range rapid.SliceOfNDistinct(rapid.IntRange(0, 59), 0, 40, rapid.ID).Draw(t, "dots") {
			d := logbook.Dot{Line: logbook.Line{byte(n % 3)}, N: uint64(n/3) + 1}
			want[d] = logbook.Seq(seq + 1)
			x.add(d, want[d])
		}
		for n := range 66 {
			d := logbook.Dot{Line: logbook.Line{byte(n % 3)}, N: uint64(n/3) + 1}
			got, ok := x.find(d)
			if seq, held := want[d]; ok != held || got != seq {
				t.Fatalf("%s: got %d %v, want %d %v", d, got, ok, seq, held)
			}
			if _, held := want[d]; x.held.Has(d) != held {
				t.Fatalf("%s: the ranges say %v, want %v", d, x.held.Has(d), held)
			}
		}
	})
}

func TestIndexHasOneRowForARun(t *testing.T) {
	x := newIndex()
	for n := uint64(1); n <= 1000; n++ {
		x.add(logbook.Dot{Line: logbook.Line{1}, N: n}, logbook.Seq(10+n))
	}
	if runs := x.runs[logbook.Line{1}]; len(runs) != 1 {
		t.Errorf("1000 edits in a row take %d rows, want one", len(runs))
	}
}
