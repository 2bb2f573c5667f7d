package cameras

import (
	"math"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
)

// Possible is one of the whites that a label may stand for, because something of the body is
// not known, with what was assumed for it.
type Possible struct {
	White colorimetry.CCTDuv
	body  logbook.ID
	zero  colorimetry.Locus // where tint 0 lies; anyZero where it does not matter
	unit  colorimetry.Duv   // of the tint dial; 0 where it is known or does not matter
	// through is the camera of the body where another camera's card, or a set-up's white, rests on it.
	through logbook.ID
}

const anyZero colorimetry.Locus = -1

// Fits reports whether two whites rest on assumptions that can both be true: what is assumed of
// one body says nothing of another.
func (p Possible) Fits(o Possible) bool {
	zero := p.zero == o.zero || p.zero == anyZero || o.zero == anyZero
	unit := p.unit == o.unit || p.unit == 0 || o.unit == 0
	return p.body != o.body || p.body.IsZero() || zero && unit
}

// zerosOf are the loci on which tint 0 of a body may lie. Where it is not known they are all,
// the first being the one that is shown: a kelvin of the body is then taken for what the
// production takes a nominal kelvin for, which is a choice of this program.
func zerosOf(body logbook.View) []colorimetry.Locus {
	switch body.Text("tintZero") {
	case "blackBody":
		return []colorimetry.Locus{colorimetry.BlackBody}
	case "daylight":
		return []colorimetry.Locus{colorimetry.Daylight}
	case "blend":
		return []colorimetry.Locus{colorimetry.Blend}
	}
	if body.Known() {
		if p, ok := lighting.ProductionOf(body.Book()); ok && p.Text("nominalWhite") == "blackBody" {
			return []colorimetry.Locus{colorimetry.BlackBody, colorimetry.Blend, colorimetry.Daylight}
		}
	}
	return []colorimetry.Locus{colorimetry.Blend, colorimetry.BlackBody, colorimetry.Daylight}
}

// How far a whole tint dial may move a white, from its middle to its end, where the unit is
// not known: a choice of this program, wider than what is common.
const leastDial, mostDial = 0.005, 0.04

// unitsOf are the units that a tint dial may have; {0} where the unit is known or, at tint 0,
// does not matter.
func unitsOf(d colorimetry.TintDial, tint float64) []colorimetry.Duv {
	end := math.Max(math.Abs(d.Min), math.Abs(d.Max))
	if tint == 0 || d.DuvPerUnit != 0 || end == 0 {
		return []colorimetry.Duv{0}
	}
	return []colorimetry.Duv{colorimetry.Duv(leastDial / end), colorimetry.Duv(mostDial / end)}
}

// PossibleWhites are the whites that a setting may claim on a body, one for each value that
// what is not known of the body may have; one where all is known, the first being the one
// that is shown where there is one. None: the setting has no label.
func (s Setting) PossibleWhites(b *logbook.Book, body logbook.View) (all []Possible) {
	if s.Mode == "customFromCard" && !s.CustomFrom.IsZero() {
		return PossibleOnCard(b, s.CustomFrom, Known{})
	}
	if !s.OnDial() || !s.Complete() {
		if white, _, err := s.LabelWhite(b, body); err == nil {
			all = append(all, Possible{White: white, body: body.ID, zero: anyZero})
		}
		return all
	}
	dials, _ := s.dialsAt(body)
	zeros := zerosOf(body)
	if s.Mode == "preset" {
		zeros = []colorimetry.Locus{anyZero}
	}
	for _, unit := range unitsOf(dials.Tint, s.dials().Tint) {
		for _, zero := range zeros {
			d := dials
			if zero != anyZero {
				d.ZeroLocus = zero
			}
			if unit != 0 {
				d.Tint.DuvPerUnit = unit
			}
			if white, err := d.White(s.dials()); err == nil {
				all = append(all, Possible{White: white, body: body.ID, zero: zero, unit: unit})
			}
		}
	}
	return all
}

// ByCards are the whites that are left where grey cards of the body say how far it is off its
// label: where tint 0 lies is in what they say. What another camera leaves open stays so.
func ByCards(all []Possible, e Error) (moved []Possible) {
	for _, p := range all {
		if p.zero != all[0].zero {
			continue
		}
		for _, one := range e.casts() {
			white, err := movedBy(p.White, one.cast)
			if err != nil {
				continue
			}
			q := one.by
			if len(e.may) == 0 {
				q = p
				q.zero = anyZero
			}
			q.White = white
			moved = append(moved, q)
		}
	}
	return moved
}

// ToldBy are whites that a set-up took over from the setting of a camera.
func ToldBy(camera logbook.ID, whites []Possible) []Possible {
	for i := range whites {
		if whites[i].through.IsZero() {
			whites[i].through = camera
		}
	}
	return whites
}

// Through is the camera, and its body, of which something is not known that a white rests on:
// it told the light on a card, or its setting is the white of the set-up. Zero: it rests on
// no other.
func (p Possible) Through() (camera, body logbook.ID) { return p.through, p.body }

// WhatIsOpen names what is not known of the camera that a white rests on.
func (p Possible) WhatIsOpen(letter string) string {
	if p.unit != 0 {
		return "what a tint unit of " + letter + " does"
	}
	return "where tint 0 of " + letter + " lies"
}

// WhatIsOpen names what is not known of a body that the white of a setting rests on: "where
// tint 0 of B lies"; "" where all is known.
func (s Setting) WhatIsOpen(body logbook.View, letter string) string {
	if !s.OnDial() || !body.Known() {
		return ""
	}
	dials, _ := s.dialsAt(body)
	open := Possible{unit: unitsOf(dials.Tint, s.dials().Tint)[0]}
	if open.unit == 0 && (s.Mode != "kelvin" || len(zerosOf(body)) < 2) {
		return ""
	}
	return open.WhatIsOpen(letter)
}

// PossibleResiduals is how near a body comes to an aim, for each value that what is not known
// of its dials may have: the residual of the setting that is then best. One where all is
// known, or where grey cards say how far it is off its label and nothing of its tint is open.
func (m *Memo) PossibleResiduals(
	body logbook.View, aim colorimetry.CCTDuv, light colorimetry.XY, byCards *Error,
) (all []figure.Difference) {
	dials := DialsOf(body, float64(aim.CCT))
	zeros, off := zerosOf(body), []colorimetry.Cast{{}}
	if byCards != nil {
		zeros, off = zeros[:1], byCards.MayBe()
	}
	for _, zero := range zeros {
		for _, unit := range unitsOf(dials.Tint, 1) {
			d := dials
			d.ZeroLocus = zero
			if unit != 0 {
				d.Tint.DuvPerUnit = unit
			}
			for _, cast := range off {
				if best, _, err := m.nearest(body, d, aim, light, cast); err == nil {
					all = append(all, *dialledChoice(best, body).Residual)
				}
			}
		}
	}
	return all
}

// UnitAssumed reports whether a white rests on an assumption about the tint unit.
func (p Possible) UnitAssumed() bool { return p.unit != 0 }
