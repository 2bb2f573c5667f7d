package logbook

import (
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// plainSpans is the spans of one line's numbers, counted from a plain set.
func plainSpans(set map[uint64]bool) (spans []Span) {
	var numbers []uint64
	for n := range set {
		numbers = append(numbers, n)
	}
	slices.Sort(numbers)
	for _, n := range numbers {
		if last := len(spans) - 1; last >= 0 && spans[last].To == n-1 {
			spans[last].To = n
		} else {
			spans = append(spans, Span{n, n})
		}
	}
	return spans
}

func TestRangesHoldWhatASetHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lines := []Line{{3}, {1}, {2, 7: 9}}
		numbers := rapid.OneOf(rapid.Uint64Range(1, 12), rapid.Uint64Range(1<<62-3, 1<<62))
		r, sets := Ranges{}, map[Line]map[uint64]bool{}
		for range rapid.IntRange(0, 60).Draw(t, "adds") {
			d := Dot{rapid.SampledFrom(lines).Draw(t, "line"), numbers.Draw(t, "n")}
			if sets[d.Line] == nil {
				sets[d.Line] = map[uint64]bool{}
			}
			if got, want := r.Add(d), !sets[d.Line][d.N]; got != want {
				t.Fatalf("adding %s says new: %v, want %v", d, got, want)
			}
			sets[d.Line][d.N] = true
		}
		if len(r) != len(sets) {
			t.Fatalf("there are %d lines, want %d", len(r), len(sets))
		}
		for line, set := range sets {
			if got, want := r[line], plainSpans(set); !reflect.DeepEqual(got, want) {
				t.Fatalf("line %s: got %v, want %v", line, got, want)
			}
		}
		for _, line := range append(lines, Line{4}) {
			for _, n := range []uint64{
				0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13,
				1<<62 - 4, 1<<62 - 3, 1<<62 - 2, 1<<62 - 1, 1 << 62, 1<<62 + 1,
			} {
				if got, want := r.Has(Dot{line, n}), sets[line][n]; got != want {
					t.Fatalf("%s: has is %v, want %v", Dot{line, n}, got, want)
				}
			}
		}
	})
}

func TestACloneOfRangesSharesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := Ranges{}
		for _, n := range rapid.SliceOf(rapid.Uint64Range(1, 20)).Draw(t, "numbers") {
			r.Add(Dot{Line{byte(n % 2)}, n})
		}
		before := r.Clone()
		if !reflect.DeepEqual(before, r) {
			t.Fatalf("the clone of %v is %v", r, before)
		}
		again := r.Clone()
		for _, n := range rapid.SliceOf(rapid.Uint64Range(1, 20)).Draw(t, "more") {
			again.Add(Dot{Line{byte(n % 3)}, n})
		}
		if !reflect.DeepEqual(before, r) {
			t.Fatalf("adding to a clone changed %v to %v", before, r)
		}
	})
}

func TestLinesOfRangesRise(t *testing.T) {
	r := Ranges{}
	for _, line := range []Line{{2}, {1, 7: 1}, {0xff}, {1}} {
		r.Add(Dot{line, 1})
	}
	if got, want := r.Lines(), []Line{{1}, {1, 7: 1}, {2}, {0xff}}; !reflect.DeepEqual(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestRangesCoverWhatTheyHoldAllOf(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		dot := rapid.Custom(func(t *rapid.T) Dot {
			return Dot{Line{rapid.ByteRange(0, 1).Draw(t, "line")}, rapid.Uint64Range(1, 6).Draw(t, "n")}
		})
		here, there := Ranges{}, Ranges{}
		for _, d := range rapid.SliceOf(dot).Draw(t, "here") {
			here.Add(d)
		}
		want := true
		for _, d := range rapid.SliceOf(dot).Draw(t, "there") {
			there.Add(d)
			want = want && here.Has(d)
		}
		if got := here.Covers(there); got != want {
			t.Errorf("%v covers %v: %v, want %v", here, there, got, want)
		}
	})
}
