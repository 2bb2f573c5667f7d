package footage

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"
)

// A reel is the recordings of one folder whose names begin alike: a card, or a part of one.
type reel struct {
	folder  string
	head    string
	of      []*recorded
	roll    *roll
	problem string // why nobody knows which card it is
}

// recorded is a recording with what its name counts.
type recorded struct {
	*Recording
	spelt   string  // the name in capitals
	number  int     // -1: none is known
	at      float64 // s, by the clock of the camera; NaN: not said
	renamed bool    // it is named for another card than the log has
}

// reelsOf sorts recordings into reels.
func reelsOf(all []*Recording, n *names) (reels []*reel) {
	type key struct{ folder, head string }
	found := map[key]*reel{}
	for _, r := range all {
		head, number, width := n.cut(r.Name)
		if width == 0 {
			number = -1
		}
		k := key{r.Folder, head}
		if width == 0 {
			k.head = "\x00"
		}
		if found[k] == nil {
			found[k] = &reel{folder: r.Folder, head: k.head}
			reels = append(reels, found[k])
		}
		at := math.NaN()
		if r.At.said() {
			at = float64(r.At.at) / 1000
		}
		found[k].of = append(found[k].of, &recorded{Recording: r, spelt: upper(r.Name), number: number, at: at})
	}
	for _, r := range reels {
		slices.SortStableFunc(r.of, func(a, b *recorded) int {
			return cmp.Or(cmp.Compare(a.number, b.number), cmp.Compare(a.at, b.at), cmp.Compare(a.Name, b.Name))
		})
	}
	return reels
}

// bid is how well a reel goes with a roll; the lowest cost is the best.
type bid struct {
	roll  *roll
	cost  float64
	clock float64 // s
	timed bool
}

// assign finds the roll of each reel: by names that both have, by the words in the path, and, where
// names come again on other cards, by the times, whose differences must stand still. It returns how far
// the clock of each body is off, in s.
func assign(reels []*reel, n *names) (offset map[[16]byte]float64) {
	bodies := map[[16]byte][]float64{}
	for pass := range 2 {
		offset = map[[16]byte]float64{}
		for body, all := range bodies {
			offset[body] = median(all)
		}
		clear(bodies)
		for _, r := range reels {
			r.roll, r.problem = nil, ""
			bids := r.bids(n, offset)
			switch {
			case len(bids) == 0:
				r.problem = noSuchName
			case len(bids) > 1 && bids[1].cost-bids[0].cost < 0.5:
				r.problem = "several cards in the log have these names (" + bids[0].roll.label() + ", " + bids[1].roll.label() +
					"), and neither the folder nor times tell which: name the folder like the card, or list it with times"
			default:
				r.roll = bids[0].roll
				if bids[0].timed {
					bodies[r.roll.first().Body] = append(bodies[r.roll.first().Body], bids[0].clock)
				}
			}
		}
		if pass == 1 {
			for _, r := range reels {
				if r.roll != nil {
					r.roll.reels = append(r.roll.reels, r)
				}
			}
		}
	}
	return offset
}

const noSuchName = "no clip in the log is named like these"

// What a card of other names must have in common with clips that have no file.
const (
	fewest   = 3  // recordings
	together = 60 // s
)

// renamed gives a reel whose names the log does not have to the roll of which clips without a file lie at
// its times: a card that was changed in the camera and not in the log, or named otherwise.
func renamed(reels []*reel, rolls []*roll, offset map[[16]byte]float64) {
	for _, r := range reels {
		if r.roll != nil || r.problem != noSuchName || len(r.of) < fewest {
			continue
		}
		var found []*roll
		for _, to := range rolls {
			if usual, known := offset[to.first().Body]; known && r.liesAt(to.free(), usual) {
				found = append(found, to)
			}
		}
		if len(found) == 1 {
			r.roll, r.problem = found[0], ""
			found[0].reels = append(found[0].reels, r)
			for _, rec := range r.of {
				rec.renamed = true
			}
		}
	}
}

// free is when the clips began of which no recording has the number, in s.
func (r *roll) free() (at []float64) {
	taken := map[int]bool{}
	for _, reel := range r.reels {
		for _, rec := range reel.of {
			taken[rec.number] = rec.number >= 0
		}
	}
	for _, row := range r.rows {
		if row.number < 0 || !taken[row.number] {
			at = append(at, float64(row.At)/1000)
		}
	}
	return at
}

