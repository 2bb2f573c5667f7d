package picture

import (
	"math"
	"time"
)

// span is a range of values.
type span struct{ low, high float64 }

var nothing = span{math.Inf(1), math.Inf(-1)}

func (s *span) add(v float64) { s.low, s.high = math.Min(s.low, v), math.Max(s.high, v) }

func (s span) size() float64 { return s.high - s.low }

// widened is at least so wide, with room on both sides.
func (s span) widened(least, room float64) span {
	if s.size() < least {
		middle := (s.low + s.high) / 2
		s = span{middle - least/2, middle + least/2}
	}
	free := s.size() * room
	return span{s.low - free, s.high + free}
}

func (s span) has(v float64) bool { return v >= s.low && v <= s.high }

// ticks are the multiples of 1, 2 or 5 times a power of ten inside a range: at most
// so many, and the step.
func (s span) ticks(most int) (at []float64, step float64) {
	step = math.Pow(10, math.Floor(math.Log10(s.size()))-1)
	for i := 0; s.size()/step > float64(most); i++ {
		step *= [...]float64{2, 2.5, 2}[i%3]
	}
	for i := math.Ceil(s.low / step); i*step <= s.high; i++ {
		at = append(at, i*step+0) // never −0
	}
	return at, step
}

// decimals is how many a step needs.
func decimals(step float64) int {
	return max(0, -int(math.Floor(math.Log10(step)+1e-9)))
}

// timeStep is a distance of ticks in time.
type timeStep struct {
	every  time.Duration
	layout string
}

const hours24 = 24 * time.Hour

var timeSteps = [...]timeStep{
	{time.Minute, "15:04"}, {5 * time.Minute, "15:04"}, {10 * time.Minute, "15:04"}, {15 * time.Minute, "15:04"}, {30 * time.Minute, "15:04"},
	{time.Hour, "15:04"}, {2 * time.Hour, "15:04"}, {3 * time.Hour, "15:04"}, {6 * time.Hour, "15:04"},
	{hours24, "2 Jan"}, {2 * hours24, "2 Jan"}, {7 * hours24, "2 Jan"},
	{30 * hours24, "2 Jan 06"}, {90 * hours24, "2 Jan 06"}, {365 * hours24, "Jan 2006"},
	{3650 * hours24, "Jan 2006"}, {36500 * hours24, "Jan 2006"},
}

// timeTicks divides a range of time so that at most so many labels stand in it; they
// count from midnight of the first day in the zone.
func timeTicks(from, to time.Time, most int) (at []time.Time, layout string) {
	step := timeSteps[len(timeSteps)-1]
	for _, s := range timeSteps {
		if to.Sub(from) <= s.every*time.Duration(most) {
			step = s
			break
		}
	}
	year, month, day := from.Date()
	t := time.Date(year, month, day, 0, 0, 0, 0, from.Location())
	for i := 0; !t.After(to) && i < 100000; i++ {
		if !t.Before(from) {
			at = append(at, t)
		}
		t = t.Add(step.every)
	}
	return at, step.layout
}
