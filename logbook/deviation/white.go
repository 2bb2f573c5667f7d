package deviation

import (
	"fmt"

	"evenwhite/logbook"
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
			f.cause = causeOf(WhiteOutlived, s.View().ID, w.White)
			f.subjects, f.takes, f.one = []logbook.ID{w.White}, p.Takes, w.White
			all = append(all, f)
		}
	}
	return all
}
