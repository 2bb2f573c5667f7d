package setup

import (
	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// A Look is what the reference camera makes of the reference light: the part of a
// set-up's look that white decides.
type Look struct {
	Cast    colorimetry.Cast
	Picture colorimetry.XYZ
	Shown   bool // whether picture is there
	Words   string
	Record  logbook.ID // the take or set-up
}

// LookOf reads a set-up's look from the label of its reference camera: in a take,
// else in its newest clip. ok is false where a part of it is not known.
func LookOf(b *logbook.Book, setUp, take logbook.View, now logbook.Millis) (l Look, ok bool) {
	camera, ok := b.RecordOf(kinds.Camera, cameras.Reference(b, setUp))
	if !ok {
		return l, false
	}
	white, ok := WhiteNow(b, setUp.ID, now)
	set, body, _, known := cameras.LatestSetting(b, setUp, camera)
	l.Words, l.Record = "set-up "+lighting.SetUpName(b, setUp), setUp.ID
	if take.Known() {
		white, ok = WhiteOfTake(b, take)
		l.Words, l.Record = lighting.TakeName(take)+" of "+l.Words, take.ID
		known = false
		for _, clip := range b.Referring(kinds.Clip, "takes", take.ID) {
			if clip.Ref("camera") == camera.ID {
				set = cameras.ClipSetting(clip)
				body, known = b.RecordOf(kinds.Body, clip.Ref("body"))
			}
		}
	}
	if !ok || !known {
		return l, false
	}
	reference := WhiteOf(b, white).Color
	label, _, err := set.LabelWhite(b, body)
	if reference == nil || err != nil {
		return l, false
	}
	light, err := reference.CCTDuv()
	if err != nil {
		return l, false
	}
	l.Cast = colorimetry.CastOf(light, label)
	if xy, err := label.XY(); err == nil {
		l.Picture, err = colorimetry.Picture(reference.XY, xy, colorimetry.CAT16)
		l.Shown = err == nil
	}
	return l, true
}
