package setup

import (
	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
)

// ByMix reports whether a period's cameras are balanced for the mix, and where.
func (s *SetUp) ByMix(p *Period) (position string, ok bool) {
	if !p.White.Known() {
		return "", false
	}
	from := p.White.Value("from")
	if as, _ := from.Member("as").Text(); as == "mix" {
		position, _ = from.Member("position").Text()
		return position, true
	}
	return s.setUp.Text("referencePosition"), s.setUp.Ref("referenceLight").IsZero() && len(s.lights) > 1
}

// MixUpTo is the mix as a white would be resolved to it, and when its newest reading
// was made.
func (s *SetUp) MixUpTo(position string, at logbook.Millis) (xy colorimetry.XY, newest logbook.Millis, err error) {
	r := s.resolver()
	xy, err = r.mix(s.setUp.ID, position, at)
	for _, id := range r.origin.Records {
		if m := s.readingByID(id); m != nil {
			newest = max(newest, m.TakenAt)
		}
	}
	return xy, newest, err
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
	off := s.mixOff()
	if last := s.Together()[position]; last != nil {
		if d, err := s.observeTogether(last).drift(last.Color.XY, off, s.limits); err == nil {
			return d, nil
		}
	}
	mixed, used, lights, err := s.sum(position, logbook.Ever, nil)
	if err != nil {
		return nil, err
	}
	return s.observeSums(position, used, lights).drift(mixed.Light, off, s.limits)
}

func (s *SetUp) observeTogether(last *lighting.Reading) (o observed) {
	for _, m := range s.readings {
		if !m.Plain() || m.Of != "everything" || m.Color == nil || m.Position != last.Position || m.Sky != last.Sky ||
			last.TakenAt-m.TakenAt > leftAfter || !lighting.SameThing(s.book, m, last) {
			continue
		}
		if xy, _, ok := s.asReadBy(last.Meter, m); ok {
			o.add(m, m.Sky, xy, m.FloorXY, m.IlluminanceLux)
		}
	}
	return o
}

// observeSums adds the lights up whenever one of them was read again, as long as none
// was touched and the sky stayed the same.
func (s *SetUp) observeSums(position string, newest []*lighting.Reading, lights []logbook.View) (o observed) {
	if len(lights) < 2 {
		return o
	}
	now := make([]*lighting.Reading, len(lights))
	for _, m := range s.readings {
		if !m.Plain() || m.Color == nil || m.IlluminanceLux == nil || m.Position != position {
			continue
		}
		for i, light := range lights {
			last := newest[i]
			if m.OfLight(light.ID) && m.Sky == last.Sky && lighting.SameMeter(m.Meter, last.Meter) &&
				last.TakenAt-m.TakenAt <= leftAfter && lighting.SameState(light, m, last) {
				now[i] = m
				s.observeSum(&o, m, now)
			}
		}
	}
	return o
}

func (s *SetUp) observeSum(o *observed, m *lighting.Reading, now []*lighting.Reading) {
	var lit []colorimetry.Lit
	for _, one := range now {
		if one == nil {
			return // one was not read yet
		}
		lit = append(lit, colorimetry.Lit{Light: one.Color.XY, Lux: colorimetry.Lux(*one.IlluminanceLux)})
	}
	if mixed, err := colorimetry.Mix(lit); err == nil {
		lux := float64(mixed.Lux)
		o.add(m, "", mixed.Light, lighting.CoarsestFloor(now), &lux)
	}
}

// chartMix is the course of the mix at one position: of the lights that are on now,
// whenever one of them was read and all had been.
func (s *SetUp) chartMix(whites []WhiteStep) LightDrift {
	l := LightDrift{Key: "mix", Name: "mix of the lights that are on", Readings: []DriftReading{}}
	position := s.chartedPosition()
	if position != "" {
		l.Name += ", at " + position
	}
	if len(s.LightsOn()) > 1 {
		for _, m := range s.readings {
			if !m.Plain() || m.Color == nil || m.Of != "light" && m.Of != "everything" || position != "" && m.Position != position {
				continue
			}
			if r, ok := s.chartSum(position, m); ok {
				r.stepsOff(nil, whites)
				l.Readings = append(l.Readings, r)
			}
		}
	}
	if len(l.Readings) > 0 {
		l.setDrift(s.driftOfMix(position))
	}
	return l
}

// chartSum is the mix at a position when a reading was made; none where a reading that it
// needs came later.
func (s *SetUp) chartSum(position string, m *lighting.Reading) (DriftReading, bool) {
	r := s.resolver()
	xy, err := r.mix(s.setUp.ID, position, m.TakenAt)
	if err != nil {
		return DriftReading{}, false
	}
	lux := 0.0
	for _, id := range r.origin.Records {
		used := s.readingByID(id)
		if used == nil || used.TakenAt > m.TakenAt {
			return DriftReading{}, false
		}
		if used.IlluminanceLux != nil {
			lux += *used.IlluminanceLux
		}
	}
	mixed := *m
	mixed.Color = figure.ChromaticityOf(xy)
	out := DriftReading{Reading: m.Reading, TakenAt: m.TakenAt.Time(), Sky: m.Sky, Position: position,
		Color: figure.ShownAs(xy, lighting.FloorBehind(s.book, r.origin)), m: &mixed}
	if lux > 0 {
		out.IlluminanceLux = figure.Rounded(lux, figure.LuxDecimals)
	}
	return out, true
}
