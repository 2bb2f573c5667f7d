package deviation

import (
	"fmt"

	"evenwhite/logbook/figure"
)

// findWhite finds the white of a shot: of its label, moved to where grey cards put it. A
// camera that was matched by cards is not off because of its label.
func (s *Finder) findWhite(sh *Shot) {
	w := s.WhiteAtClip(sh.Clip, sh.body, sh.setting)
	sh.White, sh.known, sh.possible = w.White, w.Err == nil, w.Possible
	if w.Learnt == nil {
		sh.PoorCards = w.Poor
		return
	}
	sh.LaterCard = w.Later
	sh.Cards = w.Learnt.Samples
	if xy, err := w.White.XY(); err == nil {
		sh.ByCards = fmt.Sprintf("by cards %s", figure.ShownWithin(xy, w.Learnt.Floors(w.White)).Words)
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
