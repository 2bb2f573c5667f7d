package setup

import (
	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
)

// Wanted is what a camera may be meant to have in a period: its aim, and the light that the
// pictures are compared in.
type Wanted struct {
	Want      colorimetry.CCTDuv
	Reference *figure.Chromaticity
}

// WantedIn are what a camera may be meant to have in a period, none where it has no aim.
func (s *SetUp) WantedIn(p *Period, camera logbook.ID) (all []Wanted) {
	if aim := s.Aim(p, camera); aim.Aim != nil {
		if want, err := aim.Aim.CCTDuv(); err == nil {
			all = append(all, Wanted{want, p.Reference})
		}
	}
	return all
}

// OffAim is how the picture of a camera that may have several whites lies from what it is meant
// to be, for each of them and each thing that may be meant. None: one of the two is not known.
func (s *SetUp) OffAim(p *Period, camera logbook.ID, whites []cameras.Possible) (all []figure.Difference) {
	for _, w := range s.WantedIn(p, camera) {
		for _, white := range whites {
			all = append(all, figure.PictureDifference(white.White, w.Want, w.Reference))
		}
	}
	return all
}
