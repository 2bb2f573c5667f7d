package picture

import (
	"slices"
	"strings"
	"testing"
	"time"
)

func TestTicksAreRoundAndInside(t *testing.T) {
	for _, c := range []struct {
		s    span
		most int
		want []float64
	}{
		{span{127, 198}, 5, []float64{140, 160, 180}},
		{span{165, 192}, 5, []float64{170, 180, 190}},
		{span{-0.0012, 0.0081}, 3, []float64{0, 0.005}},
		{span{0, 700}, 2, []float64{0, 500}},
		{span{0.19, 0.27}, 5, []float64{0.2, 0.22, 0.24, 0.26}},
	} {
		got, step := c.s.ticks(c.most)
		same := slices.EqualFunc(got, c.want, func(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 })
		if !same || len(got) > c.most+1 {
			t.Errorf("%v, at most %d: got %v in steps of %v, want %v", c.s, c.most, got, step, c.want)
		}
	}
	for step, want := range map[float64]int{50: 0, 2: 0, 0.5: 1, 0.02: 2, 0.005: 3, 0.001: 3} {
		if got := decimals(step); got != want {
			t.Errorf("a step of %v has %d decimals, want %d", step, got, want)
		}
	}
}

// TestTimesAreFullHoursOfTheZone: half an hour off UTC the ticks follow the clock on
// the wall.
func TestTimesAreFullHoursOfTheZone(t *testing.T) {
	zone := time.FixedZone("half", 5*3600+1800)
	from := time.Date(2031, 3, 4, 9, 10, 0, 0, zone)
	for _, c := range []struct {
		long time.Duration
		want string
	}{
		{4 * time.Hour, "10:00 11:00 12:00 13:00"},
		{25 * time.Minute, "09:10 09:15 09:20 09:25 09:30 09:35"},
		{60 * time.Hour, "5 Mar 6 Mar"},
		{5 * 365 * 24 * time.Hour, "Mar 2032 Mar 2033 Mar 2034 Mar 2035 Mar 2036"},
	} {
		at, layout := timeTicks(from, from.Add(c.long), 5)
		var words []string
		for _, tick := range at {
			words = append(words, tick.Format(layout))
		}
		if got := strings.Join(words, " "); got != c.want {
			t.Errorf("%v: got %q, want %q", c.long, got, c.want)
		}
	}
}
