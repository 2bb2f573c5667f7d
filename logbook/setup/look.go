package setup

import (
	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// A Look is what the reference camera makes of the reference light: the part of a
// set-up's look that white decides.
type Look struct {
	Words     string
	Record    logbook.ID // the take or set-up
	Open      string     // what of the body is not known, in words; empty where all is
	Contested bool       // several whites count
	body      logbook.ID
	may       []oneLook // several where something of the body or of the white is not known
}

// oneLook is a look by one of the whites that the label may stand for.
type oneLook struct {
	white   cameras.Possible
	cast    colorimetry.Cast
	picture colorimetry.XYZ
	shown   bool // whether picture is there
}

// Apart is how the look of one set-up may lie from that of another.
func (l Look) Apart(from Look) (all []figure.Difference) {
	for _, here := range l.may {
		for _, there := range from.may {
			if l.body == from.body && !here.white.Fits(there.white) {
				continue
			}
			var d figure.Difference
			d.SetCast(colorimetry.Cast{Mired: here.cast.Mired - there.cast.Mired, Duv: here.cast.Duv - there.cast.Duv})
			if here.shown && there.shown {
				d.Steps = figure.Rounded(colorimetry.PictureSteps(here.picture, there.picture), figure.StepsDecimals)
			}
			d.Words = d.InWords()
			all = append(all, d)
		}
	}
	return all
}

// LookOf reads a set-up's look from the label of its reference camera: in a take,
// else in its newest clip. ok is false where a part of it is not known.
func LookOf(b *logbook.Book, setUp, take logbook.View, now logbook.Millis) (l Look, ok bool) {
	camera, ok := b.RecordOf(kinds.Camera, cameras.Reference(b, setUp))
	if !ok {
		return l, false
	}
	whites := whitesNow(b, setUp.ID, now)
	set, body, _, known := cameras.LatestSetting(b, setUp, camera)
	l.Words, l.Record = "set-up "+lighting.SetUpName(b, setUp), setUp.ID
	if take.Known() {
		whites = whitesOfTake(b, take)
		l.Words, l.Record = lighting.TakeName(take)+" of "+l.Words, take.ID
		known = false
		for _, clip := range b.Referring(kinds.Clip, "takes", take.ID) {
			if clip.Ref("camera") == camera.ID {
				set = cameras.ClipSetting(clip)
				body, known = b.RecordOf(kinds.Body, clip.Ref("body"))
			}
		}
	}
	if !known {
		return l, false
	}
	l.body, l.Open, l.Contested = body.ID, set.WhatIsOpen(body, camera.Text("letter")), len(whites) > 1
	possible := set.PossibleWhites(b, body)
	for _, white := range whites {
		some := looksIn(WhiteOf(b, white), possible)
		if len(some) == 0 {
			return l, false
		}
		l.may = append(l.may, some...)
	}
	return l, len(l.may) > 0
}

// looksIn are the looks that a camera may have under one white.
func looksIn(white White, possible []cameras.Possible) (all []oneLook) {
	for _, reference := range white.Possible() {
		light, err := reference.Color.CCTDuv()
		if err != nil {
			return nil
		}
		for _, p := range possible {
			if !reference.by.Fits(p) {
				continue
			}
			one := oneLook{white: p, cast: colorimetry.CastOf(light, p.White)}
			if xy, err := p.White.XY(); err == nil {
				one.picture, err = colorimetry.Picture(reference.Color.XY, xy, colorimetry.CAT16)
				one.shown = err == nil
			}
			all = append(all, one)
		}
	}
	return all
}

// WhitesApart is how the white of one set-up may lie from that of another, for each of those that
// count and each colour that they may have: + warmer and greener as a light. None: a colour is not
// known.
func WhitesApart(here, there []White) (all []figure.Difference) {
	for _, h := range here {
		for _, t := range there {
			ours, theirs := h.Possible(), t.Possible()
			if len(ours) == 0 || len(theirs) == 0 {
				return nil
			}
			for _, x := range ours {
				for _, y := range theirs {
					if x.by.Fits(y.by) {
						all = append(all, figure.ColorDifference(x.Color.XY, y.Color.XY))
					}
				}
			}
		}
	}
	return all
}
