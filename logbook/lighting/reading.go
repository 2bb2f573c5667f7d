package lighting

import (
	"fmt"
	"math"
	"sort"
	"time"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// A Reading is a record of a reading with what is computed from it.
type Reading struct {
	Reading        logbook.ID
	SetUp          logbook.ID
	TakenAt        logbook.Millis
	Of             string       // light, lights, everything or screenPoint
	Lights         []logbook.ID // the lights named by Of
	Position, Sky  string
	Purpose        string
	Meter          logbook.ID
	FloorXY        float64  // of the meter
	IlluminanceLux *float64 // absent where it was not measured
	Color          *figure.Chromaticity
	Problem        string // why there is no colour
	throughGel     bool
	view           logbook.View
}

// defaultFloor is how finely a meter can be trusted in x and y where it does not
// say: common practice, no source.
func defaultFloor(meterKind string) float64 {
	if meterKind == "spectrometer" {
		return 0.002
	}
	return 0.004
}

// Read reads one reading.
func Read(b *logbook.Book, reading logbook.View) *Reading {
	m := &Reading{
		Reading: reading.ID, SetUp: reading.Ref("setUp"), Position: reading.Text("position"), Sky: reading.Text("sky"),
		Purpose: reading.Text("purpose"), Meter: reading.Ref("meter"), throughGel: !reading.Ref("throughGel").IsZero(), view: reading,
	}
	var ok bool
	if m.TakenAt, ok = InstantOf(reading, "takenAt"); !ok {
		m.TakenAt = reading.CreatedAt()
	}
	of := reading.Value("of")
	m.Of, _ = of.Member("as").Text()
	if id, ok := of.Member("light").ID(); ok {
		m.Lights = append(m.Lights, b.Resolve(id))
	}
	for item := range of.Member("lights").Items() {
		if id, ok := item.ID(); ok {
			m.Lights = append(m.Lights, b.Resolve(id))
		}
	}
	m.FloorXY = floorOf(b, m.Meter)
	if lux, ok := IlluminanceOf(reading.Value("illuminance")); ok {
		m.IlluminanceLux = figure.Rounded(lux, figure.LuxDecimals)
	}
	if xy, err := ColorOf(reading.Value("measured")); err == nil {
		m.Color = figure.ChromaticityOf(xy)
	} else {
		m.Problem = err.Error()
	}
	return m
}

// Withdrawn reports whether a reading, white or sample counts no more: struck
// out, or deleted.
func Withdrawn(v logbook.View) bool { return v.Deleted() || v.Value("struckOut") != "" }

// Name is what was read, for a sentence.
func (m *Reading) Name(b *logbook.Book) string {
	switch {
	case len(m.Lights) == 1:
		if light, ok := b.RecordOf(kinds.Light, m.Lights[0]); ok {
			return light.Text("name")
		}
	case m.Of == "everything":
		return "everything that is on"
	case m.Of == "screenPoint":
		return "a point on a screen"
	}
	return "several lights"
}

// NoteIn notes in an origin that it rests on the reading.
func (m *Reading) NoteIn(o *figure.Origin, at logbook.Millis) {
	o.Records = append(o.Records, m.Reading)
	if age := m.AgeMinutes(at); o.AgeMinutes == nil || age > *o.AgeMinutes {
		o.AgeMinutes = figure.Rounded(age, 0)
	}
	if Withdrawn(m.view) {
		o.Caveats = append(o.Caveats, "a reading that it rests on was withdrawn later")
	}
}

// ReadingsOf lists the readings of a set-up that count, oldest first: not
// struck out, and not superseded by one that counts itself.
func ReadingsOf(b *logbook.Book, setUp logbook.ID) []*Reading {
	superseded := map[logbook.ID]bool{}
	views := b.Referring(kinds.Reading, "setUp", setUp)
	for _, v := range views {
		if !Withdrawn(v) {
			superseded[v.Ref("supersedes")] = true
		}
	}
	var all []*Reading
	for _, v := range views {
		if !Withdrawn(v) && !superseded[v.ID] {
			all = append(all, Read(b, v))
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].TakenAt < all[j].TakenAt })
	return all
}

// A Memo keeps the readings of set-ups of one book that does not change meanwhile.
type Memo map[logbook.ID][]*Reading

// ReadingsOf is ReadingsOf, read once a set-up.
func (m Memo) ReadingsOf(b *logbook.Book, setUp logbook.ID) []*Reading {
	all, ok := m[setUp]
	if !ok {
		all = ReadingsOf(b, setUp)
		m[setUp] = all
	}
	return all
}

// Plain reports whether a reading speaks of the light as it is on the set, not
// of a gel or of the meter.
func (m *Reading) Plain() bool {
	return m.Purpose != "gelTest" && m.Purpose != "meterCompare" && !m.throughGel
}

// OfLight reports whether a reading is of one light alone.
func (m *Reading) OfLight(light logbook.ID) bool {
	return m.Of == "light" && len(m.Lights) == 1 && m.Lights[0] == light
}

// Latest returns the newest of the readings that pass, up to a time; where none
// is so old, the oldest one after it: a reading that was logged late is better
// than none.
func Latest(all []*Reading, upTo logbook.Millis, pass func(*Reading) bool) *Reading {
	var found *Reading
	for _, m := range all {
		if !pass(m) {
			continue
		}
		if m.TakenAt > upTo && found != nil {
			break
		}
		found = m
		if m.TakenAt > upTo {
			break
		}
	}
	return found
}

// AgeMinutes is the age at a time; 0 for a reading from after it.
func (m *Reading) AgeMinutes(at logbook.Millis) float64 { return AgeMinutes(m.TakenAt, at) }

