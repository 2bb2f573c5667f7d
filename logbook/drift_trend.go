package logbook

import (
	"fmt"
	"slices"
	"time"

	"evenwhite/colorimetry"
)

// mostTrendReadings bounds the work, which grows with the square.
const mostTrendReadings = 200

// trend fits a line to the newest readings between which neither the lamp nor the
// sky changed.
func (l *LightDrift) trend() {
	var run []colorimetry.Observation
	first := 0
	for i := len(l.Readings) - 1; i >= 0 && len(run) < mostTrendReadings; i-- {
		r := l.Readings[i]
		if r.m.Color == nil || r.Sky != l.Readings[len(l.Readings)-1].Sky || r.Position != l.Readings[len(l.Readings)-1].Position {
			break
		}
		t, err := r.m.Color.cctDuv()
		if err != nil {
			break
		}
		o := colorimetry.Observation{At: time.Duration(r.m.TakenAt-l.Readings[len(l.Readings)-1].m.TakenAt) * time.Millisecond, Sky: r.Sky, Light: t}
		if r.IlluminanceLux != nil {
			o.Lux = colorimetry.Lux(*r.IlluminanceLux)
		}
		run, first = append(run, o), i
		if len(r.Changed) > 0 {
			break
		}
	}
	slices.Reverse(run)
	if n := len(run); n < colorimetry.MinDriftReadings {
		l.NoTrend = fmt.Sprintf("too few readings for a drift: %d of %d in one state of lamp and sky, at one position", n, colorimetry.MinDriftReadings)
		return
	}
	d, err := colorimetry.DriftOf(run)
	if err != nil {
		l.NoTrend = "no drift is told: " + domainWords(err)
		return
	}
	l.Trend = trendOf(d, l.Readings[first:], l.floorMired(first))
}

// floorMired is the coarsest floor of the readings from one on.
func (l *LightDrift) floorMired(first int) (floor float64) {
	for _, r := range l.Readings[first:] {
		if c := r.Color; c != nil && c.FloorMired != nil {
			floor = max(floor, *c.FloorMired)
		}
	}
	return floor
}

func trendOf(d colorimetry.Drift, run []DriftReading, floorMired float64) *Trend {
	t := &Trend{Readings: len(run), From: run[0].TakenAt, To: run[len(run)-1].TakenAt, Certain: d.Mired.Certain()}
	ends := func(line colorimetry.Trend, decimals int) (from, to float64) {
		a, _, _, err := line.At(line.First)
		b, _, _, err2 := line.At(line.Last)
		if err != nil || err2 != nil {
			return 0, 0 // both are ends of the line's own domain
		}
		return roundTo(a, decimals), roundTo(b, decimals)
	}
	t.FromMired, t.ToMired = ends(d.Mired, miredDecimals)
	t.FromDuv, t.ToDuv = ends(d.Duv, duvDecimals)
	t.MiredPerHour, t.MiredLow, t.MiredHigh = roundTo(d.Mired.PerHour, miredDecimals), roundTo(d.Mired.Low, miredDecimals), roundTo(d.Mired.High, miredDecimals)
	t.DuvPerHour = roundTo(d.Duv.PerHour, duvDecimals)
	if d.Stops != nil {
		t.StopsPerHour = rounded(d.Stops.PerHour, stopsDecimals)
	}
	minutes := t.To.Sub(t.From).Minutes()
	move := Difference{Mired: rounded(t.ToMired-t.FromMired, miredDecimals), Duv: rounded(t.ToDuv-t.FromDuv, duvDecimals)}
	t.Words = fmt.Sprintf("%s in %.0f min, %d readings", move.words(), minutes, t.Readings)
	switch {
	case !t.Certain:
		t.Words += ", the direction is not certain"
	case abs(*move.Mired) < floorMired:
		t.Words += fmt.Sprintf(", less than the meter tells (±%g mired)", floorMired)
	}
	return t
}

// inWords sums up a light.
func (l *LightDrift) inWords() {
	switch {
	case len(l.Readings) == 0:
		l.Words = "it was not measured"
	case l.Trend != nil:
		l.Words = l.Trend.Words
	default:
		l.Words = l.NoTrend
	}
}

// whiteStarts are the times at which a white comes into force, each once.
func (s *situation) whiteStarts() (all []Millis) {
	for _, w := range WhitesOf(s.book, s.setUp.ID) {
		if start, known := since(s.book, w); known {
			all = append(all, start.at)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// mixDrift is the mix of the lights that are on, at every time at which one of
// them was read and all had been. Which lights are on is as the log says now.
func (s *situation) mixDrift(whites []WhiteStep) LightDrift {
	l := LightDrift{Key: "mix", Name: "mix of the lights that are on", Readings: []DriftReading{}}
	lit := 0
	for _, light := range s.lights {
		if lightIsOn(light) {
			lit++
		}
	}
	position := s.setUp.Text("referencePosition")
	if position != "" {
		l.Name += ", at " + position
	}
	if lit > 1 {
		for _, m := range s.readings {
			if !m.plain() || m.Color == nil || m.Of != "light" && m.Of != "everything" {
				continue
			}
			if r, ok := s.mixAt(position, m); ok {
				r.stepsOff(nil, whites)
				l.Readings = append(l.Readings, r)
			}
		}
	}
	l.trend()
	l.inWords()
	return l
}

func (s *situation) mixAt(position string, m *Measurement) (DriftReading, bool) {
	r := s.resolver()
	xy, err := r.mix(s.setUp.ID, position, m.TakenAt)
	if err != nil {
		return DriftReading{}, false
	}
	lux := 0.0
	for _, id := range r.origin.Records {
		used := s.measurement(id)
		if used == nil || used.TakenAt > m.TakenAt {
			return DriftReading{}, false
		}
		if used.IlluminanceLux != nil {
			lux += *used.IlluminanceLux
		}
	}
	mixed := *m
	mixed.Color = chromaticityOf(xy)
	out := DriftReading{Reading: m.Reading, TakenAt: m.TakenAt.Time(), Sky: m.Sky, Position: position, Color: shownAs(xy, floorBehind(s.book, r.origin)), m: &mixed}
	if lux > 0 {
		out.IlluminanceLux = rounded(lux, luxDecimals)
	}
	return out, true
}
