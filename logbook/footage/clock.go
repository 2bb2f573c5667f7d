package footage

import (
	"cmp"
	"math"
	"slices"
)

// Bounds of what the times of a body may be worth, in s.
const (
	firstSpread = 45
	leastSpread = 5
	mostSpread  = 90
)

// A job is one roll with the recordings that are its own.
type job struct {
	*roll
	recs []*recorded // in order
	band
	alignment
}

// jobOf puts the recordings of a roll into one order.
func jobOf(r *roll) *job {
	j := &job{roll: r}
	slices.SortStableFunc(r.reels, func(a, b *reel) int {
		if x, y := a.of[0].number, b.of[0].number; x >= 0 && y >= 0 {
			return cmp.Or(cmp.Compare(x, y), cmp.Compare(a.folder, b.folder))
		}
		return cmp.Or(cmp.Compare(a.of[0].at, b.of[0].at), cmp.Compare(a.folder, b.folder))
	})
	timed := 0
	for _, reel := range r.reels {
		j.recs = append(j.recs, reel.of...)
	}
	for _, rec := range j.recs {
		if !math.IsNaN(rec.at) {
			timed++
		}
	}
	j.band = bandOf(j.rows, j.recs)
	j.clock = clock{timed: timed*5 >= len(j.recs)*4, spread: firstSpread}
	return j
}

// shiftsTried is how many recordings one after another may be missing in the log.
const shiftsTried = 4

// wellBegun is how many clips of a long card are likely to be counted rightly: later ones are so
// rarely that another clock would fit the middle.
const wellBegun = 40

// apart are the differences of times between rows and the recordings whose numbers are so much higher.
func (j *job) apart(by int) (all []float64) {
	numbers := make(map[int]*recorded, len(j.recs))
	for _, r := range j.recs {
		if r.number >= 0 {
			numbers[r.number] = r
		}
	}
	for _, row := range j.rows {
		if r := numbers[row.number+by]; row.number >= 0 && r != nil && !math.IsNaN(r.at) {
			all = append(all, j.withoutOffset().off(row, r))
		}
	}
	return all
}

// apartByOrder are the differences of times where no name counts: between rows and the recordings in
// their places, or so many further on.
func (j *job) apartByOrder(by int) (all []float64) {
	for i, row := range j.rows {
		if k := i + by; k >= 0 && k < len(j.recs) && !math.IsNaN(j.recs[k].at) {
			all = append(all, j.withoutOffset().off(row, j.recs[k]))
		}
	}
	return all
}

func (j *job) withoutOffset() clock {
	c := j.clock
	c.offset = 0
	return c
}

// try aligns with each clock that may be right and keeps the cheapest. Equal spacing would fit a
// shifted clock as well: then that of the body's other cards wins.
func (j *job) try(usual float64) {
	var tries []float64
	if !math.IsNaN(usual) {
		tries = append(tries, usual)
	}
	for by := -shiftsTried; by <= shiftsTried; by++ {
		if apart := j.apart(by); len(apart) > 0 {
			tries = append(tries, median(apart))
			if by == 0 && len(apart) > 2*wellBegun {
				tries = append(tries, median(apart[:wellBegun]))
			}
		}
	}
	for by, counted := -shiftsTried, len(tries) > 0; by <= shiftsTried && !counted; by++ {
		if apart := j.apartByOrder(by); len(apart) > 0 {
			tries = append(tries, median(apart))
		}
	}
	best := math.Inf(1)
	kept, found := j.clock, false
	for _, offset := range tries {
		c := j.clock
		c.offset = offset
		a := j.align(c)
		if !math.IsNaN(usual) {
			a.cost += min(math.Abs(offset-usual)/c.spread, 8)
		}
		if a.cost < best {
			best, kept, j.alignment, found = a.cost, c, a, true
		}
	}
	if j.clock = kept; !found {
		j.clock.timed = false
		j.alignment = j.align(j.clock)
	}
}

