package logbook

import (
	"fmt"

	"evenwhite/colorimetry"
)

// CameraWhite is the white that a camera has: of its newest setting in the set-up,
// else of the planned one, moved by what grey cards taught about the body.
type CameraWhite struct {
	Camera  ID     `json:"camera"`
	Letter  string `json:"letter"`
	Setting string `json:"setting,omitempty"` // in words
	// From is "cards", "label" or "planned"; absent where there is no white.
	From        string       `json:"from,omitempty"`
	White       *Shown       `json:"white,omitempty"`
	CameraError *CameraError `json:"cameraError,omitempty"` // counted in
	Problem     string       `json:"problem,omitempty"`     // why there is no white
	Words       string       `json:"words"`
	white       colorimetry.CCTDuv
	xy          colorimetry.XY
}

// cameraWhite finds a camera's white, as far as the log tells.
func (s *situation) cameraWhite(p *period, camera View) CameraWhite {
	w := CameraWhite{Camera: camera.ID, Letter: camera.Text("letter")}
	set, body, _, ok := lastSetting(s.book, s.setUp, camera)
	from := "label"
	if !ok {
		set, from = plannedSetting(s.book, s.setUp, camera), "planned"
		if body, ok = bodyNow(s.book, camera); !ok || !set.complete() {
			w.Problem = "it has neither a clip with settings nor a planned kelvin here"
			return w.inWords()
		}
	}
	w.Setting = set.words(body)
	label := s.known.label(set, body)
	if label.err != nil {
		w.Problem = label.err.Error()
		return w.inWords()
	}
	w.white = label.white
	s.learnWhite(p, camera, body, &w)
	xy, err := w.white.XY()
	if err != nil {
		w.Problem = err.Error()
		return w.inWords()
	}
	var spread floors
	if e := w.CameraError; e != nil {
		from = "cards"
		k := float64(w.white.CCT)
		spread = floors{kelvin: e.SpreadMired * k * k / 1e6, mired: e.SpreadMired, duv: e.SpreadDuv}
	}
	w.xy, w.White = xy, shownWithin(xy, spread)
	w.From = from
	return w.inWords()
}

func (s *situation) learnWhite(p *period, camera, body View, w *CameraWhite) {
	ask := errorAsked{label: w.white, now: s.now, inferred: true, family: familyOfOrigin(s.book, p.origin)}
	if p.reference != nil {
		if t, err := p.reference.cctDuv(); err == nil {
			ask.light = t
		}
	}
	ask.mode, ask.glass = recordedWith(s.book, s.setUp, camera, body)
	e, ok := cameraError(s.book, body, ask)
	if !ok {
		return
	}
	if moved, err := e.moves(w.white); err == nil {
		w.white, w.CameraError = moved, &e
	}
}

func (w CameraWhite) inWords() CameraWhite {
	switch {
	case w.Problem != "":
		w.Words = w.Problem
	case w.From == "cards":
		w.Words = fmt.Sprintf("at %s, by cards %s ±%g mired", w.Setting, w.White.Words, w.CameraError.SpreadMired)
	case w.From == "planned":
		w.Words = fmt.Sprintf("planned %s, by its label %s", w.Setting, w.White.Words)
	default:
		w.Words = fmt.Sprintf("at %s, by its label %s", w.Setting, w.White.Words)
	}
	return w
}
