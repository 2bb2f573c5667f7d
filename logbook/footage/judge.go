package footage

import (
	"fmt"
	"math"
	"slices"
)

// whole reports whether a card without times has as many recordings as clips, each under its name.
func (j *job) whole() bool {
	if len(j.left) > 0 {
		return false
	}
	for i, at := range j.of {
		if at < 0 || j.how(i) != equally {
			return false
		}
	}
	return true
}

// shifts is how much higher the number of each row's recording is than that of its name; 0 where
// names are equal, or one of them is a slip.
func (j *job) shifts() []int {
	by, known := make([]int, len(j.rows)), make([]bool, len(j.rows))
	for i, at := range j.of {
		if at < 0 {
			continue
		}
		row, rec := j.rows[i], j.recs[at]
		if equal := j.how(i) == equally; equal || row.number >= 0 && rec.number >= 0 {
			known[i] = true
			if !equal {
				by[i] = rec.number - row.number
			}
		}
	}
	beside := func(i, step int) (int, bool) {
		for i += step; i >= 0 && i < len(by); i += step {
			if known[i] {
				return by[i], true
			}
		}
		return 0, false
	}
	out := slices.Clone(by)
	for i := range by {
		before, ok := beside(i, -1)
		after, too := beside(i, 1)
		if by[i] != 0 && (!ok || before == 0) && (!too || after == 0) && (ok || too) && !j.beside(i) {
			out[i] = 0 // alone: typed wrongly, not counted wrongly
		}
	}
	return out
}

// beside reports whether a recording without a row comes just before that of a row: then a count
// that is off has its reason.
func (j *job) beside(i int) bool {
	return j.left[j.of[i]-1] || i > 0 && j.of[i-1] < 0
}

// judge says what a row and its recording are to each other.
func (j *job) judge(i int, whole bool, by int) (result, words string) {
	row, rec := j.rows[i], j.recs[j.of[i]]
	how := j.how(i)
	off, timed := j.clock.off(row, rec), j.clock.timed && !math.IsNaN(rec.at)
	told := "there are no times to tell more"
	apart := timed && j.clock.tooFar(off)
	switch {
	case apart:
		told = "the times are " + seconds(off) + " apart"
	case timed:
		told = "the times agree within " + seconds(off)
	}
	switch {
	case by != 0:
		return Shifted, fmt.Sprintf("names shift by %+d here: %s", by, told)
	case j.otherCard(i):
		return Shifted, "the file is named for another card: " + told
	case how == nearly:
		return NearMiss, "one slip in the name: " + told
	case how == unnamed:
		return Likely, "the log has no name; by the order on the card: " + told
	case how == otherwise:
		return Likely, "the names have nothing in common; by the order on the card: " + told
	case fits(rec.Name) != nil:
		return Likely, "name and card agree, but this name cannot stand in the log: " + Shown(rec.Name)
	case row.Open:
		return Likely, "name and card agree, but two people wrote this clip apart: settle that first"
	case row.Card != j.card():
		return Likely, "name and order agree; the card in the log is another: " + Shown(row.Card)
	case apart:
		return Likely, "name and card agree, but " + told
	case timed && j.rival(i):
		return Likely, "name and card agree, but a recording or clip beside it is as near in time"
	case timed:
		return Sure, "name and card agree, " + told
	case row.ReadOff:
		return Sure, "name, card and order agree, and the name was read off the camera; no times"
	case row.Listed:
		return Sure, "name, card and order agree, and the name is from an earlier listing; no times"
	case whole:
		return Likely, "name, card, order and count agree, but the name was counted: " +
			"one clip too many and one too few would look the same; no times"
	}
	return Likely, "the name agrees, but the card has other recordings than the log, and no times tell where"
}

// tooFar reports whether times are further apart than they spread.
func (c clock) tooFar(off float64) bool { return math.Abs(off) > max(3.5*c.spread, 15) }

// card is that of most rows.
func (r *roll) card() string {
	count, best := map[string]int{}, r.first().Card
	for _, row := range r.rows {
		if count[row.Card]++; count[row.Card] > count[best] {
			best = row.Card
		}
	}
	return best
}

// rival reports whether something without a partner beside a pair fits one of the two about as well.
func (j *job) rival(i int) bool {
	const clearly = 4
	row, at := j.rows[i], j.of[i]
	fits := j.clock.misfit(row, j.recs[at])
	for _, other := range []int{at - 1, at + 1} {
		if j.left[other] && j.clock.misfit(row, j.recs[other])-fits < clearly {
			return true
		}
	}
	for _, other := range []int{i - 1, i + 1} {
		if other >= 0 && other < len(j.rows) && j.of[other] < 0 && j.clock.misfit(j.rows[other], j.recs[at])-fits < clearly {
			return true
		}
	}
	return false
}

func seconds(off float64) string {
	off = math.Abs(off)
	if off < 120 {
		return fmt.Sprintf("%.0f s", off)
	}
	return fmt.Sprintf("%.0f min", off/60)
}
