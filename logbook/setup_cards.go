package logbook

import "evenwhite/colorimetry"

// What grey cards teach of a body is asked for in five ways. They differ in the light and
// the time that they name, and in whether an error of poor confidence counts: for
// deviations and pictures it does not, for corrections and matches it does, and for what
// to dial by cards it is shown. They stand side by side here to become one.

// learntKey is all that a camera error depends on within a set-up. Age counts by
// the hour: the clips of a morning need not learn one by one.
type learntKey struct {
	body, white ID
	mode, glass string
	label       colorimetry.CCTDuv
	hour        Millis
}

// LearntAtClip is what cards teach about a setting of a clip, for its deviations: in the
// light of the white, as of the clip. An error that does not count is none.
func (s *SetUp) LearntAtClip(clip, body View, p *Period, label colorimetry.CCTDuv) (CameraError, bool) {
	if p.Reference == nil || len(s.book.Referring(KindSample, "body", body.ID)) == 0 {
		return CameraError{}, false
	}
	at, ok := clip.Time("startedAt")
	if !ok {
		at = clip.CreatedAt()
	}
	const hour = Millis(60 * 60 * 1000)
	k := learntKey{body: body.ID, white: p.White.ID, label: label, hour: at / hour,
		mode: modeOf(clip.Text("recordingMode"), body), glass: glassOf(clip.Text("lens"), clip.Text("filters"))}
	e, done := s.learnt[k]
	if !done {
		if light, err := p.Reference.cctDuv(); err == nil {
			if found, ok := cameraError(s.book, body, errorAsked{mode: k.mode, glass: k.glass, family: familyOfOrigin(s.book, p.Origin),
				light: light, label: k.label, now: (k.hour + 1) * hour, inferred: true}); ok {
				e = &found
			}
		}
		s.learnt[k] = e
	}
	if e == nil || !e.counts() {
		return CameraError{}, false
	}
	return *e, true
}

// LearntHere is what cards teach about a body for the light of a period, near the label
// or the white that is asked about, as of now: for what to dial, and what is in reach.
// Whether it counts is the asker's.
func (s *SetUp) LearntHere(camera, body View, p *Period, ask errorAsked) (CameraError, bool) {
	if p.Reference == nil || len(s.book.Referring(KindSample, "body", body.ID)) == 0 {
		return CameraError{}, false
	}
	light, err := p.Reference.cctDuv()
	if err != nil {
		return CameraError{}, false
	}
	ask.light = light
	return s.learntFor(camera, body, p, ask)
}

// LearntShown is what cards teach about a label, for the pictures of plane and swatches: as
// LearntHere, but also where no light is known. An error that does not count is none.
func (s *SetUp) LearntShown(camera, body View, p *Period, label colorimetry.CCTDuv) (CameraError, bool) {
	ask := errorAsked{label: label}
	if p.Reference != nil {
		if t, err := p.Reference.cctDuv(); err == nil {
			ask.light = t
		}
	}
	e, ok := s.learntFor(camera, body, p, ask)
	return e, ok && e.counts()
}

func (s *SetUp) learntFor(camera, body View, p *Period, ask errorAsked) (CameraError, bool) {
	ask.family, ask.now, ask.inferred = familyOfOrigin(s.book, p.Origin), s.now, true
	ask.mode, ask.glass = recordedWith(s.book, s.setUp, camera, body)
	return cameraError(s.book, body, ask)
}

// LearntForFootage is what cards teach about a setting of a clip, for its correction: in the
// light as it was measured at the clip, as of now, whatever its confidence.
func (s *SetUp) LearntForFootage(clip, body View, light *Chromaticity, family string, label colorimetry.CCTDuv) (CameraError, bool) {
	ask := errorAsked{mode: modeOf(clip.Text("recordingMode"), body), glass: glassOf(clip.Text("lens"), clip.Text("filters")),
		family: family, label: label, now: s.now, inferred: true}
	if t, err := light.cctDuv(); err == nil {
		ask.light = t
	}
	return cameraError(s.book, body, ask)
}

// LearntForMatch is what cards teach about a body, for a match: in the light at hand, as
// of now, whatever its confidence. Of the camera that is matched to only cards whose light
// was measured count.
func (s *SetUp) LearntForMatch(camera, body View, ask errorAsked) (CameraError, bool) {
	ask.now = s.now
	ask.mode, ask.glass = recordedWith(s.book, s.setUp, camera, body)
	return cameraError(s.book, body, ask)
}

// ShotCards are the cards of the set-up that count and can be read, by time.
func (s *SetUp) ShotCards() []*card {
	if s.cards == nil {
		s.cards = cardsOf(s.book, s.setUp.ID)
	}
	return s.cards
}

// NewestCard is a camera's newest card in the set-up.
func (s *SetUp) NewestCard(camera ID) *card {
	all := s.ShotCards()
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].camera == camera {
			return all[i]
		}
	}
	return nil
}

// CardOfClip is the newest card that a body shot in the set-up on the clip's setting;
// one in the clip itself comes first.
func (s *SetUp) CardOfClip(clip, body View, set setting) (found *card) {
	for _, shot := range s.ShotCards() {
		inClip := shot.view.Ref("clip") == clip.ID
		if shot.body.ID != body.ID || !inClip && shot.set.key() != set.key() {
			continue
		}
		if found == nil || inClip || found.view.Ref("clip") != clip.ID {
			found = shot
		}
	}
	return found
}
