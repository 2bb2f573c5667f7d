package lighting

import (
	"cmp"
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
	replaced       *Reading // the one that it replaces
	chain          int      // how many others replaced it on the way here
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
func Read(b *logbook.Book, reading logbook.View) *Reading { return read(b, reading, 0) }

func read(b *logbook.Book, reading logbook.View, chain int) *Reading {
	m := &Reading{
		chain:   chain,
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
	m.takeOver(b, reading)
	return m
}

// takeOver completes a reading that replaces another: what it does not say is as the other
// said, and where its time was left to the clock, that of the other is meant.
func (m *Reading) takeOver(b *logbook.Book, reading logbook.View) {
	old, ok := b.RecordOf(kinds.Reading, reading.Ref("supersedes"))
	if !ok || old.ID == reading.ID || m.chain > longestChain {
		return
	}
	before := read(b, old, m.chain+1)
	m.replaced = before
	if f := reading.Field("takenAt").Shown; f.Known() {
		if at, ok := reading.Time("takenAt"); ok && ByClock(f.Edit(), at) {
			m.TakenAt = before.TakenAt
		}
	}
	m.Position, m.Sky, m.Purpose = cmp.Or(m.Position, before.Position), cmp.Or(m.Sky, before.Sky), cmp.Or(m.Purpose, before.Purpose)
	m.throughGel = m.throughGel || before.throughGel
	if m.Meter.IsZero() {
		m.Meter, m.FloorXY = before.Meter, before.FloorXY
	}
	if m.IlluminanceLux == nil {
		m.IlluminanceLux = before.IlluminanceLux
	}
}

// longestChain bounds how many readings may replace each other, so that a circle ends.
const longestChain = 64

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
	sort.SliceStable(all, func(i, j int) bool { return Earlier(all[i], all[j]) })
	return all
}

// Earlier orders readings by time; those of one moment by dot.
func Earlier(a, b *Reading) bool {
	return byTime(a.TakenAt, a.view.CreatedDot(), b.TakenAt, b.view.CreatedDot()) < 0
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

// Snapshot is how a light stood when the reading was made: as the reading says, else as it
// was typed on the light. For what readings teach of lamps and gels; which reading speaks
// of a light is the matter of its Course.
func (m *Reading) Snapshot(light logbook.View, field string) logbook.Value {
	if v := m.asSet(light, field); v != "" {
		return v
	}
	h := historyOf(light, field, nil)
	if len(h.steps) == 0 {
		return ""
	}
	return h.at(m.TakenAt)
}

// ValueWords writes the value of a field for a sentence: the names of records, "yes", "none".
func ValueWords(b *logbook.Book, v logbook.Value) string {
	if id, ok := v.ID(); ok {
		if record, found := b.Record(id); found {
			return record.Text("name")
		}
		return "one that is not in the log"
	}
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
		out += ", " + ValueWords(b, item)
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

// Clock is when the reading was made, as the clock stood on the set.
func (m *Reading) Clock() string { return figure.ClockIn(m.TakenAt.Time(), m.Zone()) }

// Shown is what a reading says, as its meter carries it; nil where it has no
// colour.
func (m *Reading) Shown() *figure.Shown {
	if m.Color == nil {
		return nil
	}
	return figure.ShownAs(m.Color.XY, m.FloorXY)
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
