package lighting

import (
	"fmt"
	"math"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
)

// A Course is how one light stood over time and what was read of it: the one place that
// says which reading speaks of a light at a moment.
type Course struct {
	light     logbook.View
	sky       Sky // of the set-up; none where the light is not of the sky
	level     bool
	fields    [len(stateFields)]history
	on        history
	readings  []*Reading // plain ones of it alone with a colour, oldest first
	states    []State    // of the readings
	changes   []Change
	unread    *Reading // the newest that has no colour
	remeasure logbook.Millis
}

// A Change is one that nobody typed: a lamp that reads differently though nothing is said to
// have been touched. It is dated to the reading that shows it.
type Change struct {
	Reading, Before *Reading
	Difference      figure.Difference // of Reading from Before
	index           int               // of Reading among the readings
}

// NewCourse takes the readings of a light's set-up that count, oldest first, the sky over it,
// the limits of the light's role, and how long after a moment a first reading may speak of it.
func NewCourse(light logbook.View, of []*Reading, sky Sky, limits figure.Limits, remeasureMinutes float64) *Course {
	c := &Course{light: light, level: dimsWarmer(light) != "no", remeasure: logbook.Millis(remeasureMinutes * 60000)}
	if OfSky(light) {
		c.sky = sky
		if len(c.sky) == 0 {
			c.sky = Sky{{at: logbook.Beginning, name: light.Text("sky")}}
		}
	}
	var plain []*Reading
	for _, m := range of {
		if m.Plain() {
			plain = append(plain, m)
		}
	}
	for i, f := range stateFields {
		c.fields[i] = historyOf(light, f.field, plain)
		for j, s := range c.fields[i].steps {
			if f.field == "gels" {
				c.fields[i].steps[j].value = ordered(light.Book(), s.value)
			}
		}
	}
	c.on = historyOf(light, "on", plain)
	for _, m := range plain {
		if !m.OfLight(light.ID) {
			continue
		}
		if m.Color == nil {
			c.unread = m
			continue
		}
		state := c.StateAt(m.TakenAt)
		if c.sky != nil && m.Sky != "" {
			state.sky = m.Sky
		}
		c.readings, c.states = append(c.readings, m), append(c.states, state)
		if change, ok := c.changedAt(len(c.readings)-1, limits); ok {
			c.changes = append(c.changes, change)
		}
	}
	return c
}

// changedAt compares a reading of a lamp with the one before it in the same state and at the
// same position. More than twice the limit apart is no drift: something was touched.
func (c *Course) changedAt(i int, limits figure.Limits) (Change, bool) {
	m := c.readings[i]
	if c.fields[0].at(m.TakenAt) == "" { // no lamp
		return Change{}, false
	}
	for j := i - 1; j >= 0; j-- {
		before := c.readings[j]
		if before.Position != m.Position || !c.states[j].same(c.states[i], c.level) {
			continue
		}
		d := figure.ColorDifference(m.Color.XY, before.Color.XY)
		return Change{m, before, d, i}, limits.TimesLimit(d) > 2
	}
	return Change{}, false
}

// from is the index of the first reading that a change which nobody typed leaves standing at
// a moment.
func (c *Course) from(at logbook.Millis) (first int) {
	for _, change := range c.changes {
		if change.Reading.TakenAt <= at {
			first = change.index
		}
	}
	return first
}

// Changes are those that nobody typed, oldest first.
func (c *Course) Changes() []Change { return c.changes }

// StateAt is how the light was set at a moment.
func (c *Course) StateAt(at logbook.Millis) (s State) {
	for i := range c.fields {
		s.values[i] = c.fields[i].at(at)
	}
	if c.sky != nil {
		s.sky = c.sky.state(at)
	}
	return s
}

// SameAt reports whether the light was set the same at two moments, its level too.
func (c *Course) SameAt(a, b logbook.Millis) bool { return c.StateAt(a).same(c.StateAt(b), true) }

// StoodFrom reports whether nothing of the light was changed from one moment to a later one.
func (c *Course) StoodFrom(from, to logbook.Millis) bool {
	return c.from(from) == c.from(to) && c.SameAt(from, to) && c.stoodFrom(from, to, c.StateAt(to))
}

// SameState reports whether the light was set the same at two of its readings, as far as its
// colour goes, and nothing was changed in between that nobody typed.
func (c *Course) SameState(a, b *Reading) bool {
	i, j := c.index(a), c.index(b)
	return i >= 0 && j >= 0 && c.from(a.TakenAt) == c.from(b.TakenAt) && c.states[i].same(c.states[j], c.level)
}

func (c *Course) index(m *Reading) int {
	for i, o := range c.readings {
		if o.Reading == m.Reading {
			return i
		}
	}
	return -1
}

// SkyOf is the sky of a reading, where the light is of the sky.
func (c *Course) SkyOf(m *Reading) string {
	if i := c.index(m); i >= 0 {
		return c.states[i].sky
	}
	return ""
}

