package cameras

import (
	"evenwhite/colorimetry"
	"evenwhite/logbook"
)

// Memo keeps what follows from a book for its bodies, worked out once in one call.
// The book must not change while it lives.
type Memo struct {
	book   *logbook.Book
	labels map[labelKey]logbook.Rested[*Labelled]
	whites map[whitesKey]colorimetry.Whites // of dials that were read already
}

type labelKey struct {
	body    logbook.ID
	setting Setting
}

type whitesKey struct {
	body logbook.ID
	zero colorimetry.Locus
}

// Labelled is what a setting claims on a body.
type Labelled struct {
	Dialled Dialled
	White   colorimetry.CCTDuv
	Caveats []string
	// Possible are the whites that it may be where something of the body is not known; where
	// there is no White to show there may be several of them all the same.
	Possible []Possible
	Err      error // why there is no white
	Off      error // why the body does not have the setting
}

func NewMemo(b *logbook.Book) *Memo {
	return &Memo{book: b, labels: map[labelKey]logbook.Rested[*Labelled]{}, whites: map[whitesKey]colorimetry.Whites{}}
}

// mostLabels is how many are kept: a set-up has few, and a long job new ones on each date.
const mostLabels = 100

func (m *Memo) Label(s Setting, body logbook.View) *Labelled {
	key := labelKey{body.ID, s}
	if _, ok := m.labels[key]; !ok && len(m.labels) >= mostLabels {
		clear(m.labels)
	}
	return logbook.Resting(m.book, m.labels, key, func() *Labelled {
		l := &Labelled{Dialled: s.InDialled(m.book, body)}
		l.White, l.Caveats, l.Err = s.LabelWhite(m.book, body)
		l.Possible = s.PossibleWhites(m.book, body)
		if body.Known() {
			l.Off = s.Check(body)
		}
		return l
	})
}

// nearest is Nearest of a body's dials. The tint unit may change with the kelvin,
// so that the whites are those without tint.
func (m *Memo) nearest(
	body logbook.View, d colorimetry.Dials, aim colorimetry.CCTDuv, light colorimetry.XY, cameraError colorimetry.Cast,
) (best, second colorimetry.Choice, err error) {
	key := whitesKey{body.ID, d.ZeroLocus}
	w, ok := m.whites[key]
	if !ok {
		plain := d
		plain.Tint, plain.Fine = colorimetry.TintDial{}, colorimetry.FineAxis{}
		if w, err = plain.Whites(); err != nil {
			return best, second, err
		}
		m.whites[key] = w
	}
	return w.Nearest(d, aim, light, cameraError)
}
