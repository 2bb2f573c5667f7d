package logbook

import (
	"fmt"
)

// moveByCards moves the white of a shot from the label to where grey cards put it:
// a camera that was matched by cards is not off because of its label.
func (s *finder) moveByCards(sh *shot) {
	if !sh.known || !sh.setting.onDial() {
		return
	}
	e, ok := s.LearntAtClip(sh.clip, sh.body, sh.period, sh.white)
	if !ok {
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
