package setup

import (
	"cmp"
	"fmt"
	"math"
	"sort"
	"strings"
	"time"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
)

// Drift is how a light or a mix moves by itself: from readings at one place,
// under one sky, with the lights set the same. Words, findings and pictures all tell
// this one.
type Drift struct {
	Headline string       `json:"headline"` // "23 mired warmer in 37 min, out of limits 17:38 UTC+1"
	Words    string       `json:"words"`
	Readings []logbook.ID `json:"readings"`
	Sky      string       `json:"sky,omitempty"`
	Since    time.Time    `json:"since"` // what was observed
	Until    time.Time    `json:"until"`
	Mired    Slope        `json:"mired"` // + gets warmer
	Duv      Slope        `json:"duv"`   // + gets greener
	Stops    *Slope       `json:"stops,omitempty"`
	// Line are points of the straight line through the readings, by the medians of
	// slopes: at the first and at the last of them, and, where a direction is beyond
	// doubt, at ForecastUntil.
	Line []LinePoint `json:"line"`
	// ForecastUntil is as far ahead as was observed: no forecast goes further.
	ForecastUntil time.Time `json:"forecastUntil"`
	// LeavesAt is when it leaves its limits, if it goes on; absent where it is outside
	// already, where the direction is in doubt, or where that is not foreseen.
	LeavesAt *time.Time     `json:"leavesAt,omitempty"`
	Course   string         `json:"-"` // Words without LeavesAt
	Zone     *time.Location `json:"-"`
}

// LinePoint is where a line of drift is at a time.
type LinePoint struct {
	At    time.Time `json:"at"`
	Mired float64   `json:"mired"`
	Duv   float64   `json:"duv"`
}

// Slope is a change by the hour, which lies from Low to High with a confidence
// of 95 % or more.
type Slope struct {
	PerHour float64 `json:"perHour"`
	Low     float64 `json:"low"`
	High    float64 `json:"high"`
}

// mostDriftReadings bounds the work, which grows with the square.
const mostDriftReadings = 200

// observed are the readings of a drift.
type observed struct {
	zero     logbook.Millis
	readings []*lighting.Reading
	floors   []figure.Floors // of the readings
	all      []colorimetry.Observation
}

// add takes in a colour when m was read, with a floor in x and y.
func (o *observed) add(m *lighting.Reading, sky string, xy colorimetry.XY, floorXY float64, lux *float64) {
	t, err := xy.CCTDuv()
	if err != nil {
		return
	}
	if len(o.all) == 0 {
		o.zero = m.TakenAt
	}
	one := colorimetry.Observation{At: time.Duration(m.TakenAt-o.zero) * time.Millisecond, Sky: sky, Light: t}
	if lux != nil {
		one.Lux = colorimetry.Lux(*lux)
	}
	o.all, o.readings, o.floors = append(o.all, one), append(o.readings, m), append(o.floors, figure.FloorsOf(xy, floorXY))
}

// from leaves out what was observed before the i-th.
func (o observed) from(i int) observed {
	o.all, o.readings, o.floors = o.all[i:], o.readings[i:], o.floors[i:]
	return o
}

// floor is the coarsest of the readings, in mired and Duv.
func (o observed) floor() (most figure.Floors) {
	for _, f := range o.floors {
		most.Mired, most.Duv = max(most.Mired, f.Mired), max(most.Duv, f.Duv)
	}
	return most
}

// What the arithmetic itself may be off by: a meter without a floor is finer than that.
const roundingMired, roundingDuv = 1e-6, 1e-9

// fit is the line through the readings, and whether each lies on it as finely as its meter
// tells.
func (o observed) fit() (fit colorimetry.Drift, fits bool, err error) {
	if fit, err = colorimetry.DriftOf(o.all); err != nil {
		return fit, false, err
	}
	for i, one := range o.all {
		mired, _, _, err := fit.Mired.At(one.At)
		if err != nil {
			return fit, false, err
		}
		duv, _, _, err := fit.Duv.At(one.At)
		if err != nil {
			return fit, false, err
		}
		off, aside := float64(one.Light.Mired())-mired, float64(one.Light.Duv)-duv
		if math.Abs(off) > o.floors[i].Mired+roundingMired || math.Abs(aside) > o.floors[i].Duv+roundingDuv {
			return fit, false, nil
		}
	}
	return fit, true, nil
}

