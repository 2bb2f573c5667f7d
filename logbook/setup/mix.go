package setup

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
)

// Mix is the mix of the lights that are on at one position: the sum of the
// lights measured alone, and what a reading of everything says to that.
type Mix struct {
	Position string `json:"position"` // empty: any
	// Color is the mix as it is: read together where that still holds, else the sum; From
	// says which. Absent where it is not known.
	Color          *figure.Chromaticity `json:"color,omitempty"`
	From           string               `json:"from,omitempty"`
	Computed       *figure.Chromaticity `json:"computed,omitempty"` // the sum
	IlluminanceLux *float64             `json:"illuminanceLux,omitempty"`
	Problem        string               `json:"problem,omitempty"` // why there is no sum
	Check          *MixCheck            `json:"check,omitempty"`   // absent where everything was not read together
	Drift          *Drift               `json:"drift,omitempty"`
}

// MixCheck compares a reading of everything that is on with the sum of the lights
// measured alone.
type MixCheck struct {
	Reading     logbook.ID           `json:"reading"`
	TakenAt     time.Time            `json:"takenAt"`
	Measured    *figure.Chromaticity `json:"measured,omitempty"`
	MeasuredLux *float64             `json:"measuredLux,omitempty"`
	Computed    *figure.Chromaticity `json:"computed,omitempty"` // as the lights were then
	ComputedLux *float64             `json:"computedLux,omitempty"`
	Difference  *figure.Difference   `json:"difference,omitempty"` // of Measured from Computed
	FloorMired  float64              `json:"floorMired"`           // of the meters
	// Agrees says that the two lie inside the floor of the meters, or inside the limits
	// of cameras; absent where they cannot be compared.
	Agrees *bool `json:"agrees,omitempty"`
	// Added is the light that would explain the difference: what the room throws back,
	// or a lamp that is not in the log.
	Added    *figure.Chromaticity `json:"added,omitempty"`
	AddedLux *float64             `json:"addedLux,omitempty"`
	Problem  string               `json:"problem,omitempty"` // why they cannot be compared
	Words    string               `json:"words"`
	limit    figure.Size
	meters   []*lighting.Reading
}

// Mixes has the mix of every position at which there is one.
func (s *SetUp) Mixes() []Mix {
	out := []Mix{}
	together := s.Together()
	for _, name := range s.mixPositions() {
		out = append(out, s.mixFor(name, together[name]))
	}
	return out
}

// Together has the newest reading of everything that was on, by position.
func (s *SetUp) Together() map[string]*lighting.Reading {
	newest := map[string]*lighting.Reading{}
	for _, m := range s.readings {
		if isTogether(m, m.Position) && m.TakenAt <= s.upTo {
			newest[m.Position] = m
		}
	}
	return newest
}

// mixPositions are those at which more than one light was read, or everything.
func (s *SetUp) mixPositions() (all []string) {
	lights := map[string]logbook.IDSet{}
	for _, m := range s.readings {
		if m.Plain() && m.Color != nil && m.Of == "light" && len(m.Lights) == 1 {
			if lights[m.Position] == nil {
				lights[m.Position] = logbook.IDSet{}
			}
			lights[m.Position].Add(m.Lights[0])
		}
	}
	names := map[string]bool{}
	for name, some := range lights {
		names[name] = len(some) > 1
	}
	for name := range s.Together() {
		names[name] = true
	}
	for name, mixed := range names {
		if mixed {
			all = append(all, name)
		}
	}
	sort.Strings(all)
	return all
}

// chartedPosition is where the chart follows the mix: where the cameras are balanced for
// it, else, of the positions that have a mix, the one that was read last.
func (s *SetUp) chartedPosition() string {
	position, _ := s.ByMix(s.current)
	if position != "" {
		return position
	}
	all := s.mixPositions()
	for _, m := range slices.Backward(s.readings) {
		if m.Plain() && slices.Contains(all, m.Position) {
			return m.Position
		}
	}
	return ""
}

func (s *SetUp) mixFor(position string, together *lighting.Reading) Mix {
	out := Mix{Position: position}
	sum, err := s.Mix(position, s.upTo)
	if err == nil {
		out.Color, out.From = figure.CarriedAs(sum.Light.Light, lighting.CoarsestFloor(sum.Readings)), "the sum of the single lights"
	}
	if sum.Together {
		out.From = "read together at " + sum.Readings[0].Clock()
		sum, err = s.sumAt(position, s.upTo)
	}
	if err != nil {
		out.Problem = err.Error()
	} else {
		out.Computed = figure.CarriedAs(sum.Light.Light, lighting.CoarsestFloor(sum.Readings))
		out.IlluminanceLux = figure.Rounded(float64(sum.Light.Lux), figure.LuxDecimals)
	}
	if together != nil {
		check := s.CheckMix(together)
		out.Check = &check
	}
	if t, err := s.driftOfMix(position); err == nil {
		out.Drift = t
	}
	return out
}

