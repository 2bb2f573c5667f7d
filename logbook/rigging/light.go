package rigging

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/zone"
)

// RiggedLight is a light as it was rigged at a moment. Values stand as typed.
type RiggedLight struct {
	Light            logbook.ID   `json:"light"`
	Name             string       `json:"name"`
	Role             string       `json:"role"`
	Intent           string       `json:"intent"` // match, holdOwnColor or leave
	On               bool         `json:"on"`
	Lamp             *RiggedLamp  `json:"lamp,omitempty"` // absent: a window, or nobody said which
	DialKelvin       *RiggedValue `json:"dialKelvin,omitempty"`
	DialGreenMagenta *RiggedValue `json:"dialGreenMagenta,omitempty"`
	LevelPercent     *RiggedValue `json:"levelPercent,omitempty"`
	Gels             []RiggedGel  `json:"gels"`
	Position         string       `json:"position,omitempty"`
	Words            string       `json:"words"` // lamp, dials, level and gels in a line
	Reading          *LightRead   `json:"reading,omitempty"`
	Problem          string       `json:"problem,omitempty"` // why no reading speaks of it
	// Caveats are what is not sure: it was entered later, or people disagree.
	Caveats []string        `json:"caveats"`
	Spoken  lighting.Spoken `json:"-"`
}

// RiggedLamp is the lamp of a light.
type RiggedLamp struct {
	Lamp   logbook.ID `json:"lamp"`
	Name   string     `json:"name"`
	Family string     `json:"family"`
	Hot    bool       `json:"hot"` // too hot to touch when lit
}

// RiggedGel is a gel on a light.
type RiggedGel struct {
	Gel     logbook.ID `json:"gel"`
	Name    string     `json:"name"`
	Planned bool       `json:"planned"` // nobody said that it is on
}

// RiggedValue is a value of a dial.
type RiggedValue struct {
	Value   json.Number `json:"value"`
	Planned bool        `json:"planned"` // nobody said that it is set so
}

// LightRead is the reading that speaks of a light at a moment.
type LightRead struct {
	Reading        logbook.ID           `json:"reading"`
	NextReading    logbook.ID           `json:"nextReading,omitzero"` // the later one of two that have the moment between them
	TakenAt        time.Time            `json:"takenAt"`
	When           string               `json:"when"` // "30 min before", "read 3 min later"
	Color          *figure.Chromaticity `json:"color"`
	IlluminanceLux *float64             `json:"illuminanceLux,omitempty"`
	FloorMired     float64              `json:"floorMired"` // how finely its meter tells
}

// LightAt is a light of a set-up as it was rigged at a moment; Ever stands for now, where what is
// planned and not rigged yet is told too.
func LightAt(s *setup.SetUp, light logbook.View, at logbook.Millis) RiggedLight {
	b, course := s.Book(), s.Course(light)
	state := course.StateAt(at)
	lamp, gels := piecesOf(state, light, at)
	l := RiggedLight{
		Light: light.ID, Name: light.Text("name"), Role: light.Text("role"), Intent: lighting.Intent(light), On: course.OnAt(at),
		Lamp: lampOf(b, lamp), Gels: gelsIn(b, gels, !light.EverSet("rigged/gels") && state.Value("gels").Equal("[]")),
		Position: lighting.PositionAt(light, at), Caveats: []string{},
	}
	planned := func(string) logbook.Value { return "" }
	if at == logbook.Ever {
		planned = func(field string) logbook.Value { return light.Value("planned/" + field) }
	}
	for field, to := range map[string]**RiggedValue{
		"dialKelvin": &l.DialKelvin, "dialGreenMagenta": &l.DialGreenMagenta, "levelPercent": &l.LevelPercent,
	} {
		*to = valueOf(state.Value(field), planned(field))
	}
	l.Words = l.inWords()
	l.read(s, light, at)
	l.doubt(s, light, at)
	return l
}

// piecesOf is what a light takes of the truck at a moment: the gels that are planned for now where
// nobody said which are on it.
func piecesOf(state lighting.State, light logbook.View, at logbook.Millis) (lamp, gels logbook.Value) {
	lamp, gels = state.Value("lamp"), state.Value("gels")
	if at == logbook.Ever && gels.Equal("[]") && !light.EverSet("rigged/gels") {
		gels = light.Value("planned/gels")
	}
	return lamp, gels
}

func lampOf(b *logbook.Book, v logbook.Value) *RiggedLamp {
	id, ok := v.ID()
	if !ok {
		return nil
	}
	lamp, ok := b.RecordOf(kinds.Lamp, id)
	if !ok {
		return &RiggedLamp{Lamp: id, Name: "a lamp that is not in the log"}
	}
	return &RiggedLamp{lamp.ID, lamp.Text("name"), lamp.Text("family"), lighting.IsHot(lamp)}
}