// recent is the newest stretch that one line fits: dusk bends, and a line through all of it
// would tell the afternoon. Where no stretch fits, all readings count.
func (o observed) recent() (observed, colorimetry.Drift, error) {
	whole, fits, err := o.fit()
	if err != nil || fits {
		return o, whole, err
	}
	newest := o.all[len(o.all)-1].At
	last := len(o.all) - colorimetry.MinDriftReadings
	for last > 0 && newest-o.all[last].At < colorimetry.MinDriftSpan {
		last--
	}
	if last == 0 {
		return o, whole, nil
	}
	first := 1 + sort.Search(last-1, func(i int) bool { _, fits, _ := o.from(i + 1).fit(); return fits })
	part := o.from(first)
	if fit, fits, err := part.fit(); err == nil && fits {
		return part, fit, nil
	}
	return o, whole, nil
}

// observe lists the readings that show how a light moved up to the given one, in its state.
// What another meter said counts where the two were compared.
func (s *SetUp) observe(light logbook.View, m *lighting.Reading) (o observed) {
	c := s.Course(light)
	sky := cmp.Or(c.SkyOf(m), m.Sky)
	for _, r := range c.Readings() {
		if r.Position != m.Position || r.TakenAt > m.TakenAt || m.TakenAt-r.TakenAt > leftAfter || !c.SameState(r, m) ||
			light.Ref("lamp").IsZero() && otherSky(r, m) {
			continue
		}
		if xy, _, ok := s.asReadBy(m.Meter, r); ok {
			o.add(r, sky, xy, r.FloorXY, r.IlluminanceLux)
		}
	}
	return o
}

// otherSky reports whether two readings name two skies.
func otherSky(a, b *lighting.Reading) bool { return a.Sky != "" && b.Sky != "" && a.Sky != b.Sky }

// Drift is how a light moves, up to the moment for which the set-up was read. The error says
// why there is none: it takes at least 4 readings over 20 minutes in one state.
func (s *SetUp) Drift(light logbook.View, p *Period) (*Drift, error) {
	spoken := s.LightHere(light)
	if spoken.Reading == nil || spoken.How == lighting.After {
		return nil, fmt.Errorf("%w: %s", figure.ErrUnknown, cmp.Or(spoken.Problem, "it was read later only"))
	}
	limits := s.RoleLimits(light)
	var off func(colorimetry.XY) figure.Difference
	switch lighting.Intent(light) {
	case "match":
		if p.Reference != nil {
			off = func(xy colorimetry.XY) figure.Difference { return figure.CastDifference(xy, p.Reference.XY) }
		}
	case "holdOwnColor":
		if target, _, _, err := s.OwnColor(light); err == nil {
			off = func(xy colorimetry.XY) figure.Difference { return figure.ColorDifference(xy, target) }
		}
	}
	return s.observe(light, spoken.Reading).drift(spoken.Reading.Color.XY, off, limits)
}

// drift fits a line to the readings. off is nil where nothing is judged.
func (o observed) drift(now colorimetry.XY, off func(colorimetry.XY) figure.Difference, limits figure.Limits) (*Drift, error) {
	if n := len(o.all); n > mostDriftReadings {
		o = o.from(n - mostDriftReadings)
	} else if n < colorimetry.MinDriftReadings {
		return nil, fmt.Errorf("%w: too few readings for a drift: %d of %d in one state of lamp and sky, at one position",
			figure.ErrUnknown, n, colorimetry.MinDriftReadings)
	}
	o, fit, err := o.recent()
	if err != nil {
		return nil, fmt.Errorf("%w: no drift is told: %s", figure.ErrUnknown, figure.DomainWords(err))
	}
	at := func(t time.Duration) time.Time { return o.zero.Time().Add(t) }
	first, last := o.readings[0], o.readings[len(o.readings)-1]
	d := &Drift{Sky: o.all[0].Sky,
		Since: at(fit.Mired.First), Until: at(fit.Mired.Last), ForecastUntil: at(fit.Mired.Horizon()),
		Mired: slopeOf(fit.Mired, 1), Duv: slopeOf(fit.Duv, figure.DuvDecimals), Zone: last.Zone()}
	for _, m := range o.readings {
		d.Readings = append(d.Readings, m.Reading)
	}
	if fit.Stops != nil {
		stops := slopeOf(*fit.Stops, 2)
		d.Stops = &stops
	}
	moves := o.moves(fit)
	d.Line = o.line(fit, moves.sure)
	d.Headline = moves.headline
	d.Course = fmt.Sprintf("%s, by %s from %s to %s", moves.words, figure.Counted(len(o.all), "reading"), first.Clock(), last.Clock())
	d.Words = d.Course
	if off == nil || !moves.sure {
		return d, nil
	}
	if _, beyond := limits.Exceeded(off(now)); beyond {
		return d, nil
	}
	if t, ok := leaves(fit, off, limits); ok {
		when := at(t)
		d.LeavesAt = &when
		d.Words += fmt.Sprintf("; it leaves its limits about %s, if it goes on", figure.ClockIn(when, d.Zone))
		d.Headline += ", out of limits " + figure.ClockIn(when, d.Zone)
	}
	return d, nil
}

