package logbook

import "evenwhite/colorimetry"

// learntHere is what cards taught about a body for the light at hand, near the label
// or the white that is asked about.
func (s *situation) learntHere(camera, body View, p *period, ask errorAsked) (CameraError, bool) {
	if p.reference == nil || len(s.book.Referring(KindSample, "body", body.ID)) == 0 {
		return CameraError{}, false
	}
	light, err := p.reference.cctDuv()
	if err != nil {
		return CameraError{}, false
	}
	ask.family, ask.light, ask.now, ask.inferred = familyOfOrigin(s.book, p.origin), light, s.now, true
	ask.mode, ask.glass = recordedWith(s.book, s.setUp, camera, body)
	return cameraError(s.book, body, ask)
}

// wantedWhite is the white that cameras without an exception aim at: the picture
// in it is what the cinematographer asked for.
func (s *situation) wantedWhite(p *period) colorimetry.XY {
	if aim := s.aim(p, ID{}); aim.Aim != nil {
		return aim.Aim.XY
	}
	return p.reference.XY
}
