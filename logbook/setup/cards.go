package setup

import (
	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// What grey cards teach of a body is asked for in five ways. They differ in the light and
// the time that they name, and in whether an error of poor confidence counts: for
// deviations and pictures it does not, for corrections and matches it does, and for what
// to dial by cards it is shown. They stand side by side here to become one.

// learntKey is all that a camera error depends on within a set-up. Age counts by
// the hour: the clips of a morning need not learn one by one.
type learntKey struct {
	body, white logbook.ID
	mode, glass string
	label       colorimetry.CCTDuv
	hour        logbook.Millis
}

// LearntAtClip is what cards teach about a setting of a clip, for its deviations: in the
// light of the white, as of the clip. An error that does not count is none.
func (s *SetUp) LearntAtClip(clip, body logbook.View, p *Period, label colorimetry.CCTDuv) (cameras.Error, bool) {
	if p.Reference == nil || len(s.book.Referring(kinds.Sample, "body", body.ID)) == 0 {
		return cameras.Error{}, false
	}
	at, ok := clip.Time("startedAt")
	if !ok {
		at = clip.CreatedAt()
	}
	const hour = logbook.Millis(60 * 60 * 1000)
	k := learntKey{body: body.ID, white: p.White.ID, label: label, hour: at / hour,
		mode: cameras.ModeOf(clip.Text("recordingMode"), body), glass: cameras.GlassOf(clip.Text("lens"), clip.Text("filters"))}
	e, done := s.learnt[k]
	if !done {
		if light, err := p.Reference.CCTDuv(); err == nil {
			ask := cameras.ErrorQuery{Mode: k.mode, Glass: k.glass, Family: lighting.FamilyOfOrigin(s.book, p.Origin),
				Light: light, Label: k.label, At: (k.hour + 1) * hour, Inferred: true}
			if found, ok := cameras.ErrorByCards(s.book, body, ask); ok {
				e = &found
			}
		}
		s.learnt[k] = e
	}
	if e == nil || !e.Counts() {
		return cameras.Error{}, false
	}
	return *e, true
}

// LearntHere is what cards teach about a body for the light of a period, near the label
// or the white that is asked about, as of now: for what to dial, and what is in reach.
// Whether it counts is the asker's.
func (s *SetUp) LearntHere(camera, body logbook.View, p *Period, ask cameras.ErrorQuery) (cameras.Error, bool) {
	if p.Reference == nil || len(s.book.Referring(kinds.Sample, "body", body.ID)) == 0 {
		return cameras.Error{}, false
	}
	light, err := p.Reference.CCTDuv()
	if err != nil {
		return cameras.Error{}, false
	}
	ask.Light = light
	return s.learntFor(camera, body, p, ask)
}

// LearntShown is what cards teach about a label, for the pictures of plane and swatches: as
// LearntHere, but also where no light is known. An error that does not count is none.
func (s *SetUp) LearntShown(camera, body logbook.View, p *Period, label colorimetry.CCTDuv) (cameras.Error, bool) {
	ask := cameras.ErrorQuery{Label: label}
	if p.Reference != nil {
		if t, err := p.Reference.CCTDuv(); err == nil {
			ask.Light = t
		}
	}
	e, ok := s.learntFor(camera, body, p, ask)
	return e, ok && e.Counts()
}

func (s *SetUp) learntFor(camera, body logbook.View, p *Period, ask cameras.ErrorQuery) (cameras.Error, bool) {
	ask.Family, ask.At, ask.Inferred = lighting.FamilyOfOrigin(s.book, p.Origin), s.now, true
	ask.Mode, ask.Glass = cameras.RecordedWith(s.book, s.setUp, camera, body)
	return cameras.ErrorByCards(s.book, body, ask)
}

// LearntForFootage is what cards teach about a setting of a clip, for its correction: in the
// light as it was measured at the clip, as of now, whatever its confidence.
func (s *SetUp) LearntForFootage(
	clip, body logbook.View, light *figure.Chromaticity, family string, label colorimetry.CCTDuv,
) (cameras.Error, bool) {
	ask := cameras.ErrorQuery{
		Mode: cameras.ModeOf(clip.Text("recordingMode"), body), Glass: cameras.GlassOf(clip.Text("lens"), clip.Text("filters")),
		Family: family, Label: label, At: s.now, Inferred: true,
	}
	if t, err := light.CCTDuv(); err == nil {
		ask.Light = t
	}
	return cameras.ErrorByCards(s.book, body, ask)
}

// LearntForMatch is what cards teach about a body, for a match: in the light at hand, as
// of now, whatever its confidence. Of the camera that is matched to only cards whose light
// was measured count.
func (s *SetUp) LearntForMatch(camera, body logbook.View, ask cameras.ErrorQuery) (cameras.Error, bool) {
	ask.At = s.now
	ask.Mode, ask.Glass = cameras.RecordedWith(s.book, s.setUp, camera, body)
	return cameras.ErrorByCards(s.book, body, ask)
}

// ShotCards are the cards of the set-up that count and can be read, by time.
func (s *SetUp) ShotCards() []*cameras.Card {
	if s.cards == nil {
		s.cards = cameras.CardsOf(s.book, s.setUp.ID)
	}
	return s.cards
}

// NewestCard is a camera's newest card in the set-up.
func (s *SetUp) NewestCard(camera logbook.ID) *cameras.Card {
	all := s.ShotCards()
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].Camera == camera {
			return all[i]
		}
	}
	return nil
}

// CardOfClip is the newest card that a body shot in the set-up on the clip's setting;
// one in the clip itself comes first.
func (s *SetUp) CardOfClip(clip, body logbook.View, set cameras.Setting) (found *cameras.Card) {
	for _, shot := range s.ShotCards() {
		inClip := shot.View.Ref("clip") == clip.ID
		if shot.Body.ID != body.ID || !inClip && shot.Set.Key() != set.Key() {
			continue
		}
		if found == nil || inClip || found.View.Ref("clip") != clip.ID {
			found = shot
		}
	}
	return found
}
