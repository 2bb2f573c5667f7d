package deviation

import (
	"fmt"

	"evenwhite/logbook"
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
		drift, err := s.Drift(light, s.Current())
		if err != nil || drift.LeavesAt == nil {
			continue
		}
		f := sighting{cause: causeOf(LightLeaving, light.ID), subjects: []logbook.ID{light.ID}, one: light.ID}
		s.leavingWords(&f, light.Text("name"), drift)
		all = append(all, f)
	}
	if drift := s.MixDrift(); drift != nil && drift.LeavesAt != nil {
		f := s.missing(LightLeaving, "")
		f.cause = causeOf(f.cause, "mix")
		s.leavingWords(&f, "the mix", drift)
		f.Headline = "Mix leaves its limits about " + figure.ClockIn(*drift.LeavesAt, drift.Zone)
		all = append(all, f)
	}
	return all
}

func (s *Finder) leavingWords(f *sighting, name string, d *setup.Drift) {
	f.Kind, f.now = LightLeaving, true
	left := figure.RoundTo(d.LeavesAt.Sub(d.Until).Minutes(), 0)
	clock := figure.ClockIn(*d.LeavesAt, d.Zone)
	f.Headline, f.ToDo = about(headlineRoom, "", name, " leaves its limits about "+clock), "meter "+name+" again before "+clock
	f.Words = fmt.Sprintf("%s will leave its limits about %s, if it goes on: it gets %s", name, clock, d.Course)
	f.Value = &figure.Size{Minutes: &left}
	f.ComparedWith = &figure.Compared{Words: "its readings since " + figure.ClockIn(d.Since, d.Zone), Record: s.Current().White.ID}
}
