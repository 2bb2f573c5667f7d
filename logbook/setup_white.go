package logbook

import "evenwhite/colorimetry"

// wantedWhite is the white that cameras without an exception aim at: the picture
// in it is what the cinematographer asked for.
func (s *situation) wantedWhite(p *period) colorimetry.XY {
	if aim := s.aim(p, ID{}); aim.Aim != nil {
		return aim.Aim.XY
	}
	return p.reference.XY
}
