package setup

import (
	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
)

// Wanted is what a camera may be meant to have in a period: its aim, the white that this was
// made from, in which pictures are compared, and the cast that is meant.
type Wanted struct {
	Want      colorimetry.CCTDuv
	Reference *figure.Chromaticity
	Cast      colorimetry.Cast
}

// WantedIn are what a camera may be meant to have in a period, the one that is shown first:
// several where whites were chosen apart, none where one of them gives no aim.
func (s *SetUp) WantedIn(p *Period, camera logbook.ID) (all []Wanted) {
	aims, whites := s.Aims(p, camera), p.Whites()
	for i, w := range whites {
		if aims[i].Aim == nil {
			return nil
		}
		want, err := aims[i].Aim.CCTDuv()
		if err != nil {
			return nil
		}
		all = append(all, Wanted{want, w.Color, aims[i].IntendedCast.Cast()})
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