// ChangedSince says what was changed of the light from one of its readings to a moment, in
// words; "" where nothing was.
func (c *Course) ChangedSince(m *Reading, at logbook.Millis) string {
	return c.changedTo(m, c.StateAt(at), at)
}

// Between says what was changed of the light from one of its readings to another, in words.
func (c *Course) Between(before, m *Reading) string {
	i := c.index(m)
	if i < 0 {
		return ""
	}
	return c.changedTo(before, c.states[i], m.TakenAt)
}

func (c *Course) changedTo(m *Reading, state State, at logbook.Millis) string {
	i := c.index(m)
	if i < 0 {
		return ""
	}
	if words := c.states[i].differs(state, c.level, c.light.Book()); words != "" {
		return words
	}
	if c.from(m.TakenAt) != c.from(at) {
		return "something that nobody entered was changed"
	}
	return ""
}

// OnAt reports whether the light was on at a moment.
func (c *Course) OnAt(at logbook.Millis) bool { return c.on.at(at) == "true" }

// Readings are the plain ones of the light alone that have a colour, oldest first.
func (c *Course) Readings() []*Reading { return c.readings }

// LastInStateOf is the last reading up to a moment in the state in which the light then was;
// nil where there is none.
func (c *Course) LastInStateOf(at logbook.Millis) *Reading {
	state := c.StateAt(at)
	return c.last(c.from(at), at, func(i int) bool { return c.states[i].same(state, c.level) })
}

// Last is the last reading up to a moment, however the light was set then; nil where there is
// none that a change left standing.
func (c *Course) Last(at logbook.Millis) *Reading {
	return c.last(c.from(at), at, func(int) bool { return true })
}

// LastWhere is Last of the readings that pass.
func (c *Course) LastWhere(at logbook.Millis, pass func(*Reading) bool) *Reading {
	return c.last(c.from(at), at, func(i int) bool { return pass(c.readings[i]) })
}

// LastBefore is the last reading up to a moment, whatever was changed since.
func (c *Course) LastBefore(at logbook.Millis) *Reading {
	return c.last(0, at, func(int) bool { return true })
}

func (c *Course) last(first int, at logbook.Millis, pass func(i int) bool) (last *Reading) {
	for i := first; i < len(c.readings) && c.readings[i].TakenAt <= at; i++ {
		if pass(i) {
			last = c.readings[i]
		}
	}
	return last
}

// How a reading speaks of a light at a moment.
const (
	Before  = "before"  // it was made then or earlier
	After   = "after"   // it is the first after it
	Between = "between" // two readings of the sky have the moment between them
)

// Spoken is what the readings say of a light at a moment.
type Spoken struct {
	Reading *Reading // none: not known, and Problem says why
	Next    *Reading // the later one of two
	How     string
	Color   *figure.Chromaticity
	Lux     *float64
	// Minutes lie between the reading and the moment.
	Minutes float64
	Problem string
}

// At is the light at a moment: by its last reading in the state in which it then was; where
// there is none, by the first after it that comes soon enough, with no change between; for
// the sky on the line between two readings.
func (c *Course) At(at logbook.Millis) Spoken {
	return c.AtWhere(at, func(*Reading) bool { return true })
}

// ForMix is the course of what the light adds to a mix: there its level is part of its state
// whatever its lamp does to the colour.
func (c *Course) ForMix() *Course {
	mix := *c
	mix.level = true
	return &mix
}

// AtWhere is At by the readings that pass.
func (c *Course) AtWhere(at logbook.Millis, pass func(*Reading) bool) Spoken {
	state, first := c.StateAt(at), c.from(at)
	last := -1
	next := len(c.readings)
	for i := first; i < len(c.readings); i++ {
		if c.readings[i].TakenAt > at {
			next = i
			break
		}
		if pass(c.readings[i]) && c.states[i].same(state, c.level) {
			last = i
		}
	}
	if last >= 0 {
		return c.since(last, next, at, pass)
	}
	for i := next; i < len(c.readings); i++ {
		m := c.readings[i]
		if m.TakenAt-at > c.remeasure {
			break
		}
		if pass(m) && c.states[i].same(state, c.level) && c.from(m.TakenAt) == first && c.stoodFrom(at, m.TakenAt, c.states[i]) {
			return Spoken{Reading: m, How: After, Color: m.Color, Lux: m.IlluminanceLux, Minutes: apart(m.TakenAt, at)}
		}
	}
	return Spoken{Problem: c.whyNot(at, state)}
}

func apart(a, b logbook.Millis) float64 {
	return figure.RoundTo(math.Abs(float64(a-b))/60000, 0)
}

