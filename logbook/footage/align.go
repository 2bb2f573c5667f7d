package footage

import (
	"math"
	"slices"
	"sort"
)

// What it costs to leave something alone, and to put a row and a recording together. A unit is the
// logarithm of a likelihood: by count, one recording in 200 is not logged, and one row in 1000
// has no file; a name that was counted wrongly is followed by others, and so costs little.
const (
	costNoRow     = 4
	costNoFile    = 6
	costNear      = 1
	costUnnamed   = 0.5
	costOtherwise = 2
	mostOff       = 12 // however far the times are apart
	mostOffNamed  = 8  // and the names are equal: a row may be entered late
	costUntimed   = 11 // of names that differ, where no times tell more
)

// A clock says how the times of files lie to those of the log.
type clock struct {
	timed   bool
	offset  float64 // s: of the camera, against the log
	perByte float64 // s: a file is written at its end, and the longer one is the larger one
	spread  float64 // s
}

// off is how far a recording is from where its row would have it, in s.
func (c clock) off(row *Row, r *recorded) float64 {
	return r.at - c.perByte*float64(max(r.Size, 0)) - float64(row.At)/1000 - c.offset
}

// misfit is off as a cost; 0 where no times are known.
func (c clock) misfit(row *Row, r *recorded) float64 {
	if !c.timed || math.IsNaN(r.at) {
		return 0
	}
	off := c.off(row, r) / c.spread
	return off * off / 2
}

func (c clock) cost(row *Row, r *recorded, how named) float64 {
	if !c.timed || math.IsNaN(r.at) {
		return [...]float64{otherwise: costUntimed, nearly: costNear, equally: 0, unnamed: costUnnamed}[how]
	}
	misfit := c.misfit(row, r)
	switch how {
	case equally:
		return min(misfit, mostOffNamed)
	case nearly:
		return costNear + min(misfit, mostOff)
	case unnamed:
		return costUnnamed + min(misfit, mostOff)
	}
	return costOtherwise + min(misfit, mostOff)
}

// An alignment puts rows and recordings in order beside each other.
type alignment struct {
	of   []int        // by row: its recording; -1: none
	left map[int]bool // recordings without a row
	cost float64
}

// A band is where partners are looked for: for each row some recordings, one after another. Of a
// card of usual length it is all of them.
type band struct {
	from  []int // by row
	wide  int
	names []named // by row and place in the band
}

// Beyond mostCells a band is looked at, no narrower than leastWide.
const (
	mostCells = 1_000_000
	leastWide = 400
)

// bandOf lays a band along the numbers in the names.
func bandOf(rows []*Row, recs []*recorded) band {
	m, n := len(rows), len(recs)
	b := band{from: make([]int, m+1), wide: n}
	if m*n > mostCells {
		b.wide = min(n, max(leastWide, 4*mostCells/m))
	}
	numbered := recs[sort.Search(n, func(k int) bool { return recs[k].number >= 0 }):]
	for i := range b.from {
		at := b.from[max(0, i-1)]
		if i < m {
			if number := middleNumber(rows, i); number >= 0 {
				at = n - len(numbered) + sort.Search(len(numbered), func(k int) bool { return numbered[k].number >= number }) - b.wide/2
			}
		}
		at = max(at, b.from[max(0, i-1)], n-b.wide*(m-i+1))
		b.from[i] = min(at, n-b.wide)
		if i > 0 {
			b.from[i] = min(b.from[i], b.from[i-1]+b.wide)
		} else {
			b.from[i] = 0
		}
	}
	b.names = make([]named, 0, (m+1)*b.wide)
	for i, row := range rows {
		name := upper(row.Name)
		for _, rec := range recs[b.from[i+1] : b.from[i+1]+b.wide] {
			b.names = append(b.names, compareNames(name, rec.spelt))
		}
	}
	return b
}

// middleNumber is the number of a row by itself and its neighbours: a slip moves no band.
func middleNumber(rows []*Row, i int) int {
	var near []int
	for _, row := range rows[max(0, i-2):min(len(rows), i+3)] {
		if row.number >= 0 {
			near = append(near, row.number)
		}
	}
	if len(near) == 0 {
		return -1
	}
	slices.Sort(near)
	return near[len(near)/2]
}

// how says how the name of a row lies to that of its recording.
func (j *job) how(i int) named { return j.names[i*j.wide+j.of[i]-j.from[i+1]] }

// align finds the cheapest order (Needleman and Wunsch, 1970) within the band. Column k stands for k
// recordings passed; row i looks at columns from[i] to from[i]+wide.
func (j *job) align(c clock) (a alignment) {
	m, n, wide := len(j.rows), len(j.recs), j.wide
	const together, noFile, noRow = 0, 1, 2
	steps := make([]byte, (m+1)*(wide+1))
	above, now := make([]float64, n+1), make([]float64, n+1)
	for k := range now {
		above[k], now[k] = math.Inf(1), math.Inf(1)
		if k <= wide {
			above[k], steps[k] = float64(k)*costNoRow, noRow
		}
	}
	for i := 1; i <= m; i++ {
		row, from := j.rows[i-1], j.from[i]
		left := math.Inf(1)
		for k := from; k <= from+wide; k++ {
			best, step := above[k]+costNoFile, byte(noFile)
			if left+costNoRow < best {
				best, step = left+costNoRow, noRow
			}
			if k > from && above[k-1] < best {
				if both := above[k-1] + c.cost(row, j.recs[k-1], j.names[(i-1)*wide+k-1-from]); both <= best {
					best, step = both, together
				}
			}
			now[k], steps[i*(wide+1)+k-from], left = best, step, best
		}
		for k := j.from[i-1]; k <= j.from[i-1]+wide; k++ {
			above[k] = math.Inf(1)
		}
		above, now = now, above
	}
	a.of, a.left, a.cost = make([]int, m), map[int]bool{}, above[n]
	for i, k := m, n; i > 0 || k > 0; {
		switch steps[i*(wide+1)+k-j.from[i]] {
		case together:
			i, k = i-1, k-1
			a.of[i] = k
		case noFile:
			i--
			a.of[i] = -1
		default:
			k--
			a.left[k] = true
		}
	}
	return a
}
