package figure

import (
	"fmt"
	"math"
)

// Limits are the tolerances of one role: the camera (also from take to take) or
// a role of lights.
type Limits struct {
	Role       string  `json:"role"`
	Mired      float64 `json:"mired"`
	DuvGreen   float64 `json:"duvGreen"`
	DuvMagenta float64 `json:"duvMagenta"` // without sign
	Steps      float64 `json:"steps"`
	// From says where they were set: "common practice, no source", production
	// or setUp; where the four differ, the nearest of them.
	From string `json:"from"`
}

// Exceeded compares a difference with the limits, both as they are shown, and
// returns the limit that stands beside the value.
func (l Limits) Exceeded(d Difference) (limit Size, beyond bool) {
	if d.Mired != nil {
		m := l.Mired
		limit.Mired = &m
		beyond = beyond || math.Abs(*d.Mired) > m
	}
	if d.Duv != nil {
		side := l.DuvGreen
		if *d.Duv < 0 {
			side = l.DuvMagenta
		}
		limit.Duv = &side
		beyond = beyond || math.Abs(*d.Duv) > side
	}
	if d.Steps != nil {
		s := l.Steps
		limit.Steps = &s
		beyond = beyond || *d.Steps > s
	}
	return limit, beyond
}

// TimesLimit is how many times a difference is its limit, at the most.
func (l Limits) TimesLimit(d Difference) float64 {
	limit, _ := l.Exceeded(d)
	most := 0.0
	for _, part := range [...]struct{ value, limit *float64 }{{d.Mired, limit.Mired}, {d.Duv, limit.Duv}, {d.Steps, limit.Steps}} {
		if part.value != nil && *part.limit > 0 {
			most = max(most, math.Abs(*part.value)/(*part.limit))
		}
	}
	return most
}

// Times is how many times a difference is its limit, as it is shown: by steps in the
// picture, so that a gel and a camera can be compared; without steps by the greatest part.
func (l Limits) Times(d Difference) float64 {
	if d.Steps != nil && l.Steps > 0 {
		return RoundTo(*d.Steps/l.Steps, timesDecimals)
	}
	return RoundTo(l.TimesLimit(d), timesDecimals)
}

const timesDecimals = 1

// Words says the limits in a line: "8 mired, Duv +0.002 -0.003, 4 steps (production)".
func (l Limits) Words() string {
	return fmt.Sprintf("%g mired, Duv +%g -%g, %g steps (%s)", l.Mired, l.DuvGreen, l.DuvMagenta, l.Steps, l.From)
}