// liesAt reports whether most recordings of a reel are at moments, one each.
func (r *reel) liesAt(moments []float64, offset float64) bool {
	var own []float64
	for _, rec := range r.of {
		if !math.IsNaN(rec.at) {
			own = append(own, rec.at-offset)
		}
	}
	slices.Sort(own)
	met, next := 0, 0
	for _, at := range own {
		for next < len(moments) && moments[next] < at-together {
			next++
		}
		if next < len(moments) && moments[next] <= at+together {
			met, next = met+1, next+1
		}
	}
	return met >= fewest && met*10 >= len(r.of)*7
}

func (r *roll) label() string {
	first := r.first()
	return strings.TrimSpace("camera " + first.Camera + " card " + cmp.Or(first.Card, "-") + " day " + first.Day)
}

// bids are the rolls that a reel may be, the best first.
func (r *reel) bids(n *names, offset map[[16]byte]float64) (all []bid) {
	words := wordsOf(r.folder)
	for _, to := range n.heads[r.head] {
		if b, ok := r.bid(to, words, offset); ok {
			all = append(all, b)
		}
	}
	slices.SortStableFunc(all, func(a, b bid) int { return cmp.Compare(a.cost, b.cost) })
	return all
}

// dayLong is how far a clock may be wrong: another zone, or a zone the wrong way round.
const dayLong = 36 * 3600

func (r *reel) bid(to *roll, words map[string]bool, offset map[[16]byte]float64) (b bid, ok bool) {
	numbers := to.begun()
	both, apart := 0, []float64{}
	for _, rec := range r.of {
		at, found := numbers[rec.number]
		if !found {
			continue
		}
		if both++; !math.IsNaN(rec.at) {
			apart = append(apart, rec.at-at)
		}
	}
	if both == 0 {
		return b, false
	}
	b.roll = to
	b.cost = 10*(1-float64(both)/float64(min(len(r.of), len(to.rows)))) - 3*to.told(words)
	if len(apart) == 0 {
		b.cost += 5 * math.Abs(float64(len(r.of)-len(to.rows))) / float64(len(to.rows))
		return b, true
	}
	b.timed, b.clock = true, median(apart)
	for i := range apart {
		apart[i] = math.Abs(apart[i] - b.clock)
	}
	b.cost += min(median(apart)/30, 20)
	if usual, known := offset[to.first().Body]; known {
		b.cost += min(math.Abs(b.clock-usual)/600, 20)
	} else if math.Abs(b.clock) > dayLong {
		b.cost += 20
	}
	return b, true
}

// wordsOf are the words in a path, each in capitals.
func wordsOf(path string) map[string]bool {
	words := map[string]bool{}
	for _, part := range strings.Split(upper(path), "/") {
		words[part] = true
		stem, _ := stemOf(part)
		words[upper(stem)] = true
		for _, word := range strings.FieldsFunc(part, func(r rune) bool { return r == '_' || r == '-' || r == ' ' || r == '.' }) {
			words[word] = true
		}
	}
	return words
}

// told says how much of a roll stands in the words of a path: its card, its day, its camera.
func (r *roll) told(words map[string]bool) (share float64) {
	first := r.first()
	any := func(list ...string) bool {
		return slices.ContainsFunc(list, func(w string) bool { return words[upper(w)] })
	}
	card := first.Card
	if card != "" && any(card, "card"+card, "mag"+card, "roll"+card, "reel"+card) {
		share += 2
	}
	day, date := first.Day, first.Date
	if n, err := strconv.Atoi(day); err == nil && any("day"+day, "d"+day, padDay("day", n), padDay("d", n), padDay("sd", n)) ||
		len(date) == 10 && any(date, strings.ReplaceAll(date, "-", ""), strings.ReplaceAll(date, "-", "")[2:]) {
		share++
	}
	if c := first.Camera; c != "" && any(c, c+"cam", "cam"+c, "camera"+c) {
		share++
	}
	return share
}

func padDay(word string, n int) string {
	if n < 10 {
		return word + "0" + strconv.Itoa(n)
	}
	return word + strconv.Itoa(n)
}

func median(all []float64) float64 {
	if len(all) == 0 {
		return math.NaN()
	}
	sorted := slices.Clone(all)
	slices.Sort(sorted)
	return sorted[len(sorted)/2]
}
