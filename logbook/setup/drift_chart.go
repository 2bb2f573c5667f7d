package setup

import (
	"fmt"
	"slices"
	"sort"
	"strings"
	"time"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// SetUpDrift is how the lights of a set-up went over time, with its whites and
// takes.
type SetUpDrift struct {
	SetUp    logbook.ID   `json:"setUp"`
	Name     string       `json:"name"` // of scene and set-up
	At       time.Time    `json:"at"`
	TimeZone string       `json:"timeZone,omitempty"` // IANA, of the production
	Headline string       `json:"headline"`           // of the light that leaves its limits first, else that moves: "window: 23 mired warmer in 37 min"
	Words    string       `json:"words"`
	Lights   []LightDrift `json:"lights"`
	Whites   []WhiteStep  `json:"whites"` // by time
	Takes    []TakeMark   `json:"takes"`  // by time
}

// LightDrift is how one light went, or the mix of all that are on.
type LightDrift struct {
	Light    logbook.ID     `json:"light,omitzero"` // absent: the mix
	Key      string         `json:"key"`            // "1", "mix"
	Name     string         `json:"name"`
	Role     string         `json:"role,omitempty"`
	Intent   string         `json:"intent,omitempty"`
	Readings []DriftReading `json:"readings"` // by time
	// Limits are bands about what the light is judged by: the white for one that is
	// to match, OwnColor for one that holds its own. Absent: it is not judged.
	Limits   *figure.Limits `json:"limits,omitempty"`
	OwnColor *figure.Shown  `json:"ownColor,omitempty"`
	// Trend is how it moves now, as it is told everywhere.
	Trend   *Drift `json:"trend,omitempty"`
	NoTrend string `json:"noTrend,omitempty"` // why there is no trend
	Words   string `json:"words"`
}

// DriftReading is a reading in the course of a light, or the mix when one of its
// lights was read.
type DriftReading struct {
	Reading        logbook.ID    `json:"reading"`
	TakenAt        time.Time     `json:"takenAt"`
	Sky            string        `json:"sky,omitempty"`
	Position       string        `json:"position,omitempty"`
	Color          *figure.Shown `json:"color,omitempty"`
	Problem        string        `json:"problem,omitempty"` // why there is no colour
	IlluminanceLux *float64      `json:"illuminanceLux,omitempty"`
	// StepsOff counts the steps from the white, or from the light's own colour.
	StepsOff *float64 `json:"stepsOff,omitempty"`
	// Changed says what of the lamp was changed since the reading before: no drift
	// leads over it.
	Changed []string `json:"changed,omitempty"`
	m       *lighting.Reading
}

// WhiteStep is a white over the time in which it is in force.
type WhiteStep struct {
	White   logbook.ID    `json:"white"`
	From    *time.Time    `json:"from,omitempty"`  // absent: from the start
	Until   *time.Time    `json:"until,omitempty"` // absent: still
	Color   *figure.Shown `json:"color,omitempty"`
	Words   string        `json:"words"`
	Problem string        `json:"problem,omitempty"` // why it has no colour
	at      logbook.Millis
	in      White
}

// TakeMark is a take on the axis of time.
type TakeMark struct {
	Take logbook.ID `json:"take"`
	Name string     `json:"name"` // "take 4"
	Key  string     `json:"key"`  // "4", "6PU"
	At   time.Time  `json:"at"`
}

// Drifts is how the lights of a set-up went: one alone where light names it, else all
// of them and their mix. Errors wrap ErrNoRecord.
func Drifts(b *logbook.Book, setUp, light logbook.ID, now logbook.Millis) (SetUpDrift, error) {
	view, err := logbook.FindRecord(b, kinds.SetUp, "setUp", setUp)
	if err != nil {
		return SetUpDrift{}, err
	}
	if !light.IsZero() {
		record, err := logbook.FindRecord(b, kinds.Light, "light", light)
		if err != nil {
			return SetUpDrift{}, err
		}
		if record.Ref("setUp") != view.ID {
			return SetUpDrift{}, fmt.Errorf("%w: light is %s, allowed is the id of a light of set-up %s",
				logbook.ErrNoRecord, light, lighting.SetUpName(b, view))
		}
		light = record.ID
	}
	s := NewReader(b).ReadToWrap(view, now)
	d := SetUpDrift{SetUp: view.ID, Name: lighting.SetUpName(b, view), At: min(now, s.upTo).Time(),
		Lights: []LightDrift{}, Whites: s.whiteSteps(), Takes: []TakeMark{}}
	if p, ok := lighting.ProductionOf(b); ok {
		d.TimeZone = p.Text("timeZone")
	}
	for i, l := range s.lights {
		if light.IsZero() || l.ID == light {
			d.Lights = append(d.Lights, s.chartLight(fmt.Sprint(i+1), l, d.Whites))
		}
	}
	if mix := s.chartMix(d.Whites); light.IsZero() && len(mix.Readings) > 0 {
		d.Lights = append(d.Lights, mix)
	}
	for _, take := range s.takes {
		number, _ := take.Value("number").Number()
		d.Takes = append(d.Takes, TakeMark{take.ID, lighting.TakeName(take), number + take.Text("suffix"), s.times[take.ID].Time()})
	}
	d.Headline = driftHeadline(d.Lights)
	readings := 0
	for _, l := range d.Lights {
		if !l.Light.IsZero() {
			readings += len(l.Readings)
		}
	}
	d.Words = fmt.Sprintf("lights: %d, readings: %d, whites: %d, takes: %d", len(s.lights), readings, len(d.Whites), len(d.Takes))
	if !light.IsZero() {
		d.Words = fmt.Sprintf("readings: %d, whites: %d, takes: %d", readings, len(d.Whites), len(d.Takes))
	}
	return d, nil
}

// chartLight is the course of a light.
func (s *SetUp) chartLight(key string, light logbook.View, whites []WhiteStep) LightDrift {
	l := LightDrift{Light: light.ID, Key: key, Name: light.Text("name"), Role: light.Text("role"),
		Intent: lighting.Intent(light), Readings: []DriftReading{}}
	var own *colorimetry.XY
	if l.Intent != "leave" {
		limits := s.RoleLimits(light)
		l.Limits = &limits
	}
	if l.Intent == "holdOwnColor" {
		if xy, _, record, err := s.OwnColor(light); err == nil {
			floor := 0.0
			if m := s.readingByID(record); m != nil {
				floor = m.FloorXY
			}
			own, l.OwnColor = &xy, figure.ShownAs(xy, floor)
		}
	}
	var before *lighting.Reading
	for _, m := range s.readings {
		if !m.Plain() || !m.OfLight(light.ID) || m.TakenAt > s.upTo {
			continue
		}
		r := DriftReading{Reading: m.Reading, TakenAt: m.TakenAt.Time(), Sky: m.Sky, Position: m.Position, Color: m.Shown(),
			Problem: m.Problem, IlluminanceLux: m.IlluminanceLux, m: m}
		if m.Color != nil {
			if before != nil {
				if words := s.Course(light).Between(before, m); words != "" {
					r.Changed = []string{words}
				}
			}
			before = m
		}
		r.stepsOff(own, whites)
		l.Readings = append(l.Readings, r)
	}
	l.setDrift(s.Drift(light, s.current))
	return l
}

// setDrift takes in how the light moves, or why that is not known.
func (l *LightDrift) setDrift(d *Drift, err error) {
	if l.Trend = d; err != nil {
		l.NoTrend = strings.TrimPrefix(err.Error(), figure.ErrUnknown.Error()+": ")
		l.Words = l.NoTrend
		return
	}
	l.Words = d.Words
}

func (s *SetUp) readingByID(reading logbook.ID) *lighting.Reading {
	for _, m := range s.readings {
		if m.Reading == reading {
			return m
		}
	}
	return nil
}

// stepsOff counts from the light's own colour, else from the white in force then.
func (r *DriftReading) stepsOff(own *colorimetry.XY, whites []WhiteStep) {
	if r.m.Color == nil {
		return
	}
	if own != nil {
		r.StepsOff = figure.ColorDifference(r.m.Color.XY, *own).Steps
		return
	}
	for i := len(whites) - 1; i >= 0; i-- {
		if whites[i].at <= r.m.TakenAt {
			if c := whites[i].in.Color; c != nil {
				r.StepsOff = figure.CastDifference(r.m.Color.XY, c.XY).Steps
			}
			return
		}
	}
}

// whiteSteps are the whites in the order in which they come into force.
func (s *SetUp) whiteSteps() []WhiteStep {
	steps := []WhiteStep{}
	for _, at := range s.whiteStarts() {
		white, ok := first(s.history.count(whiteSpot{at: at}))
		if !ok || len(steps) > 0 && steps[len(steps)-1].White == white.ID {
			continue
		}
		in := s.colour(white)
		w := WhiteStep{White: white.ID, at: at, in: in, Problem: in.Problem}
		if at != logbook.Beginning {
			t := at.Time()
			w.From = &t
			if n := len(steps); n > 0 {
				steps[n-1].Until = &t
			}
		}
		w.Words = in.Words
		if in.Color != nil {
			w.Color = figure.ShownAs(in.Color.XY, lighting.FloorBehind(s.book, in.Origin))
			w.Words = w.Color.Words + ", " + in.Words
		}
		steps = append(steps, w)
	}
	return steps
}

// whiteStarts are the times at which a white comes into force, each once.
func (s *SetUp) whiteStarts() (all []logbook.Millis) {
	for _, c := range s.history.all {
		if c.begin.as != "" {
			all = append(all, c.beganAt())
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i] < all[j] })
	return slices.Compact(all)
}
