package deviation

import (
	"fmt"

	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// leaving is raised before a light or the mix is outside its limits, while somebody works here.
func (s *Finder) leaving() (all []sighting) {
	if !s.Worked() {
		return nil
	}
	for _, light := range s.LightsOn() {
		if lighting.Intent(light) == "leave" {
			continue
		}
		m := s.Reading(s.Current(), light.ID)
		drift, err := s.Drift(light, m, s.Current())
		if err != nil || drift.LeavesAt == nil || len(m.ChangedSince(light, s.Now())) > 0 {
			continue
		}
		f := s.lightSighting(LightLeaving, light, m, s.Current())
		f.takes = nil
		s.leavingWords(&f, light.Text("name"), drift)
		all = append(all, f)
	}
	if drift := s.MixDrift(); drift != nil && drift.LeavesAt != nil {
		f := s.missing(LightLeaving, "")
		f.cause = causeOf(f.cause, s.Current().White.ID)
		s.leavingWords(&f, "the mix", drift)
		all = append(all, f)
	}
	return all
}

func (s *Finder) leavingWords(f *sighting, name string, d *setup.Drift) {
	left := figure.RoundTo(d.LeavesAt.Sub(d.Until).Minutes(), 0)
	f.Words = fmt.Sprintf("%s will leave its limits about %s, if it goes on: it gets %s", name, figure.ClockIn(*d.LeavesAt, d.Zone), d.Course)
	f.Value = &figure.Size{Minutes: &left}
	f.ComparedWith = &figure.Compared{Words: "its readings since " + figure.ClockIn(d.Since, d.Zone), Record: s.Current().White.ID}
}
