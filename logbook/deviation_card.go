package logbook

import (
	"fmt"

	"evenwhite/colorimetry"
)

// learntKey is all that a camera error depends on within a set-up. Age counts by
// the hour: the clips of a morning need not learn one by one.
type learntKey struct {
	body, white ID
	mode, glass string
	label       colorimetry.CCTDuv
	hour        Millis
}

// moveByCards moves the white of a shot from the label to where grey cards put it:
// a camera that was matched by cards is not off because of its label.
func (s *finder) moveByCards(sh *shot) {
	if !sh.known || !sh.setting.onDial() || sh.period.reference == nil || len(s.book.Referring(KindSample, "body", sh.body.ID)) == 0 {
		return
	}
	e := s.learntOf(sh)
	if e == nil || !e.counts() {
		return
	}
	white, err := e.moves(sh.white)
	if err != nil {
		return
	}
	sh.white = white
	if xy, err := white.XY(); err == nil {
		sh.byCards = fmt.Sprintf("by cards %s", shownWithin(xy, e.floors(white)).Words)
	}
}

// dialled is the setting in words, with what cards make of it.
func (sh *shot) dialled() string {
	words := sh.setting.words(sh.body)
	if sh.byCards != "" {
		words += " (" + sh.byCards + ")"
	}
	return words
}

func (s *finder) learntOf(sh *shot) *CameraError {
	at, ok := sh.clip.Time("startedAt")
	if !ok {
		at = sh.clip.CreatedAt()
	}
	const hour = Millis(60 * 60 * 1000)
	k := learntKey{body: sh.body.ID, white: sh.period.white.ID, label: sh.white, hour: at / hour,
		mode: modeOf(sh.clip.Text("recordingMode"), sh.body), glass: glassOf(sh.clip.Text("lens"), sh.clip.Text("filters"))}
	if e, done := s.learnt[k]; done {
		return e
	}
	light, err := sh.period.reference.cctDuv()
	if err != nil {
		return nil
	}
	var out *CameraError
	if e, ok := cameraError(s.book, sh.body, errorAsked{mode: k.mode, glass: k.glass, family: familyOfOrigin(s.book, sh.period.origin),
		light: light, label: k.label, now: (k.hour + 1) * hour, inferred: true}); ok {
		out = &e
	}
	s.learnt[k] = out
	return out
}
