package setup

import (
	"fmt"
	"math"
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
	zero       logbook.Millis
	zone       *time.Location // of the newest
	floorMired float64        // the coarsest
	readings   []logbook.ID
	all        []colorimetry.Observation
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
	o.all, o.readings, o.zone = append(o.all, one), append(o.readings, m.Reading), m.Zone()
	o.floorMired = max(o.floorMired, figure.FloorsOf(xy, floorXY).Mired)
}

// observe lists the readings that show how a light moved up to the given one.
// What another meter said counts where the two were compared.
func (s *SetUp) observe(light logbook.View, m *lighting.Reading) (o observed) {
	for _, r := range s.readings {
		if !r.Plain() || !r.OfLight(light.ID) || r.Color == nil || r.Sky != m.Sky || r.Position != m.Position ||
			r.TakenAt > m.TakenAt || m.TakenAt-r.TakenAt > leftAfter || !lighting.SameState(light, r, m) {
			continue
		}
		if xy, _, ok := s.asReadBy(m.Meter, r); ok {
			o.add(r, r.Sky, xy, r.FloorXY, r.IlluminanceLux)
		}
	}
	return o
}

// Drift is how a light moves, by the reading that speaks of it. The error says why
// there is none: it takes at least 4 readings over 20 minutes.
func (s *SetUp) Drift(light logbook.View, m *lighting.Reading, p *Period) (*Drift, error) {
	switch {
	case m == nil:
		return nil, fmt.Errorf("%w: it was not measured", figure.ErrUnknown)
	case m.Color == nil:
		return nil, fmt.Errorf("%w: %s", figure.ErrUnknown, m.Problem)
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
	return s.observe(light, m).drift(m.Color.XY, off, limits)
}

// drift fits a line to the readings. off is nil where nothing is judged.
func (o observed) drift(now colorimetry.XY, off func(colorimetry.XY) figure.Difference, limits figure.Limits) (*Drift, error) {
	if n := len(o.all); n > mostDriftReadings {
		o.all, o.readings = o.all[n-mostDriftReadings:], o.readings[n-mostDriftReadings:]
	} else if n < colorimetry.MinDriftReadings {
		return nil, fmt.Errorf("%w: too few readings for a drift: %d of %d in one state of lamp and sky, at one position",
			figure.ErrUnknown, n, colorimetry.MinDriftReadings)
	}
	fit, err := colorimetry.DriftOf(o.all)
	if err != nil {
		return nil, fmt.Errorf("%w: no drift is told: %s", figure.ErrUnknown, figure.DomainWords(err))
	}
	at := func(t time.Duration) time.Time { return o.zero.Time().Add(t) }
	d := &Drift{Readings: o.readings, Sky: o.all[0].Sky,
		Since: at(fit.Mired.First), Until: at(fit.Mired.Last), ForecastUntil: at(fit.Mired.Horizon()),
		Mired: slopeOf(fit.Mired, 1), Duv: slopeOf(fit.Duv, figure.DuvDecimals), Zone: o.zone}
	if fit.Stops != nil {
		stops := slopeOf(*fit.Stops, 2)
		d.Stops = &stops
	}
	certain := fit.Mired.Certain() || fit.Duv.Certain()
	d.Line = o.line(fit, certain)
	span := fit.Mired.Last - fit.Mired.First
	d.Course = fmt.Sprintf("%s by %s in %.0f minutes", d.moves(fit), figure.Counted(len(o.all), "reading"), span.Minutes())
	if fit.Mired.Certain() && d.Mired.PerHour != 0 && math.Abs(fit.Mired.PerHour*span.Hours()) < o.floorMired {
		floor := figure.RoundTo(o.floorMired, figure.CarriedDecimals(o.floorMired, figure.MiredDecimals))
		d.Course += fmt.Sprintf(", less than the meter tells (±%g mired)", floor)
	}
	d.Words = d.Course
	if off == nil || !certain {
		return d, nil
	}
	if _, beyond := limits.Exceeded(off(now)); beyond {
		return d, nil
	}
	if t, ok := leaves(fit, off, limits); ok {
		when := at(t)
		d.LeavesAt = &when
		d.Words += fmt.Sprintf("; it leaves its limits about %s, if it goes on", figure.ClockIn(when, d.Zone))
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

// moves says what is beyond doubt of a drift.
func (d *Drift) moves(fit colorimetry.Drift) string {
	var words []string
	add := func(w string) { words = append(words, w) }
	if m := d.Mired.PerHour; fit.Mired.Certain() && m != 0 {
		add(fmt.Sprintf("%g mired %s an hour", math.Abs(m), map[bool]string{true: "warmer", false: "cooler"}[m > 0]))
	}
	if v := d.Duv.PerHour; fit.Duv.Certain() && v != 0 {
		add(fmt.Sprintf("Duv %.4f %s an hour", math.Abs(v), map[bool]string{true: "greener", false: "more magenta"}[v > 0]))
	}
	if fit.Stops != nil && fit.Stops.Certain() && d.Stops.PerHour != 0 {
		way := map[bool]string{true: "brighter", false: "darker"}[d.Stops.PerHour > 0]
		add(fmt.Sprintf("%g stops %s an hour", math.Abs(d.Stops.PerHour), way))
	}
	if len(words) == 0 {
		return "steady"
	}
	return strings.Join(words, ", ")
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
