package setup

import (
	"fmt"
	"math"
	"slices"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
)

// MixAt is the mix at one position and moment, and what it rests on.
type MixAt struct {
	Light    colorimetry.Lit
	Readings []*lighting.Reading // of everything, or of the single lights
	Together bool                // by a reading of everything that was on
	Newest   logbook.Millis      // of the readings
	Caveats  []string
}

// NoteIn notes in an origin what the mix rests on, with ages at a moment.
func (x MixAt) NoteIn(o *figure.Origin, at logbook.Millis) {
	for _, r := range x.Readings {
		r.NoteIn(o, at)
	}
	o.Caveats = append(o.Caveats, x.Caveats...)
	o.Method, o.Confidence = "tristimulus values of the single lights added by illuminance", "mixed"
	if x.Together {
		o.Method, o.Confidence = "a reading of everything that was on", "measured"
	}
}

// SameStops is how far a light may move in stops before a reading of everything is out of
// date, and before two set-ups are lit apart: a choice of this program.
const SameStops = 0.5

// Mix is the mix of the lights that were on at a moment, at a position, "" standing for any: a
// reading of everything where it still holds, else the sum of the lights as they then were.
// The error says what is missing.
func (m *Measured) Mix(position string, at logbook.Millis) (MixAt, error) {
	for _, r := range slices.Backward(m.readings) {
		if r.TakenAt <= at && isTogether(r, position) && m.holds(r, at) {
			mix := MixAt{Readings: []*lighting.Reading{r}, Together: true, Newest: r.TakenAt}
			mix.Light.Light = r.Color.XY
			if r.IlluminanceLux != nil {
				mix.Light.Lux = colorimetry.Lux(*r.IlluminanceLux)
			}
			return mix, nil
		}
	}
	return m.sumAt(position, at)
}

func isTogether(r *lighting.Reading, position string) bool {
	return r.Plain() && r.Of == "everything" && r.Color != nil && atPosition(r, position)
}

// atPosition reports whether a reading was made at a position; "" asks for none.
func atPosition(r *lighting.Reading, position string) bool {
	return position == "" || r.Position == position
}

// holds reports whether a reading of everything is still the mix at a later moment: every
// light is on or off and set as it was then, none came, and none that was read alone since
// has moved.
func (m *Measured) holds(r *lighting.Reading, at logbook.Millis) bool {
	for _, light := range m.lights {
		c := m.Course(light)
		on := c.OnAt(at)
		entered := light.CreatedAt()
		if entered > r.TakenAt && entered <= at || on != c.OnAt(r.TakenAt) {
			return false
		}
		if on && (!c.SameAt(r.TakenAt, at) || m.movedSince(c, light, r, at)) {
			return false
		}
	}
	return true
}

// movedSince reports whether a reading of one light alone, made after a reading of everything
// and in the state in which everything was read, differs from the last one before it in that
// state, else from the first one since.
func (m *Measured) movedSince(c *lighting.Course, light logbook.View, r *lighting.Reading, at logbook.Millis) bool {
	limits := m.RoleLimits(light)
	first := c.LastInStateOf(r.TakenAt)
	for _, one := range c.Readings() {
		if one.TakenAt <= r.TakenAt || one.TakenAt > at || !c.SameAt(one.TakenAt, r.TakenAt) {
			continue
		}
		if first == nil {
			first = one
			continue
		}
		if _, beyond := limits.Exceeded(figure.ColorDifference(one.Color.XY, first.Color.XY)); beyond {
			return true
		}
		a, b := one.IlluminanceLux, first.IlluminanceLux
		if one.Position == first.Position && a != nil && b != nil && *a > 0 && *b > 0 && math.Abs(math.Log2(*a / *b)) > SameStops {
			return true
		}
	}
	return false
}

// sumAt adds the lights that were on, each as it then was, by readings with lux.
func (m *Measured) sumAt(position string, moment logbook.Millis) (mix MixAt, err error) {
	var lit []colorimetry.Lit
	on := m.LightsOnAt(moment)
	for _, light := range on {
		c := m.Course(light)
		s := m.LightWithLux(light, position, moment)
		if s.Reading == nil {
			return mix, fmt.Errorf("%w: %s", figure.ErrUnknown, m.whyNoLux(c.ForMix(), light, position, moment))
		}
		if s.Lux == nil {
			s.Lux = s.Reading.IlluminanceLux
		}
		lit = append(lit, colorimetry.Lit{Light: s.Color.XY, Lux: colorimetry.Lux(*s.Lux)})
		mix.Readings = append(mix.Readings, s.Reading)
		if s.Next != nil {
			mix.Readings = append(mix.Readings, s.Next)
		}
		if s.How == lighting.After {
			mix.Caveats = append(mix.Caveats, light.Text("name")+" was "+s.When())
		}
		if any := c.At(moment); any.Reading != nil && any.Reading.TakenAt > s.Reading.TakenAt && any.How == lighting.Before && position == "" {
			mix.Caveats = append(mix.Caveats, "a newer reading of "+light.Text("name")+" has no lux: the one before was added")
		}
	}
	if len(lit) == 0 {
		return mix, fmt.Errorf("%w: for the mix there is neither a light that is on nor a reading of everything", figure.ErrUnknown)
	}
	for _, r := range mix.Readings {
		mix.Newest = max(mix.Newest, r.TakenAt)
	}
	mix.Light, err = colorimetry.Mix(lit)
	return mix, err
}

// LightWithLux is what a light gives at a position and moment, "" standing for any: by readings
// with lux alone, and only at the level at which it then stood.
func (m *Measured) LightWithLux(light logbook.View, position string, at logbook.Millis) lighting.Spoken {
	return m.Course(light).ForMix().AtWhere(at, func(r *lighting.Reading) bool {
		return r.IlluminanceLux != nil && atPosition(r, position)
	})
}

// whyNoLux names what is missing for the sum.
func (m *Measured) whyNoLux(c *lighting.Course, light logbook.View, position string, at logbook.Millis) string {
	name := light.Text("name")
	s := c.At(at)
	switch {
	case s.Reading == nil:
		return fmt.Sprintf("%s: %s; read everything again", name, s.Problem)
	case position != "" && s.Reading.Position != position:
		return fmt.Sprintf("%s was not read at %s; read everything again", name, position)
	}
	return name + " has no lux; read everything again"
}
