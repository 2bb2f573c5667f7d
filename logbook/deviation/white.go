package deviation

import (
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/setup"
)

// chooseAgain: a white stays as it was when what it rests on was struck out or replaced. The
// takes get another one when somebody chooses it.
func (s *Finder) chooseAgain() (all []sighting) {
	for _, p := range s.Periods() {
		for _, w := range p.Whites() {
			why, open := s.ChooseAgain(w)
			if !open {
				continue
			}
			f := s.missing(WhiteOutlived, fmt.Sprintf("the white, %s, rests on %s: it stays as it was; choose again", w.Words, why))
			f.Headline = "white rests on " + why
			f.ToDo = fmt.Sprintf("choose the white again from take %d", s.NextTake())
			f.cause += "/" + why // one record may be under several whites
			f.subjects, f.one, f.now = []logbook.ID{w.White}, w.White, p == s.Current()
			all = append(all, s.ofPeriod(f, p)...)
		}
	}
	return all
}

// castIn is how a light looks in the white of a period. Where whites were chosen apart it is
// off only where it is by each of them: then the least of it is said, and words give the
// range. ok is false where that can't be told, or where the white is not known.
func castIn(p *setup.Period, light colorimetry.XY, limits figure.Limits) (d figure.Difference, words string, ok bool) {
	if p.Reference == nil {
		return d, "", false
	}
	all := []figure.Difference{figure.CastDifference(light, p.Reference.XY)}
	for _, w := range p.Contested {
		if w.Color == nil {
			return d, "", false
		}
		all = append(all, figure.CastDifference(light, w.Color.XY))
	}
	if len(all) == 1 {
		return all[0], all[0].Words, true
	}
	j := limits.Judge(all)
	return j.Least, j.Words, j.Verdict == figure.Beyond
}
