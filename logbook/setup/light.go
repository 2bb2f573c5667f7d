package setup

import (
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
)

// OwnColor is the colour that a light is to hold: its target, else that of its
// first reading.
func (s *SetUp) OwnColor(light logbook.View) (xy colorimetry.XY, words string, record logbook.ID, err error) {
	if target := light.Value("targetColor"); target != "" {
		xy, err = lighting.ColorOf(target)
		return xy, "its target colour", light.ID, err
	}
	for _, m := range s.readings {
		if m.Plain() && m.OfLight(light.ID) && m.Color != nil {
			return m.Color.XY, "its first reading", m.Reading, nil
		}
	}
	return xy, "", logbook.ID{}, fmt.Errorf("%w: neither a target nor a reading", figure.ErrUnknown)
}

// MovedSince is how a light changed by itself since the white was chosen, or since its
// first reading: only between readings of one state of its dials, level and gels.
func (s *SetUp) MovedSince(light logbook.View, m *lighting.Reading, p *Period) (d figure.Difference, since *lighting.Reading, ok bool) {
	same := func(o *lighting.Reading) bool {
		return o.Plain() && o.OfLight(light.ID) && o.Color != nil && lighting.SameState(light, o, m)
	}
	upTo := logbook.Beginning
	if p.White.Known() {
		upTo = p.White.CreatedAt()
	}
	since = lighting.Latest(s.readings, upTo, same)
	if since == nil || since.TakenAt >= m.TakenAt || m.Color == nil {
		return d, since, false
	}
	before, by, _ := s.asReadBy(m.Meter, since)
	if a, err := m.Color.CCTDuv(); err == nil {
		if b, err := before.CCTDuv(); err == nil {
			d.SetCast(colorimetry.CastOf(a, b))
		}
	}
	d.Steps = figure.ColorDifference(m.Color.XY, before).Steps
	if p.Reference != nil {
		if now, err := colorimetry.Picture(m.Color.XY, p.Reference.XY, colorimetry.CAT16); err == nil {
			if then, err := colorimetry.Picture(before, p.Reference.XY, colorimetry.CAT16); err == nil {
				d.Steps = figure.Rounded(colorimetry.PictureSteps(now, then), figure.StepsDecimals)
			}
		}
	}
	d.Words = d.InWords() + by.CountedWords()
	return d, since, true
}

// StaleBecause lists why a reading no longer speaks of a light at a time.
func (s *SetUp) StaleBecause(light logbook.View, m *lighting.Reading, at logbook.Millis) (reasons []string, age float64) {
	limit := s.reader.remeasure
	age = figure.RoundTo(m.AgeMinutes(at), 0)
	if age > limit {
		reasons = append(reasons, fmt.Sprintf("it is %s old, re-measure after %g min", figure.AgeWords(age), limit))
	}
	return append(reasons, m.ChangedSince(light, at)...), age
}
