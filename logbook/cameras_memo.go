package logbook

import "evenwhite/colorimetry"

// memo keeps what follows from a book for its bodies, worked out once in one call.
// The book must not change while it lives.
type memo struct {
	book   *Book
	labels map[labelKey]*label
	whites map[ID]colorimetry.Whites // by body
}

type labelKey struct {
	body    ID
	setting setting
}

// label is what a setting claims on a body.
type label struct {
	dialled Dialled
	white   colorimetry.CCTDuv
	caveats []string
	err     error // why there is no white
	off     error // why the body does not have the setting
}

func newMemo(b *Book) *memo {
	return &memo{book: b, labels: map[labelKey]*label{}, whites: map[ID]colorimetry.Whites{}}
}

func (k *memo) label(s setting, body View) *label {
	key := labelKey{body.ID, s}
	l, ok := k.labels[key]
	if !ok {
		l = &label{dialled: s.dialled(k.book, body)}
		l.white, l.caveats, l.err = s.labelWhite(k.book, body)
		if body.Known() {
			l.off = s.check(body)
		}
		k.labels[key] = l
	}
	return l
}

// nearest is Nearest of a body's dials. The tint unit may change with the kelvin,
// so that the whites are those without tint.
func (k *memo) nearest(body View, d colorimetry.Dials, aim colorimetry.CCTDuv, light colorimetry.XY, cameraError colorimetry.Cast) (best, second colorimetry.Choice, err error) {
	w, ok := k.whites[body.ID]
	if !ok {
		plain := d
		plain.Tint, plain.Fine = colorimetry.TintDial{}, colorimetry.FineAxis{}
		if w, err = plain.Whites(); err != nil {
			return best, second, err
		}
		k.whites[body.ID] = w
	}
	return w.Nearest(d, aim, light, cameraError)
}
