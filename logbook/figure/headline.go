package figure

import (
	"fmt"
	"math"
	"strings"
)

// From how many times its limit a difference is slight no more, and from how many it is
// much: a choice of this program.
const (
	slightTimes = 1.5
	muchTimes   = 3
)

// Too says a difference that is beyond the limits in words of the set: "25 mired too warm",
// "slightly warm and green", "much too green". Mired are counted where they are beyond.
func (l Limits) Too(d Difference) string {
	return l.inFew(d, "too ", "warm", "cool", "green", "magenta")
}

// Than is Too as a comparison: "25 mired warmer", "slightly warmer and greener".
func (l Limits) Than(d Difference) string {
	return l.inFew(d, "", "warmer", "cooler", "greener", "more magenta")
}

func (l Limits) inFew(d Difference, too, warm, cool, green, magenta string) string {
	if d.Mired == nil || d.Duv == nil {
		return "far off in colour"
	}
	if *d.Mired < 0 {
		warm = cool
	}
	if *d.Duv < 0 {
		green = magenta
	}
	m, g := l.sides(d)
	sizeM, sizeG := math.Abs(m.times), math.Abs(g.times)
	if m.beyond == 0 && g.beyond == 0 { // only what both make together is beyond
		parts := []string{}
		if sizeM > 0 && 2*sizeM >= sizeG {
			parts = append(parts, warm)
		}
		if sizeG > 0 && 2*sizeG >= sizeM {
			parts = append(parts, green)
		}
		return l.degree(l.TimesLimit(d), too) + strings.Join(parts, " and ")
	}
	mired := fmt.Sprintf("%g mired %s%s", math.Abs(*d.Mired), too, warm)
	switch {
	case g.beyond == 0:
		return mired
	case m.beyond == 0:
		return l.degree(sizeG, too) + green
	case max(sizeM, sizeG) < slightTimes:
		return "slightly " + warm + " and " + green
	}
	return mired + " and " + strings.TrimPrefix(l.degree(max(sizeG, slightTimes), too), "slightly ") + green
}

// degree is how much, by the number of times a limit.
func (l Limits) degree(times float64, too string) string {
	switch {
	case times < slightTimes:
		return "slightly "
	case times < muchTimes:
		return too
	}
	return "much " + too
}
