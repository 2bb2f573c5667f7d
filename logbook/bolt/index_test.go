package bolt

import (
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook"
)

func TestIndexFindsWhatWasAdded(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		step := rapid.SampledFrom([]uint64{1, 7, 1 << 50}).Draw(t, "step")
		x, want := newIndex(), map[logbook.Dot]logbook.Seq{}
		for seq, n := range rapid.SliceOfNDistinct(rapid.IntRange(0, 59), 0, 40, rapid.ID).Draw(t, "dots") {
			d := logbook.Dot{Line: logbook.Line{byte(n % 3)}, N: uint64(n/3)*step + 1}
			want[d] = logbook.Seq(seq + 1)
			x.add(d, want[d])
		}
		for n := range 66 {
			d := logbook.Dot{Line: logbook.Line{byte(n % 3)}, N: uint64(n/3)*step + 1}
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
