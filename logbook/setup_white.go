package logbook

import "evenwhite/colorimetry"

// WantedWhite is the white that cameras without an exception aim at: the picture
// in it is what the cinematographer asked for.
func (s *SetUp) WantedWhite(p *Period) colorimetry.XY {
	if aim := s.Aim(p, ID{}); aim.Aim != nil {
		return aim.Aim.XY
	}
	return p.Reference.XY
}