// since is the light by its last reading, or between that and the next one of the sky.
func (c *Course) since(last, next int, at logbook.Millis, pass func(*Reading) bool) Spoken {
	m := c.readings[last]
	s := Spoken{Reading: m, How: Before, Color: m.Color, Lux: m.IlluminanceLux, Minutes: apart(m.TakenAt, at)}
	if c.sky == nil || m.TakenAt == at {
		return s
	}
	for i := next; i < len(c.readings); i++ {
		n := c.readings[i]
		if !pass(n) {
			continue
		}
		if !c.states[i].same(c.states[last], c.level) || !c.sky.only(c.states[last].sky, m.TakenAt, n.TakenAt) {
			return s
		}
		if xy, ok := onLine(m, n, at); ok {
			s.How, s.Next, s.Color, s.Lux = Between, n, figure.ChromaticityOf(xy), luxOnLine(m, n, at)
		}
		return s
	}
	return s
}

// onLine is the colour on the line in mired and Duv between two readings.
func onLine(a, b *Reading, at logbook.Millis) (xy colorimetry.XY, ok bool) {
	x, err := a.Color.CCTDuv()
	if err != nil {
		return xy, false
	}
	y, err := b.Color.CCTDuv()
	if err != nil {
		return xy, false
	}
	part := float64(at-a.TakenAt) / float64(b.TakenAt-a.TakenAt)
	k, err := (x.Mired() + colorimetry.Mired(part)*(y.Mired()-x.Mired())).Kelvin()
	if err != nil {
		return xy, false
	}
	xy, err = colorimetry.CCTDuv{CCT: k, Duv: x.Duv + colorimetry.Duv(part)*(y.Duv-x.Duv)}.XY()
	return xy, err == nil
}

// luxOnLine is on the line in stops.
func luxOnLine(a, b *Reading, at logbook.Millis) *float64 {
	if a.IlluminanceLux == nil || b.IlluminanceLux == nil || *a.IlluminanceLux <= 0 || *b.IlluminanceLux <= 0 {
		return nil
	}
	part := float64(at-a.TakenAt) / float64(b.TakenAt-a.TakenAt)
	return figure.Rounded(*a.IlluminanceLux*math.Pow(*b.IlluminanceLux/(*a.IlluminanceLux), part), figure.LuxDecimals)
}

// stoodFrom reports whether the light stood in a state from one moment to another.
func (c *Course) stoodFrom(from, to logbook.Millis, state State) bool {
	for i := range c.fields {
		if i == levelField && !c.level {
			continue
		}
		for _, s := range c.fields[i].steps {
			if s.at > from && s.at <= to && state.values[i] != "" && !s.value.Equal(state.values[i]) {
				return false
			}
		}
	}
	return c.sky == nil || c.sky.only(state.sky, from, to)
}

// whyNot says why nothing speaks of the light at a moment.
func (c *Course) whyNot(at logbook.Millis, state State) string {
	if len(c.readings) == 0 {
		if c.unread != nil {
			return c.unread.Problem
		}
		return "it was not measured"
	}
	last := -1
	for i, m := range c.readings {
		if m.TakenAt <= at {
			last = i
		}
	}
	if last < 0 {
		minutes := apart(c.readings[0].TakenAt, at)
		if words := state.differs(c.states[0], c.level, c.light.Book()); words != "" {
			return "first read after " + words
		}
		return "first read " + figure.AgeWords(minutes) + " later"
	}
	words := c.states[last].differs(state, c.level, c.light.Book())
	if words == "" {
		words = "something of it was changed"
	}
	return "last read before " + words
}

// When says how a reading speaks of the light: "30 min before", "read 3 min later",
// "between 10:00 UTC and 10:40 UTC".
func (s Spoken) When() string {
	switch s.How {
	case Before:
		if s.Minutes == 0 {
			return "just read"
		}
		return figure.AgeWords(s.Minutes) + " before"
	case After:
		return "read " + figure.AgeWords(s.Minutes) + " later"
	case Between:
		return fmt.Sprintf("between %s and %s", s.Reading.Clock(), s.Next.Clock())
	}
	return ""
}

// NoteIn notes in an origin what is said of the light rests on, with its age at a moment.
func (s Spoken) NoteIn(o *figure.Origin, at logbook.Millis) {
	s.Reading.NoteIn(o, at)
	if s.Next != nil {
		s.Next.NoteIn(o, at)
	}
	name := s.Reading.Name(s.Reading.view.Book())
	switch s.How {
	case After:
		o.Caveats = append(o.Caveats, name+" was "+s.When())
	case Between:
		o.Caveats = append(o.Caveats, name+" is taken "+s.When())
	}
}

// dimsWarmer is whether a light's lamp gets warmer when it is dimmed: yes, no or unknown.
func dimsWarmer(light logbook.View) string {
	if lamp, ok := lampOf(light); ok {
		if text := lamp.Text("dimsWarmer"); text != "" {
			return text
		}
	}
	return "unknown"
}
