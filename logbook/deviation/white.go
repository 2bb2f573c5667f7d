package deviation

import (
	"fmt"
	"strings"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// chooseAgain: a white stays as it was when what it rests on was struck out or replaced. Its
// takes get another one when somebody chooses it from the first of them on. What is gone is the
// cause, however many whites rest on it.
func (s *Finder) chooseAgain() (all []sighting) {
	for _, p := range s.Periods() {
		if !p.Recorded && p != s.Current() {
			continue
		}
		from := float64(s.NextTake())
		for _, take := range p.Takes {
			if n, ok := take.Number("number"); ok {
				from = min(from, n)
			}
		}
		for _, w := range p.Whites() {
			why, gone := w.Outlived()
			if why == "" {
				continue
			}
			f := s.missing(WhiteOutlived, "").naming(w.Words, chooseAgainFrom(from, why))
			f.cause += "/" + gone.String()
			if len(p.Takes) == 0 {
				f.cause += "/next" // takes are told of their own whites alone
			}
			f.subjects, f.takes, f.one = []logbook.ID{gone}, p.Takes, gone
			f.ComparedWith = &figure.Compared{Words: w.Words, Record: w.White}
			all = append(all, f)
		}
	}
	return all
}

func chooseAgainFrom(take float64, why string) func(whites []string) (headline, toDo, words string) {
	return func(whites []string) (headline, toDo, words string) {
		headline, toDo = "White rests on "+strings.Replace(why, " that was ", " ", 1), fmt.Sprintf("choose the white again from take %g", take)
		if len(whites) == 1 {
			return headline, toDo, fmt.Sprintf("the white, %s, rests on %s: it stays as it was; choose again", whites[0], why)
		}
		return headline, toDo, fmt.Sprintf("the whites, %s, rest on %s: they stay as they were; choose again", lighting.Listed(whites), why)
	}
}

// castIn is how a light looks in the white of a period. Where whites were chosen apart, or where
// the white is a setting of which not all is known, it is off only where it is by each: then the least of it is said, and words give the
// range. ok is false where that can't be told, or where the white is not known.
func castIn(p *setup.Period, light colorimetry.XY, limits figure.Limits) (d figure.Difference, words string, ok bool) {
	if p.Reference == nil {
		return d, "", false
	}
	var all []figure.Difference
	for _, w := range p.Whites() {
		possible := w.Possible()
		if len(possible) == 0 {
			return d, "", false
		}
		for _, one := range possible {
			all = append(all, figure.CastDifference(light, one.Color.XY))
		}
	}
	if len(all) == 0 { // no white was chosen: the light itself is the reference
		all = append(all, figure.CastDifference(light, p.Reference.XY))
	}
	if len(all) == 1 {
		return all[0], all[0].Words, true
	}
	j := limits.Judge(all)
	return j.Least, j.Words, j.Verdict == figure.Beyond
}
