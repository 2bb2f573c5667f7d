package deviation

import (
	"fmt"
	"sort"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/setup"
)

// mixFindings: the newest reading of everything at each position against the sum, and the mix
// at every take against the white that was chosen from it.
func (s *Finder) mixFindings() (all []sighting) {
	for position, m := range s.Together() {
		c := s.CheckMix(m)
		if c.Agrees == nil || *c.Agrees {
			continue
		}
		f := s.missing(MixDisagrees, "everything read together")
		f.Headline, f.ToDo = "The lights read alone don't add up", "look for a light that is not in the log"
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
	for _, at := range s.Moments() {
		if f, ok := s.mixOff(at); ok {
			all = append(all, f)
		}
	}
	return all
}

// mixOff compares the mix with the white that was chosen from it. Where a single light is off
// at that moment, it is the cause.
func (s *Finder) mixOff(at setup.Moment) (f sighting, found bool) {
	p := at.Period
	position, ok := s.ByMix(p)
	if !ok || p.Reference == nil {
		return f, false
	}
	mix, err := s.Mix(position, at.At)
	if err != nil {
		return f, false
	}
	for _, m := range mix.Readings {
		if m.TakenAt > at.At {
			return f, false // not read yet
		}
	}
	limits := s.Limits()
	d, words, ok := castIn(p, mix.Light.Light, limits)
	if !ok {
		return f, false
	}
	if _, beyond := limits.Exceeded(d); !beyond {
		return f, false
	}
	f = s.missing(MixDrifted, fmt.Sprintf("the mix is %s than the white that was chosen from it", words))
	f.cause = causeOf("mix", s.View().ID)
	if light, ok := s.off[at.At]; ok {
		f.cause = light.cause
	}
	f.Headline, f.ToDo = "Mix: "+limits.Too(d), "bring the lights back, or choose a new white"
	if position != "" {
		f.Words = fmt.Sprintf("the mix at %s is %s than the white that was chosen from it", position, words)
	}
	if f.now = !at.Take.Known(); !f.now {
		f.takes = []logbook.View{at.Take}
	}
	f.subjects = []logbook.ID{p.White.ID}
	f.measured(d, limits)
	f.ComparedWith = &figure.Compared{Words: "the white, chosen from the mix", Record: p.White.ID}
	return f, true
}
