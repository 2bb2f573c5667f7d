package deviation

import (
	"fmt"

	"evenwhite/logbook/figure"
)

// moveByCards moves the white of a shot from the label to where grey cards put it:
// a camera that was matched by cards is not off because of its label.
func (s *Finder) moveByCards(sh *Shot) {
	if !sh.known || !sh.setting.OnDial() {
		return
	}
	e, ok := s.LearntAtClip(sh.Clip, sh.body, sh.period, sh.White)
	if !ok {
		return
	}
	white, err := e.Moves(sh.White)
	if err != nil {
		return
	}
	sh.White, sh.Cards = white, e.Samples
	if xy, err := white.XY(); err == nil {
		sh.ByCards = fmt.Sprintf("by cards %s", figure.ShownWithin(xy, e.Floors(white)).Words)
	}
}

// dialled is the setting in words, with what cards make of it.
func (sh *Shot) dialled() string {
	words := sh.setting.InWords(sh.body)
	if sh.ByCards != "" {
		words += " (" + sh.ByCards + ")"
	}
	return words
}
