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
	Position       string               `json:"position"`           // empty: readings that name none
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
		if m.Plain() && m.Of == "everything" && m.Color != nil {
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
	mixed, used, _, err := s.sum(position, logbook.Ever, nil)
	if err != nil {
		out.Problem = err.Error()
	} else {
		out.Computed = figure.CarriedAs(mixed.Light, lighting.CoarsestFloor(used))
		out.IlluminanceLux = figure.Rounded(float64(mixed.Lux), figure.LuxDecimals)
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

// sum adds the lights at a position, each by its latest reading up to a time: those that
// were on at a reading; without one, those that are on.
func (s *SetUp) sum(position string, at logbook.Millis, then *lighting.Reading) (
	mixed colorimetry.Lit, used []*lighting.Reading, of []logbook.View, err error,
) {
	var lit []colorimetry.Lit
	for _, light := range s.lights {
		if !s.onAt(light, then) {
			continue
		}
		m := s.ReadingWithLux(light.ID, position, at)
		if m == nil {
			return mixed, nil, nil, fmt.Errorf("%w: %s has no reading with lux here", figure.ErrUnknown, light.Text("name"))
		}
		lit = append(lit, colorimetry.Lit{Light: m.Color.XY, Lux: colorimetry.Lux(*m.IlluminanceLux)})
		used, of = append(used, m), append(of, light)
	}
	if len(lit) == 0 {
		return mixed, nil, nil, fmt.Errorf("%w: no light is on", figure.ErrUnknown)
	}
	mixed, err = colorimetry.Mix(lit)
	return mixed, used, of, err
}

// onAt reports whether a light was on at a reading; without one, whether it is on.
func (s *SetUp) onAt(light logbook.View, m *lighting.Reading) bool {
	if m != nil {
		switch m.Snapshot(light, "on") {
		case "true":
			return true
		case "false":
			return false
		}
	}
	return lighting.IsOn(light)
}

// CheckMix tests the sum of the lights against a reading of all of them.
func (s *SetUp) CheckMix(m *lighting.Reading) (c MixCheck) {
	c = MixCheck{Reading: m.Reading, TakenAt: m.TakenAt.Time(), Measured: m.Color, MeasuredLux: m.IlluminanceLux,
		meters: []*lighting.Reading{m}}
	mixed, used, lights, err := s.sum(m.Position, m.TakenAt, m)
	if err != nil {
		c.Problem, c.Words = err.Error(), "not tested: "+err.Error()
		return c
	}
	var coarsest *lighting.Reading // of those by another meter
	for i, single := range used {
		if why := s.notTogether(lights[i], single, m); why != "" {
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
func (s *SetUp) notTogether(light logbook.View, single, m *lighting.Reading) string {
	name := light.Text("name")
	switch {
	case !lighting.SameState(light, single, m):
		return name + " was set differently when it was read alone"
	case float64(lighting.ApartInTime(single, m))/60000 > s.reader.remeasure:
		return fmt.Sprintf("%s was read alone %.0f minutes apart from it", name, float64(lighting.ApartInTime(single, m))/60000)
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
