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

// MovedSince is how a light changed by itself from the moment when the white was chosen, or
// from its first reading, to another moment: only between readings of one state.
func (s *SetUp) MovedSince(light logbook.View, now lighting.Spoken, p *Period) (d figure.Difference, since *lighting.Reading, ok bool) {
	m := now.Reading
	if m == nil || now.How != lighting.Before {
		return d, nil, false
	}
	since = s.readingSince(s.Course(light), m, p)
	if since == nil || since.TakenAt >= m.TakenAt {
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

// readingSince is the reading from which a light's move to a later one counts.
func (s *SetUp) readingSince(c *lighting.Course, m *lighting.Reading, p *Period) (since *lighting.Reading) {
	chosen := logbook.Beginning
	if p.White.Known() {
		chosen = p.White.CreatedAt()
	}
	for _, o := range c.Readings() {
		if c.SameState(o, m) && (since == nil || o.TakenAt <= chosen) {
			since = o
		}
	}
	return since
}

// Old says that a reading is older than the production wants; "" where it is not.
func (s *SetUp) Old(m *lighting.Reading, at logbook.Millis) (words string, age float64) {
	age = figure.RoundTo(m.AgeMinutes(at), 0)
	if age > s.remeasure {
		words = fmt.Sprintf("it is %s old, re-measure after %g min", figure.AgeWords(age), s.remeasure)
	}
	return words, age
}

// StaleBecause lists why a reading no longer speaks of a light at a moment.
func (s *SetUp) StaleBecause(light logbook.View, m *lighting.Reading, at logbook.Millis) (reasons []string, age float64) {
	words, age := s.Old(m, s.asked(at))
	if words != "" {
		reasons = append(reasons, words)
	}
	if words := s.Course(light).ChangedSince(m, at); words != "" {
		reasons = append(reasons, words)
	}
	return reasons, age
}
