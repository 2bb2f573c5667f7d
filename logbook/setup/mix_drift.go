package setup

import (
	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// ByMix reports whether a period's white is the mix of the lights, and where.
func (s *SetUp) ByMix(p *Period) (position string, ok bool) {
	if !p.White.Known() {
		return "", false
	}
	from := p.White.Value("from")
	switch as, _ := from.Member("as").Text(); as {
	case "mix":
		position, _ = from.Member("position").Text()
		return position, true
	case "readings":
		for item := range from.Member("readings").Items() {
			id, _ := item.Member("reading").ID()
			v, found := s.book.RecordOf(kinds.Reading, id)
			if !found {
				return "", false
			}
			m := lighting.Read(s.book, v)
			if m.Of != "everything" {
				return "", false
			}
			position, ok = m.Position, true
		}
	}
	return position, ok
}

// mixOff judges a mix against the reference.
func (s *SetUp) mixOff() func(colorimetry.XY) figure.Difference {
	p := s.current
	if _, ok := s.ByMix(p); !ok || p.Reference == nil {
		return nil
	}
	return func(xy colorimetry.XY) figure.Difference { return figure.CastDifference(xy, p.Reference.XY) }
}

// MixDrift is how the mix moves that the cameras are balanced for; nil where they are
// not balanced for one, or where nothing shows it.
func (s *SetUp) MixDrift() *Drift {
	if _, ok := s.ByMix(s.current); !ok {
		return nil
	}
	d, err := s.driftOfMix(s.chartedPosition())
	if err != nil {
		return nil
	}
	return d
}

// driftOfMix is how the mix at a position moves: by readings of everything, else by the
// sum of the lights at every reading of one of them. The error says why there is none.
func (s *SetUp) driftOfMix(position string) (*Drift, error) {
	mix, err := s.Mix(position, s.upTo)
	if err != nil {
		return nil, err
	}
	observed := s.observeSums(position)
	if mix.Together {
		observed = s.observeTogether(position, mix.Readings[0])
	}
	return observed.drift(mix.Light.Light, s.mixOff(), s.limits)
}

// stood reports whether all lights were on or off and set at a moment as at a later one, and
// none was changed in between that nobody typed.
func (s *SetUp) stood(from, to logbook.Millis) bool {
	for _, light := range s.lights {
		c := s.Course(light)
		if c.OnAt(from) != c.OnAt(to) || c.OnAt(to) && !c.StoodFrom(from, to) || light.CreatedAt() > from && light.CreatedAt() <= to {
			return false
		}
	}
	return true
}

func (s *SetUp) observeTogether(position string, last *lighting.Reading) (o observed) {
	for _, m := range s.readings {
		if !isTogether(m, position) || m.Position != last.Position || otherSky(m, last) || m.TakenAt > last.TakenAt ||
			last.TakenAt-m.TakenAt > leftAfter || !s.stood(m.TakenAt, last.TakenAt) {
			continue
		}
		if xy, _, ok := s.asReadBy(last.Meter, m); ok {
			o.add(m, "", xy, m.FloorXY, m.IlluminanceLux)
		}
	}
	return o
}

// observeSums adds the lights up whenever one of them was read again, as long as none was
// touched and all had been read.
func (s *SetUp) observeSums(position string) (o observed) {
	until := s.asked(s.upTo)
	for _, m := range s.readings {
		if m.Of != "light" || !m.Plain() || m.Color == nil || m.IlluminanceLux == nil || !atPosition(m, position) ||
			m.TakenAt > s.upTo || until-m.TakenAt > leftAfter || !s.stood(m.TakenAt, s.upTo) {
			continue
		}
		sum, ok := s.sumRead(position, m.TakenAt)
		if !ok {
			continue
		}
		lux := float64(sum.Light.Lux)
		o.add(m, "", sum.Light.Light, lighting.CoarsestFloor(sum.Readings), &lux)
	}
	return o
}

// sumRead is the sum of more than one light at a moment at which all of them had been read.
func (s *SetUp) sumRead(position string, moment logbook.Millis) (MixAt, bool) {
	sum, err := s.sumAt(position, moment)
	if err != nil || len(sum.Readings) < 2 {
		return sum, false
	}
	for _, m := range sum.Readings {
		if m.TakenAt > moment {
			return sum, false
		}
	}
	return sum, true
}

// chartMix is the course of the mix at one position: as it was read together, else as the
// lights add up whenever one of them was read and all had been.
func (s *SetUp) chartMix(whites []WhiteStep) LightDrift {
	position := s.chartedPosition()
	l := LightDrift{Key: "mix", Name: "everything, read together", Readings: []DriftReading{}}
	for _, m := range s.readings {
		if isTogether(m, position) && m.TakenAt <= s.upTo {
			l.Readings = append(l.Readings, chartPoint(m, m.Color, m.IlluminanceLux, m.FloorXY))
		}
	}
	if len(l.Readings) == 0 {
		l.Name = "mix of the lights that are on"
		l.Readings = append(l.Readings, s.chartSums(position)...)
	}
	if position != "" {
		l.Name += ", at " + position
	}
	for i := range l.Readings {
		l.Readings[i].stepsOff(nil, whites)
	}
	if len(l.Readings) > 0 {
		l.setDrift(s.driftOfMix(position))
	}
	return l
}

func (s *SetUp) chartSums(position string) (all []DriftReading) {
	for _, m := range s.readings {
		if m.Of != "light" || !m.Plain() || m.Color == nil || !atPosition(m, position) || m.TakenAt > s.upTo {
			continue
		}
		if sum, ok := s.sumRead(position, m.TakenAt); ok {
			lux := figure.Rounded(float64(sum.Light.Lux), figure.LuxDecimals)
			all = append(all, chartPoint(m, figure.ChromaticityOf(sum.Light.Light), lux, lighting.CoarsestFloor(sum.Readings)))
		}
	}
	return all
}

// chartPoint is the mix when a reading was made.
func chartPoint(m *lighting.Reading, color *figure.Chromaticity, lux *float64, floorXY float64) DriftReading {
	mixed := *m
	mixed.Color = color
	return DriftReading{Reading: m.Reading, TakenAt: m.TakenAt.Time(), Sky: m.Sky, Position: m.Position,
		Color: figure.ShownAs(color.XY, floorXY), IlluminanceLux: lux, m: &mixed}
}