func valueOf(rigged, planned logbook.Value) *RiggedValue {
	if n, ok := rigged.Number(); ok {
		return &RiggedValue{Value: json.Number(n)}
	}
	if n, ok := planned.Number(); ok {
		return &RiggedValue{json.Number(n), true}
	}
	return nil
}

func gelsIn(b *logbook.Book, list logbook.Value, planned bool) []RiggedGel {
	all := []RiggedGel{}
	for item := range list.Items() {
		id, ok := item.ID()
		if !ok {
			continue
		}
		g := RiggedGel{id, "a gel that is not in the log", planned}
		if gel, ok := b.RecordOf(kinds.Gel, id); ok {
			g.Gel, g.Name = gel.ID, gel.Text("name")
		}
		all = append(all, g)
	}
	slices.SortStableFunc(all, func(x, y RiggedGel) int { return strings.Compare(x.Name, y.Name) })
	return all
}

// InWords writes a value with its unit: "5600 K", "60 % (planned)".
func (v *RiggedValue) InWords(unit string) string {
	words := string(v.Value) + unit
	if v.Planned {
		words += " (planned)"
	}
	return words
}

// GelWords lists the gels of a light; "" for none.
func (l *RiggedLight) GelWords() string {
	names := make([]string, len(l.Gels))
	for i, g := range l.Gels {
		if names[i] = g.Name; g.Planned {
			names[i] += " (planned)"
		}
	}
	return strings.Join(names, " + ")
}

func (l *RiggedLight) inWords() string {
	parts := []string{"no lamp named"}
	if l.Lamp != nil {
		parts[0] = l.Lamp.Name
	}
	for _, p := range [...]struct {
		value        *RiggedValue
		before, unit string
	}{{l.DialKelvin, "dial ", " K"}, {l.DialGreenMagenta, "green–magenta ", ""}, {l.LevelPercent, "", " %"}} {
		if p.value != nil {
			parts = append(parts, p.before+p.value.InWords(p.unit))
		}
	}
	if gels := l.GelWords(); gels != "" {
		parts = append(parts, gels)
	}
	if !l.On {
		parts = append(parts, "off")
	}
	return strings.Join(parts, ", ")
}

// read notes what was read of the light.
func (l *RiggedLight) read(s *setup.SetUp, light logbook.View, at logbook.Millis) {
	spoken := s.Light(light, at)
	l.Spoken = spoken
	m := spoken.Reading
	if m == nil {
		l.Problem = spoken.Problem
		return
	}
	l.Reading = &LightRead{Reading: m.Reading, TakenAt: m.TakenAt.Time(), When: spoken.When(), Color: spoken.Color,
		IlluminanceLux: spoken.Lux, FloorMired: m.FloorMired()}
	if spoken.Next != nil {
		l.Reading.NextReading = spoken.Next.Reading
	}
	if at == logbook.Ever {
		l.Reading.When = "read at " + m.Clock()
	}
}

// doubt notes what is not sure of a light.
func (l *RiggedLight) doubt(s *setup.SetUp, light logbook.View, at logbook.Millis) {
	if entered := light.CreatedAt(); entered > at && s.Course(light).LastBefore(at) == nil {
		l.Caveats = append(l.Caveats, "entered at "+Clock(s, entered)+
			", after this moment, and not read before: whether it stood then is not said")
	}
	for _, c := range amend.ConflictsOf(light) {
		values := make([]string, len(c.Heads))
		for i, h := range c.Heads {
			values[i] = fmt.Sprintf("%s (%s)", lighting.ValueWords(s.Book(), h.Value), h.By())
		}
		l.Caveats = append(l.Caveats, "not settled: "+c.Field+" "+strings.Join(values, " or "))
	}
}

// Clock is a moment of a set-up as the clock stood on the set: in the zone of its day, else of
// the production, else UTC.
func Clock(s *setup.SetUp, at logbook.Millis) string {
	return figure.ClockIn(at.Time(), ZoneOf(s.Book(), s.Day()))
}

// DateClock is a moment with its date: "17:38 UTC+1 on 2026-03-06".
func DateClock(at logbook.Millis, zone *time.Location) string {
	return figure.ClockIn(at.Time(), zone) + " on " + at.Time().In(zone).Format(time.DateOnly)
}

// ZoneOf is the time zone of a day, else of the production, else UTC.
func ZoneOf(b *logbook.Book, day logbook.ID) *time.Location {
	name := ""
	if production, ok := lighting.ProductionOf(b); ok {
		name = production.Text("timeZone")
	}
	if v, ok := b.RecordOf(kinds.Day, day); ok && v.Text("timeZone") != "" {
		name = v.Text("timeZone")
	}
	if at, err := zone.Of(name); err == nil {
		return at
	}
	return time.UTC
}