// CheckMix tests the sum of the lights against a reading of all of them.
func (s *SetUp) CheckMix(m *lighting.Reading) (c MixCheck) {
	c = MixCheck{Reading: m.Reading, TakenAt: m.TakenAt.Time(), Measured: m.Color, MeasuredLux: m.IlluminanceLux,
		meters: []*lighting.Reading{m}}
	sum, err := s.sumAt(m.Position, m.TakenAt)
	if err != nil {
		c.Problem, c.Words = err.Error(), "not tested: "+err.Error()
		return c
	}
	mixed, used := sum.Light, sum.Readings
	var coarsest *lighting.Reading // of those by another meter
	for _, single := range used {
		if why := s.notTogether(single, m); why != "" {
			c.Problem, c.Words = why, "not tested: "+why
			return c
		}
		if !lighting.SameMeter(single.Meter, m.Meter) {
			coarsest = coarser(coarsest, single)
		}
	}
	if coarsest != nil {
		c.meters = append(c.meters, coarsest)
	}
	c.Computed = figure.CarriedAs(mixed.Light, lighting.CoarsestFloor(used))
	c.ComputedLux = figure.Rounded(float64(mixed.Lux), figure.LuxDecimals)
	d := figure.CastDifference(m.Color.XY, mixed.Light)
	c.Difference = &d
	floor := 0.0
	for _, by := range c.meters {
		floor += by.FloorXY
		c.FloorMired += by.FloorMired()
	}
	apart := math.Max(math.Abs(m.Color.XY.X-mixed.Light.X), math.Abs(m.Color.XY.Y-mixed.Light.Y))
	limit, beyond := s.limits.Exceeded(d)
	agrees := !beyond || figure.RoundTo(apart, figure.XyDecimals) <= floor
	c.Agrees, c.limit = &agrees, limit
	c.explain(mixed, agrees, lighting.CoarsestFloor(append(used, m)))
	return c
}

// coarser is the reading whose floor moves its colour further; a may be nil.
func coarser(a, b *lighting.Reading) *lighting.Reading {
	if a == nil || b.FloorMired() > a.FloorMired() {
		return b
	}
	return a
}

// notTogether says why a light measured alone is not what was on at a reading of
// everything.
func (s *SetUp) notTogether(single, m *lighting.Reading) string {
	name, apart := single.Name(s.book), float64(lighting.ApartInTime(single, m))/60000
	switch {
	case apart > s.remeasure:
		return fmt.Sprintf("%s was read alone %s apart from it", name, figure.AgeWords(apart))
	case single.Sky != "" && m.Sky != "" && single.Sky != m.Sky:
		return name + " was read alone under another sky"
	}
	return ""
}

// explain finds the light that is missing from the sum, and writes the sentence.
func (c *MixCheck) explain(mixed colorimetry.Lit, agrees bool, floorXY float64) {
	if agrees {
		c.Words = fmt.Sprintf("the lights measured alone add up to it: %s, the meter tells ±%g mired",
			c.Difference.Words, c.FloorMired)
		return
	}
	c.Words = fmt.Sprintf("the lights measured alone do not add up to it: together they are %s, the meter tells ±%g mired",
		c.Difference.Words, c.FloorMired)
	if c.MeasuredLux == nil {
		return
	}
	a, b := c.Measured.XY.XYZ(*c.MeasuredLux), mixed.Light.XYZ(float64(mixed.Lux))
	more := colorimetry.XYZ{X: a.X - b.X, Y: a.Y - b.Y, Z: a.Z - b.Z}
	xy, err := more.XY()
	if more.X < 0 || more.Z < 0 || !(more.Y > 0) || err != nil {
		c.Words += "; no light that is added explains it: one was shaded, or changed"
		return
	}
	// What moves the whole by the floor moves the small part by so much more.
	c.Added, c.AddedLux = figure.CarriedAs(xy, floorXY*a.Y/more.Y), figure.Rounded(more.Y, figure.LuxDecimals)
	c.Words += fmt.Sprintf("; something in the room adds colour, as %g lx of %s would", *c.AddedLux, c.Added.Words)
}
