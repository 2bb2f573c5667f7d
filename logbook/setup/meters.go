package setup

import (
	"fmt"
	"strings"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// asReadBy is the colour of a reading as another meter would have read it. by is what
// the comparison of the two taught; ok is false where nobody compared them, or where the
// colour has no temperature to move.
func (s *SetUp) asReadBy(meter logbook.ID, m *lighting.Reading) (xy colorimetry.XY, by *lighting.Learnt, ok bool) {
	if lighting.SameMeter(m.Meter, meter) {
		return m.Color.XY, nil, true
	}
	d, ok := s.meterDifference(meter, m.Meter)
	if !ok {
		return m.Color.XY, nil, false
	}
	t, err := m.Color.CCTDuv()
	if err != nil {
		return m.Color.XY, nil, false
	}
	k, err := (t.Mired() + d.Learnt.Cast.Mired).Kelvin()
	if err != nil {
		return m.Color.XY, nil, false
	}
	xy, err = colorimetry.CCTDuv{CCT: k, Duv: t.Duv + d.Learnt.Cast.Duv}.XY()
	if err != nil {
		return m.Color.XY, nil, false
	}
	return xy, &d.Learnt, true
}

// Against is how a light lies from another, which may be of another set-up, both as one meter
// reads them; sure says how finely that can be told. Both must be known.
func (s *SetUp) Against(here, there lighting.Spoken, limits figure.Limits) (d figure.Difference, sure string) {
	xy := there.Color.XY
	if there.How != lighting.Between { // between two readings it is no reading of a meter
		if moved, by, ok := s.asReadBy(here.Reading.Meter, there.Reading); ok {
			xy, sure = moved, by.CountedWords()
		}
	}
	d = figure.ColorDifference(here.Color.XY, xy)
	limit, _ := limits.Exceeded(d)
	words := s.FloorWords(limit, here.Reading, there.Reading)
	if words == "" {
		words = fmt.Sprintf("; the meter tells ±%g mired", here.Reading.FloorMired())
	}
	return d, strings.TrimPrefix(words+sure, "; ")
}

// FloorWords say how finely a finding can be trusted: always where it rests on two
// meters, whose floors add up, else where the limit is finer than the meter.
func (s *SetUp) FloorWords(limit figure.Size, m *lighting.Reading, against ...*lighting.Reading) string {
	for _, o := range against {
		if o == nil || lighting.SameMeter(o.Meter, m.Meter) {
			continue
		}
		floor := m.FloorMired() + o.FloorMired()
		words := fmt.Sprintf("; it was read by another meter, and the two tell ±%g mired together", floor)
		if d, ok := s.meterDifference(m.Meter, o.Meter); ok {
			words += ": " + d.Words
		} else {
			words += "; they were never compared"
		}
		if limit.Mired != nil && floor > *limit.Mired {
			words += fmt.Sprintf("; the limit of %g mired is finer", *limit.Mired)
		}
		return words
	}
	floor := m.FloorMired()
	if limit.Mired == nil || floor <= *limit.Mired {
		return ""
	}
	return fmt.Sprintf("; the limit of %g mired is finer than the meter, which tells ±%g", *limit.Mired, floor)
}

// ReferenceReadings are the readings that the reference of a period rests on.
func (s *SetUp) ReferenceReadings(p *Period) (all []*lighting.Reading) {
	for _, id := range p.Origin.Records {
		if v, ok := s.book.RecordOf(kinds.Reading, id); ok {
			all = append(all, lighting.Read(s.book, v))
		}
	}
	return all
}

// meterDifference is what a meter says less what another says, as comparisons until the day of
// the set-up have it: a later one moves nothing that was shot. ok is false where nobody
// compared them.
func (s *SetUp) meterDifference(meter, other logbook.ID) (d lighting.MeterDifference, ok bool) {
	pair := meterPair{meter: meter, other: other, date: lighting.DateOf(s.book, s.setUp.ID)}
	found := logbook.Resting(s.book, s.reader.meters, pair, func() *lighting.MeterDifference {
		if d, ok := lighting.LearnerOn(s.book, pair.date).Meters(meter, other, 0); ok {
			return &d
		}
		return nil
	})
	if found == nil {
		return d, false
	}
	return *found, true
}

type meterPair struct {
	meter, other logbook.ID
	date         string
}
