package logbook

import (
	"fmt"

	"evenwhite/colorimetry"
)

// look is what the reference camera makes of the reference light: the part of a
// set-up's look that white decides.
type look struct {
	cast    colorimetry.Cast
	picture colorimetry.XYZ
	shown   bool // whether picture is there
	words   string
	record  ID // the take or set-up
}

// mustMatch compares the set-up with the one, or the take, that it must look like.
func (s *finder) mustMatch() []sighting {
	rule := s.setUp.Value("mustMatch")
	otherID, _ := rule.Member("setUp").ID()
	other, ok := s.book.RecordOf(KindSetUp, otherID)
	if !ok || other.ID == s.setUp.ID {
		return nil
	}
	take := View{}
	if id, ok := rule.Member("take").ID(); ok {
		if take, ok = s.book.RecordOf(KindTake, id); !ok {
			return nil
		}
	}
	here, ok := lookOf(s.book, s.setUp, View{}, s.now)
	if !ok {
		return nil
	}
	there, ok := lookOf(s.book, other, take, s.now)
	if !ok {
		return nil
	}
	var d Difference
	d.setCast(colorimetry.Cast{Mired: here.cast.Mired - there.cast.Mired, Duv: here.cast.Duv - there.cast.Duv})
	if here.shown && there.shown {
		d.Steps = rounded(colorimetry.PictureSteps(here.picture, there.picture), stepsDecimals)
	}
	d.Words = d.words()
	if _, beyond := s.limits.exceeded(d); !beyond {
		return nil
	}
	f := s.missing(SetUpsDiffer, fmt.Sprintf("the reference light is %s here than in %s, which this set-up must match", d.Words, there.words))
	f.cause = causeOf(f.cause, there.record)
	f.camera, f.one = s.reference, s.reference
	f.measured(d, s.limits)
	f.ComparedWith = &Compared{there.words, there.record}
	return []sighting{f}
}

// lookOf reads a set-up's look from the label of its reference camera: in a take,
// else in its newest clip. ok is false where a part of it is not known.
func lookOf(b *Book, setUp, take View, now Millis) (l look, ok bool) {
	camera, ok := b.RecordOf(KindCamera, ReferenceCamera(b, setUp))
	if !ok {
		return l, false
	}
	white, ok := WhiteAt(b, setUp.ID, now)
	set, body, _, known := lastSetting(b, setUp, camera)
	l.words, l.record = "set-up "+setUpName(b, setUp), setUp.ID
	if take.Known() {
		white, ok = WhiteOfTake(b, take)
		l.words, l.record = takeName(take)+" of "+l.words, take.ID
		known = false
		for _, clip := range b.Referring(KindClip, "takes", take.ID) {
			if clip.Ref("camera") == camera.ID {
				set = clipSetting(clip)
				body, known = b.RecordOf(KindBody, clip.Ref("body"))
			}
		}
	}
	if !ok || !known {
		return l, false
	}
	reference := WhiteInForceOf(b, white).Color
	label, _, err := set.labelWhite(b, body)
	if reference == nil || err != nil {
		return l, false
	}
	light, err := reference.cctDuv()
	if err != nil {
		return l, false
	}
	l.cast = colorimetry.CastOf(light, label)
	if xy, err := label.XY(); err == nil {
		l.picture, err = colorimetry.Picture(reference.XY, xy, colorimetry.CAT16)
		l.shown = err == nil
	}
	return l, true
}
