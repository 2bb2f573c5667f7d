package setup

import (
	"evenwhite/logbook"
)

// Suppose is the period that would begin were a white chosen now that is in no log yet: white
// is its record, in whatever book it stands. Cameras aim as they would then.
func (s *SetUp) Suppose(white logbook.View) *Period {
	p, w := newPeriod(), whiteBy(newResolver(s.book), white)
	p.choose(white, w)
	p.aims[logbook.ID{}] = aimWith(w, intendedCast(s.book, white, logbook.ID{}), logbook.ID{})
	for _, camera := range s.cameras {
		p.aims[camera.ID] = aimWith(w, intendedCast(s.book, white, camera.ID), camera.ID)
	}
	return p
}