// settle estimates the clock anew from what was put together, and aligns once more.
func (j *job) settle() {
	var off []float64
	for i, at := range j.of {
		if at >= 0 && !math.IsNaN(j.recs[at].at) {
			off = append(off, j.clock.off(j.rows[i], j.recs[at]))
		}
	}
	if len(off) > 0 {
		j.clock.offset += median(off)
	}
	j.alignment = j.align(j.clock)
}

// usable reports whether the times of the files follow those of the log: those of a copy that did
// not keep them say when it was copied.
func (j *job) usable() bool {
	inside, all := 0, 0
	for i, at := range j.of {
		if at >= 0 && !math.IsNaN(j.recs[at].at) {
			if all++; j.clock.misfit(j.rows[i], j.recs[at]) < 4.5 {
				inside++
			}
		}
	}
	return all > 0 && inside*10 >= all*6
}

// clocks aligns the jobs of one body: first with a wide spread, then with the one found.
func clocks(jobs []*job) {
	var usual []float64
	for _, j := range jobs {
		if apart := j.apart(0); j.clock.timed && len(apart) > 0 {
			usual = append(usual, median(apart))
		}
	}
	for _, j := range jobs {
		j.begin(median(usual))
	}
	perByte, spread := worth(jobs)
	usual = nil
	for _, j := range jobs {
		if j.clock.timed {
			j.clock.perByte, j.clock.spread = perByte, spread
			usual = append(usual, median(j.apart(0)))
		}
	}
	for _, j := range jobs {
		if !j.clock.timed {
			continue
		}
		j.try(median(usual))
		j.settle()
		if !j.usable() {
			j.clock.timed = false
			j.alignment = j.align(j.clock)
		}
	}
}

func (j *job) begin(usual float64) {
	if j.clock.timed {
		j.try(usual)
		return
	}
	j.alignment = j.align(j.clock)
}

// worth is how long a byte takes to record, 0 where sizes say nothing of it, and how far times
// spread beyond that.
func worth(jobs []*job) (perByte, spread float64) {
	var off, size []float64
	grain := int64(0)
	for _, j := range jobs {
		if !j.clock.timed {
			continue
		}
		c := j.clock
		c.perByte = 0
		from := len(off)
		for i, at := range j.of {
			if at >= 0 && !math.IsNaN(j.recs[at].at) && j.how(i) == equally {
				off, size = append(off, c.off(j.rows[i], j.recs[at])), append(size, float64(max(j.recs[at].Size, 0)))
				grain = max(grain, j.recs[at].At.grain)
			}
		}
		middle := median(off[from:])
		for i := from; i < len(off); i++ {
			off[i] -= middle
		}
	}
	plain := spreadOf(off)
	slope := slopeOf(size, off)
	rest := make([]float64, len(off))
	for i := range off {
		rest[i] = off[i] - slope*size[i]
	}
	if fitted := spreadOf(rest); slope > 0 && fitted < 0.7*plain {
		perByte, plain = slope, fitted
	}
	if math.IsNaN(plain) {
		plain = firstSpread
	}
	return perByte, max(min(plain, mostSpread), leastSpread, float64(grain)/2000)
}

// spreadOf is the standard deviation that half of the values speak for.
func spreadOf(all []float64) float64 {
	middle := median(all)
	off := make([]float64, len(all))
	for i, v := range all {
		off[i] = math.Abs(v - middle)
	}
	return 1.4826 * median(off)
}

// slopeOf is the median of the slopes between pairs (Theil and Sen), of some 500.
func slopeOf(x, y []float64) float64 {
	var slopes []float64
	half := len(x) / 2
	step := max(1, half/500)
	for i := 0; i+half < len(x); i += step {
		if d := x[i+half] - x[i]; d != 0 {
			slopes = append(slopes, (y[i+half]-y[i])/d)
		}
	}
	if len(slopes) < 8 {
		return 0
	}
	return median(slopes)
}
