package deviation

import (
	"fmt"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

func (s *Finder) lightFindings() (all []sighting) {
	for _, light := range s.LightsOn() {
		for _, p := range s.Periods() {
			if !p.Recorded && p != s.Current() {
				continue
			}
			m := s.Reading(p, light.ID)
			if m == nil || m.Color == nil {
				continue
			}
			if f, ok := s.lightOff(light, m, p); ok {
				all = append(all, f)
			}
			if f, ok := s.drifted(light, m, p); ok {
				all = append(all, f)
			}
		}
		all = append(all, s.stale(light)...)
	}
	return all
}

func (s *Finder) lightSighting(kind string, light logbook.View, m *lighting.Reading, p *setup.Period) sighting {
	f := sighting{cause: causeOf(kind, light.ID, p.White.ID), takes: p.Takes, subjects: []logbook.ID{light.ID}, one: light.ID}
	f.Kind, f.now = kind, p == s.Current()
	return f
}

// lightOff judges a light by its intent.
func (s *Finder) lightOff(light logbook.View, m *lighting.Reading, p *setup.Period) (sighting, bool) {
	limits := s.RoleLimits(light)
	var d figure.Difference
	var against []*lighting.Reading
	f := s.lightSighting(LightOffReference, light, m, p)
	name := light.Text("name")
	switch lighting.Intent(light) {
	case "match":
		if p.Reference == nil {
			return f, false
		}
		d = figure.CastDifference(m.Color.XY, p.Reference.XY)
		f.ComparedWith = &figure.Compared{Words: "the reference, " + p.Reference.Words, Record: p.White.ID}
		f.Words = fmt.Sprintf("%s (%s) is to match the reference and is %s", name, m.Color.Words, d.Words)
	case "holdOwnColor":
		target, words, record, err := s.OwnColor(light)
		if err != nil || record == m.Reading {
			return f, false
		}
		d = figure.ColorDifference(m.Color.XY, target)
		f = s.lightSighting(LightOffOwnColor, light, m, p)
		f.ComparedWith = &figure.Compared{Words: words, Record: record}
		f.Words = fmt.Sprintf("%s (%s) is to hold its own colour and is %s", name, m.Color.Words, d.Words)
	default:
		return f, false
	}
	limit, beyond := limits.Exceeded(d)
	if !beyond {
		return f, false
	}
	f.measured(d, limits)
	if f.Kind == LightOffReference {
		against = s.ReferenceReadings(p)
	} else if v, ok := s.Book().RecordOf(kinds.Reading, f.ComparedWith.Record); ok {
		against = append(against, lighting.Read(s.Book(), v))
	}
	f.Words += s.FloorWords(limit, m, against...)
	return f, true
}

func (s *Finder) drifted(light logbook.View, m *lighting.Reading, p *setup.Period) (sighting, bool) {
	d, since, ok := s.MovedSince(light, m, p)
	if !ok {
		return sighting{}, false
	}
	limits := s.RoleLimits(light)
	limit, beyond := limits.Exceeded(d)
	if !beyond {
		return sighting{}, false
	}
	f := s.lightSighting(LightDrifted, light, m, p)
	minutes := figure.RoundTo(float64(m.TakenAt-since.TakenAt)/60000, 0)
	f.Words = fmt.Sprintf("%s has drifted in %g minutes: it is %s", light.Text("name"), minutes, d.Words)
	f.Words += s.FloorWords(limit, m, since)
	f.measured(d, limits)
	f.Value.Minutes = &minutes
	f.ComparedWith = &figure.Compared{Words: "its reading when the white was chosen", Record: since.Reading}
	if !p.White.Known() || since.TakenAt > p.White.CreatedAt() {
		f.ComparedWith.Words = "its first reading"
	}
	return f, true
}

// stale judges the reading of a light at every take, and now while somebody works
// in the set-up.
func (s *Finder) stale(light logbook.View) (all []sighting) {
	if lighting.Intent(light) == "leave" && s.View().Ref("referenceLight") != light.ID {
		return nil
	}
	for _, at := range s.Moments() {
		m := s.ReadingAt(at.At, light.ID)
		if m == nil || m.TakenAt > at.At {
			continue
		}
		reasons, age := s.StaleBecause(light, m, at.At)
		if len(reasons) == 0 {
			continue
		}
		limit := s.RemeasureAfter()
		f := sighting{cause: causeOf(ReadingStale, light.ID, m.Reading), subjects: []logbook.ID{light.ID}, one: light.ID}
		f.Kind = ReadingStale
		f.Words = fmt.Sprintf("the reading of %s is stale: %s", light.Text("name"), strings.Join(reasons, "; "))
		f.Value, f.Limit = &figure.Size{Minutes: &age}, &figure.Size{Minutes: &limit}
		f.ComparedWith = &figure.Compared{Words: "the reading", Record: m.Reading}
		if at.Take.Known() {
			f.takes = []logbook.View{at.Take}
		}
		all = append(all, f)
	}
	return all
}