// AgeMinutes is how old at a time is what was made at another; 0 where it came later.
func AgeMinutes(made, at logbook.Millis) float64 { return math.Max(0, float64(at-made)/60000) }

// floor is how far the meter's floor in x and y moves temperature and Duv, at the
// most.
func (m *Reading) floor() (most colorimetry.Cast) {
	if m.Color == nil {
		return most
	}
	here, err := m.Color.CCTDuv()
	if err != nil {
		return most
	}
	for _, d := range [...]colorimetry.XY{{X: m.FloorXY}, {X: -m.FloorXY}, {Y: m.FloorXY}, {Y: -m.FloorXY}} {
		if t, err := (colorimetry.XY{X: m.Color.X + d.X, Y: m.Color.Y + d.Y}).CCTDuv(); err == nil {
			most.Mired = max(most.Mired, t.Mired()-here.Mired(), here.Mired()-t.Mired())
			most.Duv = max(most.Duv, t.Duv-here.Duv, here.Duv-t.Duv)
		}
	}
	return most
}

// FloorMired is the floor in mired, as it is shown; 0 where there is no
// temperature.
func (m *Reading) FloorMired() float64 {
	return figure.RoundTo(float64(m.floor().Mired), figure.MiredDecimals)
}

// lightState are the fields of a light's state, with their words.
var lightState = [...]struct{ field, words string }{
	{"dialKelvin", "kelvin dial"}, {"dialGreenMagenta", "green–magenta dial"},
	{"levelPercent", "level"}, {"gels", "gels"}, {"on", "lit"},
}

// Snapshot is how a light stood when the reading was made: as the reading says,
// else as it was rigged by the history. A light that was logged after its reading stood as
// it was logged first.
func (m *Reading) Snapshot(light logbook.View, field string) logbook.Value {
	for _, key := range m.view.Keys("lightsAsSet") {
		if id, err := logbook.ParseID(key); err == nil && light.Book().Resolve(id) == light.ID {
			return m.view.Value("lightsAsSet/" + key).Member(field)
		}
	}
	return valueAt(light, "rigged/"+field, max(m.TakenAt, light.CreatedAt()))
}

// valueAt is what a field said at a time by the corrected clocks; no value where
// nothing was said yet.
func valueAt(v logbook.View, field string, at logbook.Millis) logbook.Value {
	if !v.EverSet(field) {
		return ""
	}
	found := logbook.Value("")
	for _, e := range v.Edits() {
		if e.Corrected() > at {
			break
		}
		if c, ok := e.Change(field); ok {
			found = c.Value
		}
	}
	if found == logbook.Null {
		return ""
	}
	return found
}

// ChangedSince says what of a light was changed between a reading and a time.
func (m *Reading) ChangedSince(light logbook.View, at logbook.Millis) (words []string) {
	for _, s := range lightState {
		now := valueAt(light, "rigged/"+s.field, at)
		if now == "" {
			continue
		}
		if then := m.Snapshot(light, s.field); then != "" && !then.Equal(now) {
			words = append(words, fmt.Sprintf("the %s of %s was changed from %s to %s",
				s.words, light.Text("name"), plainWords(light.Book(), then), plainWords(light.Book(), now)))
		}
	}
	return words
}

// plainWords writes a value for a sentence.
func plainWords(b *logbook.Book, v logbook.Value) string {
	if text, ok := v.Text(); ok {
		return text
	}
	if v == "true" {
		return "yes"
	}
	if v == "false" {
		return "no"
	}
	if v == "" || v[0] != '[' {
		return string(v)
	}
	out := ""
	for item := range v.Items() {
		if id, ok := item.ID(); ok {
			if gel, found := b.Record(id); found {
				out += ", " + gel.Text("name")
				continue
			}
		}
		out += ", " + plainWords(b, item)
	}
	if out == "" {
		return "none"
	}
	return out[2:]
}

// Zone is the offset from UTC in which the reading's time was typed.
func (m *Reading) Zone() *time.Location {
	text, _ := m.view.Value("takenAt").Text()
	t, err := time.Parse(time.RFC3339, text)
	if err != nil {
		return time.UTC
	}
	return figure.OffsetOf(t)
}

// Shown is what a reading says, as its meter carries it; nil where it has no
// colour.
func (m *Reading) Shown() *figure.Shown {
	if m.Color == nil {
		return nil
	}
	return figure.ShownAs(m.Color.XY, m.FloorXY)
}

// ChangedFrom says what of a light differs between two readings.
func (m *Reading) ChangedFrom(light logbook.View, before *Reading) (words []string) {
	for _, st := range lightState {
		then, now := before.Snapshot(light, st.field), m.Snapshot(light, st.field)
		if then != "" && now != "" && !then.Equal(now) {
			words = append(words, fmt.Sprintf("%s from %s to %s", st.words, plainWords(light.Book(), then), plainWords(light.Book(), now)))
		}
	}
	return words
}

// CoarsestFloor is that of the readings.
func CoarsestFloor(of []*Reading) (floor float64) {
	for _, m := range of {
		floor = math.Max(floor, m.FloorXY)
	}
	return floor
}

// FloorBehind is the coarsest floor of the readings that something rests on; 0 where
// it rests on none.
func FloorBehind(b *logbook.Book, o figure.Origin) (floor float64) {
	for _, id := range o.Records {
		if v, ok := b.RecordOf(kinds.Reading, id); ok {
			floor = math.Max(floor, Read(b, v).FloorXY)
		}
	}
	return floor
}
