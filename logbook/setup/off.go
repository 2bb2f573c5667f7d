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
	by        cameras.Possible // what the white rests on, where that is a camera's setting
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
		all = append(all, s.wantedBy(w, Wanted{Want: want, Reference: w.Color, Cast: aims[i].IntendedCast.Cast()})...)
	}
	return all
}

// wantedBy is what is meant by each colour that a white may have.
func (s *SetUp) wantedBy(w White, shown Wanted) (all []Wanted) {
	possible := w.Possible()
	if len(possible) < 2 {
		return []Wanted{shown}
	}
	for _, p := range possible {
		light, err := p.Color.CCTDuv()
		if err != nil {
			return []Wanted{shown}
		}
		want, err := colorimetry.Aim(light, shown.Cast)
		if err != nil {
			return []Wanted{shown}
		}
		all = append(all, Wanted{want, p.Color, shown.Cast, p.by})
	}
	return all
}

// OffAim is how the picture of a camera that may have several whites lies from what it is meant
// to be, for each of them and each thing that may be meant. None: one of the two is not known.
func (s *SetUp) OffAim(p *Period, camera logbook.ID, whites []cameras.Possible) (all []figure.Difference) {
	for _, w := range s.WantedIn(p, camera) {
		for _, white := range whites {
			if !w.by.Fits(white) {
				continue
			}
			all = append(all, figure.PictureDifference(white.White, w.Want, w.Reference))
		}
	}
	return all
}
