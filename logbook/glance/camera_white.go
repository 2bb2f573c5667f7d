package glance

import (
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/setup"
)

// cameraWhite is the white that a camera has: of its newest setting in the set-up,
// else of the planned one, moved by what grey cards taught about the body.
type cameraWhite struct {
	camera  logbook.ID
	letter  string
	setting string // in words
	dialled bool   // a dial names the white
	planned bool   // the setting was not used yet
	shown   *figure.Shown
	learnt  *cameras.Error // counted in
	// possible is what white may be where something of the body is not known.
	possible []cameras.Possible
	problem  string // why there is no white
	words    string
	white    colorimetry.CCTDuv
	xy       colorimetry.XY
}

// whiteOfCamera finds a camera's white, as far as the log knows it.
func (s *overview) whiteOfCamera(p *setup.Period, camera logbook.View) cameraWhite {
	w := cameraWhite{camera: camera.ID, letter: camera.Text("letter")}
	stands := s.Stands(camera)
	set, body, ok := stands.Setting, stands.Body, stands.Known
	if w.planned = !ok; !ok {
		set = cameras.PlannedSetting(s.Book(), s.View(), camera)
		if body, ok = cameras.BodyNow(s.Book(), camera); !ok || !set.Complete() {
			w.problem = "it has neither a clip with settings nor a planned kelvin here"
			return w.inWords()
		}
	}
	w.setting, w.dialled = set.InWords(body), set.OnDial()
	if w.planned {
		w.take(s.WhitePlanned(camera, body, p, set))
	} else {
		w.take(s.whiteStanding(p, camera, stands))
	}
	if w.problem != "" {
		return w.inWords()
	}
	xy, err := w.white.XY()
	if err != nil {
		w.problem = err.Error()
		return w.inWords()
	}
	var spread figure.Floors
	if w.learnt != nil {
		spread = w.learnt.Floors(w.white)
	}
	w.xy, w.shown = xy, figure.ShownWithin(xy, spread)
	return w.inWords()
}

func (w *cameraWhite) take(from setup.SettingWhite) {
	w.white, w.learnt, w.possible = from.White, from.Learnt, from.Possible
	if from.Err != nil {
		w.problem = from.Err.Error()
	}
}

func (w cameraWhite) inWords() cameraWhite {
	set := "at "
	if w.planned {
		set = "planned "
	}
	switch {
	case w.problem != "":
		w.words = w.problem
	case w.learnt != nil:
		w.words = fmt.Sprintf("%s%s, by cards %s ±%g mired", set, w.setting, w.shown.Words, w.learnt.SpreadMired)
	case !w.dialled:
		w.words = fmt.Sprintf("%s%s: %s", set, w.setting, w.shown.Words)
	default:
		w.words = fmt.Sprintf("%s%s, by its label %s", set, w.setting, w.shown.Words)
	}
	return w
}
