package deviation

import (
	"fmt"
	"sort"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/setup"
)

// mixFindings: the newest reading of everything at each position against the sum,
// and the mix against what it was when the white was chosen.
func (s *Finder) mixFindings() (all []sighting) {
	for position, m := range s.Together() {
		c := s.CheckMix(m)
		if c.Agrees == nil || *c.Agrees {
			continue
		}
		f := s.missing(MixDisagrees, "everything read together")
		if position != "" {
			f.Words += " (" + position + ")"
		}
		f.Words += ": " + c.Words
		f.cause += "/" + m.Reading.String()
		f.subjects, f.one = []logbook.ID{m.Reading}, m.Reading
		f.measured(*c.Difference, s.Limits())
		f.ComparedWith = &figure.Compared{Words: "the sum of the lights measured alone", Record: m.Reading}
		all = append(all, f)
	}
	sort.Slice(all, func(i, j int) bool { return all[i].cause < all[j].cause })
	for _, p := range s.Periods() {
		if f, ok := s.mixDrifted(p); ok {
			all = append(all, f)
		}
	}
	return all
}

// mixDrifted compares the mix with what it was when the white was chosen: it may
// move though no lamp was touched.
func (s *Finder) mixDrifted(p *setup.Period) (f sighting, found bool) {
	position, ok := s.ByMix(p)
	if !ok || !p.Recorded && p != s.Current() {
		return f, false
	}
	then, before, err := s.MixUpTo(position, p.White.CreatedAt())
	if err != nil {
		return f, false
	}
	now, after, err := s.MixUpTo(position, p.UpTo)
	if err != nil || before >= after {
		return f, false
	}
	d := figure.CastDifference(now, then)
	if _, beyond := s.Limits().Exceeded(d); !beyond {
		return f, false
	}
	f = s.missing(MixDrifted, fmt.Sprintf("the mix is %s than when the white was chosen", d.Words))
	if position != "" {
		f.Words = fmt.Sprintf("the mix at %s is %s than when the white was chosen", position, d.Words)
	}
	minutes := figure.RoundTo(float64(after-before)/60000, 0)
	f.Words += fmt.Sprintf(", %g minutes before", minutes)
	f.cause = causeOf(f.cause, p.White.ID)
	f.takes, f.subjects, f.now = p.Takes, []logbook.ID{p.White.ID}, p == s.Current()
	f.measured(d, s.Limits())
	f.Value.Minutes = &minutes
	f.ComparedWith = &figure.Compared{Words: "the mix when the white was chosen", Record: p.White.ID}
	return f, true
}
