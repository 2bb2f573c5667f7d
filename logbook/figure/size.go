package figure

import (
	"math"

	"evenwhite/logbook"
)

// Size is what is counted of a deviation, rounded to the step that is shown. In a
// value mired and Duv carry the signs of the picture; in a limit, Duv is the
// limit on the side on which the value lies.
type Size struct {
	Mired   *float64 `json:"mired,omitempty"`
	Duv     *float64 `json:"duv,omitempty"`
	Steps   *float64 `json:"steps,omitempty"`
	Minutes *float64 `json:"minutes,omitempty"`
}

// Greater orders two sizes of one finding.
func (s *Size) Greater(other *Size) bool {
	weight := func(s *Size) float64 {
		switch {
		case s == nil:
			return -1
		case s.Steps != nil:
			return *s.Steps
		case s.Mired != nil:
			return math.Abs(*s.Mired)
		case s.Minutes != nil:
			return *s.Minutes
		}
		return 0
	}
	return weight(s) > weight(other)
}

// Compared is what a deviation is measured against.
type Compared struct {
	Words  string     `json:"words"` // "the aim of camera A", "take 3"
	Record logbook.ID `json:"record,omitzero"`
}
