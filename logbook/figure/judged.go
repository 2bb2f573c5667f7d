package figure

import (
	"fmt"
	"math"
)

// A Verdict is what limits say of a difference.
type Verdict int

const (
	Inside   Verdict = iota
	Beyond           // whatever of the possible ones is true
	CantTell         // beyond in some of the possible cases, or beyond on both sides
)

// VerdictWords are the verdicts as they stand in answers.
var VerdictWords = map[Verdict]string{Inside: "inside", Beyond: "off", CantTell: "can't tell"}

// Judged is a difference of which only several possible values are known, because something
// that it rests on is not.
type Judged struct {
	Verdict Verdict
	// Least is of the possible ones the nearest to the limits: what is certain, at least.
	Least Difference
	// Words are of all of them: "25 mired warmer, Duv 0.0010 to 0.0043 greener".
	Words string
}

// Judge takes the verdict on each of the possible differences, which must be one at least. It
// is beyond only where each of them is, on one and the same side.
func (l Limits) Judge(possible []Difference) Judged {
	j := Judged{Verdict: Beyond, Least: possible[0], Words: RangeWords(possible)}
	some := false
	for _, d := range possible {
		if _, beyond := l.Exceeded(d); beyond {
			some = true
		} else {
			j.Verdict = CantTell
		}
		if l.TimesLimit(d) < l.TimesLimit(j.Least) {
			j.Least = d
		}
	}
	switch {
	case !some:
		j.Verdict = Inside
	case j.Verdict == Beyond && !l.oneSide(possible):
		j.Verdict = CantTell
	}
	if j.Verdict == Beyond {
		j.keepCertain(l, possible)
	}
	return j
}

// keepCertain leaves of the least what holds in all cases: a part that may lie inside says
// nothing, where the other part is beyond by itself.
func (j *Judged) keepCertain(l Limits, possible []Difference) {
	certain := Difference{Mired: j.Least.Mired, Duv: j.Least.Duv}
	for _, d := range possible {
		if d.Mired == nil || d.Duv == nil || certain.Mired == nil || certain.Duv == nil {
			return
		}
		certain.Mired, certain.Duv = nearer(certain.Mired, d.Mired), nearer(certain.Duv, d.Duv)
	}
	if _, beyond := l.Exceeded(certain); beyond {
		certain.Steps = j.Least.Steps
		certain.Words = certain.InWords()
		j.Least = certain
	}
}

// nearer is the one of two values that is nearer to 0, and 0 where they lie on two sides.
func nearer(a, b *float64) *float64 {
	if *a**b < 0 {
		return new(float64)
	}
	if math.Abs(*b) < math.Abs(*a) {
		return b
	}
	return a
}

// oneSide reports whether differences that are all beyond lie on one side: by mired or by
// Duv alone, or all in one direction, both counted in their limits.
func (l Limits) oneSide(possible []Difference) bool {
	warm, green := l.sides(possible[0])
	together := true
	for i, d := range possible {
		w, g := l.sides(d)
		if w.beyond*warm.beyond <= 0 {
			warm.beyond = 0
		}
		if g.beyond*green.beyond <= 0 {
			green.beyond = 0
		}
		for _, o := range possible[:i] {
			ow, og := l.sides(o)
			together = together && w.times*ow.times+g.times*og.times > 0
		}
	}
	return len(possible) == 1 || warm.beyond != 0 || green.beyond != 0 || together
}

// side is one part of a difference in units of its limit; beyond is the same where it is
// beyond that, else 0.
type side struct{ times, beyond float64 }

func sideOf(value *float64, limit float64) (s side) {
	if value == nil || *value == 0 {
		return s
	}
	if s.times = math.Copysign(math.Inf(1), *value); limit > 0 {
		s.times = *value / limit
	}
	if math.Abs(*value) > limit {
		s.beyond = s.times
	}
	return s
}

func (l Limits) sides(d Difference) (warm, green side) {
	limit := l.DuvGreen
	if d.Duv != nil && *d.Duv < 0 {
		limit = l.DuvMagenta
	}
	return sideOf(d.Mired, l.Mired), sideOf(d.Duv, limit)
}

// RangeWords writes several possible differences as one: its parts as ranges.
func RangeWords(possible []Difference) string {
	least, most := possible[0], possible[0]
	for _, d := range possible {
		if d.Mired == nil || d.Duv == nil || len(possible) == 1 {
			return d.InWords()
		}
		if *d.Mired < *least.Mired {
			least.Mired = d.Mired
		}
		if *d.Mired > *most.Mired {
			most.Mired = d.Mired
		}
		if *d.Duv < *least.Duv {
			least.Duv = d.Duv
		}
		if *d.Duv > *most.Duv {
			most.Duv = d.Duv
		}
	}
	if *least.Mired == *most.Mired && *least.Duv == *most.Duv {
		return least.InWords()
	}
	parts := ""
	for _, p := range [...]struct {
		from, to                        float64
		before, format, after, up, down string
	}{
		{*least.Mired, *most.Mired, "", "%g", " mired", "warmer", "cooler"},
		{*least.Duv, *most.Duv, "Duv ", "%.4f", "", "greener", "more magenta"},
	} {
		words := ""
		lo, hi := fmt.Sprintf(p.format, math.Abs(p.from)), fmt.Sprintf(p.format, math.Abs(p.to))
		switch {
		case p.from == 0 && p.to == 0:
			continue
		case p.from == p.to && p.to > 0:
			words = p.before + hi + p.after + " " + p.up
		case p.from == p.to:
			words = p.before + lo + p.after + " " + p.down
		case p.from >= 0:
			words = p.before + lo + " to " + hi + p.after + " " + p.up
		case p.to <= 0:
			words = p.before + hi + " to " + lo + p.after + " " + p.down
		default:
			words = p.before + lo + p.after + " " + p.down + " to " + hi + " " + p.up
		}
		if parts != "" {
			parts += ", "
		}
		parts += words
	}
	return parts
}
