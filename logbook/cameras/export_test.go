package cameras

import (
	"evenwhite/colorimetry"
	"evenwhite/logbook"
)

// What the tests outside the package see of its inside.

const MostInferred = mostInferred

// LearnTint is what cards teach of a unit of a body's tint dial.
func LearnTint(body logbook.View) (unit, spread colorimetry.Duv, ok bool) {
	l, ok := learnTint(body, "")
	return l.unit, l.spread, ok
}

// Labels is how many are kept.
func (m *Memo) Labels() int { return len(m.labels) }
