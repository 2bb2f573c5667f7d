package setup

import (
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// Measured is what was measured of the lights of one set-up: each of them, and their mix, as
// of a moment. Which reading speaks is decided here, for everybody.
type Measured struct {
	book      *logbook.Book
	setUp     logbook.View
	lights    []logbook.View
	readings  []*lighting.Reading // that count, oldest first
	sky       lighting.Sky
	courses   map[logbook.ID]*lighting.Course // of lights, once looked up
	roles     map[string]figure.Limits
	remeasure float64 // minutes
}

// ReadingsOf lists the readings of a set-up that count, oldest first, for who only lists them.
func ReadingsOf(b *logbook.Book, setUp logbook.ID) []*lighting.Reading {
	return lighting.ReadingsOf(b, setUp)
}

// measuredBy is by readings of the set-up, oldest first; momentOf says when its takes were.
func measuredBy(
	b *logbook.Book, setUp logbook.View, readings []*lighting.Reading, takes []logbook.View, momentOf func(logbook.View) logbook.Millis,
) *Measured {
	return &Measured{
		book: b, setUp: setUp, lights: b.Referring(kinds.Light, "setUp", setUp.ID), readings: readings,
		sky: lighting.SkyOf(readings, takes, momentOf), courses: map[logbook.ID]*lighting.Course{},
		roles: map[string]figure.Limits{}, remeasure: remeasureAfter(b),
	}
}

// measuredIn is by readings alone, where no set-up was read.
func measuredIn(b *logbook.Book, setUp logbook.View, readings []*lighting.Reading) *Measured {
	takes := b.Referring(kinds.Take, "setUp", setUp.ID)
	at := takeMoments(b, takes)
	return measuredBy(b, setUp, readings, takes, func(take logbook.View) logbook.Millis { return at[take.ID] })
}

// Course is how a light of the set-up stood and was read.
func (m *Measured) Course(light logbook.View) *lighting.Course {
	c, ok := m.courses[light.ID]
	if !ok {
		c = lighting.NewCourse(light, m.readings, m.sky, m.RoleLimits(light), m.remeasure)
		m.courses[light.ID] = c
	}
	return c
}

// Light is a light at a moment, by what was read of it.
func (m *Measured) Light(light logbook.View, at logbook.Millis) lighting.Spoken {
	return m.Course(light).At(at)
}

// LightByID is Light by the light's id; a light of another set-up was not measured here.
func (m *Measured) LightByID(light logbook.ID, at logbook.Millis) lighting.Spoken {
	for _, l := range m.lights {
		if l.ID == light {
			return m.Light(l, at)
		}
	}
	return lighting.Spoken{Problem: "it was not measured"}
}

// LightsOnAt are the lights that were on at a moment.
func (m *Measured) LightsOnAt(at logbook.Millis) (all []logbook.View) {
	for _, light := range m.lights {
		if m.Course(light).OnAt(at) {
			all = append(all, light)
		}
	}
	return all
}

// SkyAt is the sky over the set-up at a moment; "" where nobody named one.
func (m *Measured) SkyAt(at logbook.Millis) string { return m.sky.At(at) }

// RoleLimits are the limits of a light's role; a light without one counts as
// background.
func (m *Measured) RoleLimits(light logbook.View) figure.Limits {
	role := light.Text("role")
	if role == "" {
		role = "background"
	}
	l, ok := m.roles[role]
	if !ok {
		l = LimitsOf(m.book, m.setUp, role)
		m.roles[role] = l
	}
	return l
}

// Readings are those that count, oldest first.
func (m *Measured) Readings() []*lighting.Reading { return m.readings }

// Lights are those that stand in the set-up.
func (m *Measured) Lights() []logbook.View { return m.lights }

// RemeasureAfter is the age in minutes beyond which a reading is stale.
func (m *Measured) RemeasureAfter() float64 { return m.remeasure }
