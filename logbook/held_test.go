package logbook

import (
	"math/rand/v2"
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

// drawDots draws many dots of few lines: close together, far apart, in rising or falling
// order or in none, so that pieces are cut and joined.
func drawDots(t *rapid.T, label string) []Dot {
	chance := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, label), 1))
	step := rapid.SampledFrom([]uint64{1, 2, 3, 1 << 40}).Draw(t, label+" step")
	dots := make([]Dot, rapid.SampledFrom([]int{0, 1, 30, 3000}).Draw(t, label+" count"))
	lines := rapid.IntRange(1, 4).Draw(t, label+" lines")
	for i := range dots {
		dots[i] = Dot{Line{byte(i % lines), 7: 1}, uint64(i/lines)*step + 1 + chance.Uint64N(2)}
	}
	switch rapid.IntRange(0, 2).Draw(t, label+" order") {
	case 0:
		slices.Reverse(dots)
	case 1:
		chance.Shuffle(len(dots), func(i, j int) { dots[i], dots[j] = dots[j], dots[i] })
	}
	return dots
}

func plainRanges(sets map[Line]map[uint64]bool) Ranges {
	r := Ranges{}
	for line, set := range sets {
		if len(set) > 0 {
			r[line] = plainSpans(set)
		}
	}
	return r
}

// heldAndPlain adds dots to a set and to a plain one, and compares what each says.
func heldAndPlain(t *rapid.T, dots []Dot) (*Held, map[Line]map[uint64]bool) {
	h, sets := &Held{}, map[Line]map[uint64]bool{}
	for _, d := range dots {
		if sets[d.Line] == nil {
			sets[d.Line] = map[uint64]bool{}
		}
		if got, want := h.Add(d), !sets[d.Line][d.N]; got != want {
			t.Fatalf("adding %s says new: %v, want %v", d, got, want)
		}
		sets[d.Line][d.N] = true
	}
	return h, sets
}

func TestHeldHoldsWhatASetHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		dots := drawDots(t, "dots")
		h, sets := heldAndPlain(t, dots)
		if got, want := h.Ranges(), plainRanges(sets); !reflect.DeepEqual(got, want) {
			t.Fatalf("got %v, want %v", got, want)
		}
		if again := HeldOf(h.Ranges()).Ranges(); !reflect.DeepEqual(again, h.Ranges()) {
			t.Fatalf("the set of its ranges is %v, want %v", again, h.Ranges())
		}
		for _, d := range append(dots, Dot{Line{0, 7: 1}, 1}, Dot{Line{9}, 1}, Dot{}) {
			for _, n := range []uint64{d.N - 1, d.N, d.N + 1} {
				if got, want := h.Has(Dot{d.Line, n}), sets[d.Line][n]; got != want {
					t.Fatalf("%s: has is %v, want %v", Dot{d.Line, n}, got, want)
				}
			}
			if h.Has(Dot{Line{d.Line[0]}, d.N}) {
				t.Fatalf("a line that begins alike is held")
			}
		}
	})
}

func TestWhatASetLacks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		here, own := heldAndPlain(t, drawDots(t, "here"))
		there, others := heldAndPlain(t, drawDots(t, "there"))
		behind := Dot{Line{rapid.ByteRange(0, 4).Draw(t, "line"), 7: 1}, rapid.Uint64Range(0, 1500).Draw(t, "n")}
		if rapid.Bool().Draw(t, "all") {
			behind = Dot{}
		}
		want := map[Line]map[uint64]bool{}
		for line, set := range others {
			want[line] = map[uint64]bool{}
			for n := range set {
				if behind.Less(Dot{line, n}) && !own[line][n] {
					want[line][n] = true
				}
			}
		}
		got := &Held{}
		last := behind
		for line, s := range here.Lacks(there, behind) {
			if !last.Less(Dot{line, s.From}) || s.To < s.From {
				t.Fatalf("%s %v follows %s", line, s, last)
			}
			last = Dot{line, s.To}
			got.AddSpan(line, s)
		}
		if got := got.Ranges(); !reflect.DeepEqual(got, plainRanges(want)) {
			t.Fatalf("%v lacks %v of %v, want %v", here.Ranges(), got, there.Ranges(), plainRanges(want))
		}
		if got, want := here.Covers(there), behind == (Dot{}) && len(plainRanges(want)) == 0; behind == (Dot{}) && got != want {
			t.Fatalf("covers is %v, want %v", got, want)
		}
		sum := here.Clone()
		for line, s := range there.Spans(Dot{}) {
			sum.AddSpan(line, s)
		}
		for _, set := range []*Held{here, there} {
			if !sum.Covers(set) {
				t.Fatalf("%v with %v is %v", here.Ranges(), there.Ranges(), sum.Ranges())
			}
		}
		if !reflect.DeepEqual(here.Ranges(), plainRanges(own)) {
			t.Fatal("adding to a clone changed the set")
		}
	})
}

func TestLinesOfRangesRise(t *testing.T) {
	r := Ranges{{2}: nil, {1, 7: 1}: nil, {0xff}: nil, {1}: nil}
	if got, want := r.Lines(), []Line{{1}, {1, 7: 1}, {2}, {0xff}}; !reflect.DeepEqual(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestHeldForgetsWhatIsDropped(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h, want := &Held{}, map[Dot]bool{}
		for _, step := range rapid.SliceOfN(rapid.IntRange(1, 90), 0, 80).Draw(t, "steps") {
			d := Dot{Line: Line{byte(step % 2)}, N: uint64(step/4) + 1}
			if step%4 < 3 {
				h.Add(d)
				want[d] = true
			} else {
				h.Drop(d)
				delete(want, d)
			}
		}
		got := h.Ranges()
		for n := uint64(1); n <= 24; n++ {
			for line := range byte(2) {
				d := Dot{Line: Line{line}, N: n}
				if h.Has(d) != want[d] || got.Has(d) != want[d] {
					t.Fatalf("%s: held %v, in the ranges %v, want %v", d, h.Has(d), got.Has(d), want[d])
				}
			}
		}
	})
}
