package deviation

import (
	"fmt"

	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// leaving is raised before the tolerance is left, while somebody works here.
func (s *finder) leaving() (all []sighting) {
	if !s.Worked() {
		return nil
	}
	for _, light := range s.Lights() {
		if !lighting.IsOn(light) || lighting.Intent(light) == "leave" {
			continue
		}
		m := s.Reading(s.Current(), light.ID)
		t, err := s.Trend(light, m, s.Current())
		if err != nil || t.LeavesAt == nil || len(m.ChangedSince(light, s.Now())) > 0 {
			continue
		}
		f := s.lightSighting(LightLeaving, light, m, s.Current())
		f.takes = nil
		s.leavingWords(&f, light.Text("name"), t)
		all = append(all, f)
	}
	if m := s.MixAhead(); m != nil && m.LeavesAt != nil {
		f := s.missing(LightLeaving, "")
		f.cause = causeOf(f.cause, s.Current().White.ID)
		s.leavingWords(&f, "the mix", m)
		all = append(all, f)
	}
	return all
}

func (s *finder) leavingWords(f *sighting, name string, t *setup.Drift) {
	left := figure.RoundTo(t.LeavesAt.Sub(t.Until).Minutes(), 0)
	f.Words = fmt.Sprintf("%s will leave its limits about %s, if it goes on: it gets %s", name, figure.ClockIn(*t.LeavesAt, t.Zone), t.Course)
	f.Value = &figure.Size{Minutes: &left}
	f.ComparedWith = &figure.Compared{Words: "its readings since " + figure.ClockIn(t.Since, t.Zone), Record: s.Current().White.ID}
}
