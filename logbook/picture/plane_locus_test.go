package picture

import (
	"testing"
)

func TestLinesEndAtTheFrame(t *testing.T) {
	frame := box{0, 0, 100, 50}
	for _, c := range []struct {
		from, to, first, last spot
		ok                    bool
	}{
		{spot{-10, 25}, spot{110, 25}, spot{0, 25}, spot{100, 25}, true},
		{spot{10, 10}, spot{20, 20}, spot{10, 10}, spot{20, 20}, true},
		{spot{50, -50}, spot{50, 25}, spot{50, 0}, spot{50, 25}, true},
		{spot{-10, 60}, spot{110, 60}, spot{}, spot{}, false},
		{spot{-30, 10}, spot{-10, 40}, spot{}, spot{}, false},
	} {
		first, last, ok := clip(frame, c.from, c.to)
		if ok != c.ok || ok && (first != c.first || last != c.last) {
			t.Errorf("%v to %v: got %v %v %v, want %v %v %v", c.from, c.to, first, last, ok, c.first, c.last, c.ok)
		}
	}
}