// line are the points of the line that are shown.
func (o observed) line(fit colorimetry.Drift, ahead bool) (all []LinePoint) {
	ends := []time.Duration{fit.Mired.First, fit.Mired.Last}
	if ahead {
		ends = append(ends, fit.Mired.Horizon())
	}
	for _, t := range ends {
		mired, _, _, err := fit.Mired.At(t)
		if err != nil {
			break // no end lies outside the line's own domain
		}
		duv, _, _, err := fit.Duv.At(t)
		if err != nil {
			break
		}
		all = append(all, LinePoint{o.zero.Time().Add(t), figure.RoundTo(mired, 1), figure.RoundTo(duv, figure.DuvDecimals)})
	}
	return all
}

// slopeOf rounds a slope as it is shown.
func slopeOf(t colorimetry.Trend, decimals int) Slope {
	return Slope{figure.RoundTo(t.PerHour, decimals), figure.RoundTo(t.Low, decimals), figure.RoundTo(t.High, decimals)}
}

// surestStops is how much light has to change before it is told: a choice of this program,
// since meters do not say how finely they tell lux.
const surestStops = 0.1

// moved is what of a drift is beyond doubt, and beyond what the meter tells.
type moved struct {
	sure            bool // its colour moves
	words, headline string
}

func (o observed) moves(fit colorimetry.Drift) (m moved) {
	span, floor := fit.Mired.Last-fit.Mired.First, o.floor()
	hours := span.Hours()
	sure := func(t *colorimetry.Trend, floor float64) bool {
		return t != nil && t.Certain() && math.Abs(t.PerHour*hours) >= floor
	}
	digits := func(floor float64, finest int) int { return max(figure.CarriedDecimals(floor/hours, finest), 0) }
	way := func(x float64, more, less string) string {
		if x > 0 {
			return more
		}
		return less
	}
	var words, short []string
	if sure(&fit.Mired, floor.Mired) {
		x := fit.Mired.PerHour
		words = append(words, fmt.Sprintf("%.*f mired %s an hour", digits(floor.Mired, 1), math.Abs(x), way(x, "warmer", "cooler")))
		short = append(short, fmt.Sprintf("%.0f mired %s", math.Abs(x*hours), way(x, "warmer", "cooler")))
	}
	if sure(&fit.Duv, floor.Duv) {
		x := fit.Duv.PerHour
		places := digits(floor.Duv, figure.DuvDecimals)
		words = append(words, fmt.Sprintf("Duv %.*f %s an hour", places, math.Abs(x), way(x, "greener", "more magenta")))
		short = append(short, way(x, "greener", "more magenta"))
	}
	m.sure = len(words) > 0
	if sure(fit.Stops, surestStops) {
		x := fit.Stops.PerHour
		words = append(words, fmt.Sprintf("%.1f stops %s an hour", math.Abs(x), way(x, "brighter", "darker")))
		if !m.sure {
			short = append(short, fmt.Sprintf("%.1f stops %s", math.Abs(x*hours), way(x, "brighter", "darker")))
		}
	}
	if len(words) == 0 {
		tells := figure.RoundTo(floor.Mired, figure.CarriedDecimals(floor.Mired, figure.MiredDecimals))
		m.words = fmt.Sprintf("steady, as far as the meter tells (±%g mired)", tells)
		m.headline = fmt.Sprintf(steadyWords+"for %.0f min", span.Minutes())
		return m
	}
	m.words = strings.Join(words, ", ")
	m.headline = fmt.Sprintf("%s in %.0f min", strings.Join(short, ", "), span.Minutes())
	return m
}

// leaves looks ahead, minute by minute up to the horizon, for the first minute at which
// the lines of mired and Duv are outside the limits.
func leaves(fit colorimetry.Drift, off func(colorimetry.XY) figure.Difference, limits figure.Limits) (time.Duration, bool) {
	for t := fit.Mired.Last; t <= fit.Mired.Horizon(); t += time.Minute {
		mired, _, _, err := fit.Mired.At(t)
		if err != nil {
			return 0, false
		}
		duv, _, _, err := fit.Duv.At(t)
		if err != nil {
			return 0, false
		}
		k, err := colorimetry.Mired(mired).Kelvin()
		if err != nil {
			return 0, false
		}
		xy, err := colorimetry.CCTDuv{CCT: k, Duv: colorimetry.Duv(duv)}.XY()
		if err != nil {
			return 0, false
		}
		if _, beyond := limits.Exceeded(off(xy)); beyond {
			return t, true
		}
	}
	return 0, false
}
