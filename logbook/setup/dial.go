package setup

import (
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// A Dial is what to dial on a camera for its aim. There is one such answer: where grey cards
// say enough of the body, they are counted in, else it rests on the label.
type Dial struct {
	Best    cameras.Dialled
	Second  *cameras.Dialled
	Caveats []string // what Best assumes
	Want    colorimetry.CCTDuv
	// Learnt is what grey cards say of the body, also where it is too little; it is counted
	// in where ByCards.
	Learnt  *cameras.Error
	ByCards bool
}

// An OtherDial is what to dial by a white that was chosen apart from the one that is shown, and
// counts as much.
type OtherDial struct {
	White  logbook.ID           `json:"white"`
	Aim    *figure.Chromaticity `json:"aim,omitempty"`
	ToDial *cameras.Dialled     `json:"toDial,omitempty"`
	Words  string               `json:"words"` // "4300 K by nominal 4300 K", "can't tell by …: …"
}

// OtherDials are what to dial on a body by each of the other whites that count.
func (s *SetUp) OtherDials(camera, body logbook.View, p *Period) (all []OtherDial) {
	for _, w := range p.Contested {
		v, _ := s.book.RecordOf(kinds.White, w.White)
		by := newPeriod()
		by.choose(v, w)
		other := OtherDial{White: w.White, Aim: s.Aim(by, camera.ID).Aim}
		if d, err := s.ToDial(camera, body, by); err == nil {
			other.ToDial, other.Words = &d.Best, fmt.Sprintf("%s by %s", d.Best.Words, w.Words)
		} else {
			other.Words = fmt.Sprintf("can't tell by %s: %v", w.Words, err)
		}
		all = append(all, other)
	}
	return all
}

// Off is how far the body is off its label, as it was counted in.
func (d *Dial) Off() colorimetry.Cast {
	if d.ByCards {
		return d.Learnt.Cast
	}
	return colorimetry.Cast{}
}

// ToDial is what to dial on a body that fills a camera, for the aim of a period. Errors wrap
// figure.ErrUnknown or colorimetry.ErrDomain.
func (s *SetUp) ToDial(camera, body logbook.View, p *Period) (d Dial, err error) {
	aim := s.Aim(p, camera.ID)
	if aim.Aim == nil {
		return d, fmt.Errorf("%w: %s", figure.ErrUnknown, aim.Problem)
	}
	if !body.Known() {
		return d, fmt.Errorf("%w: camera %s has no body", figure.ErrUnknown, camera.Text("letter"))
	}
	if d.Want, err = aim.Aim.CCTDuv(); err != nil {
		return d, err
	}
	if e, ok := s.LearntHere(camera, body, p, cameras.ErrorQuery{White: d.Want}); ok {
		d.Learnt, d.ByCards = &e, e.Counts()
	}
	if err = s.dial(&d, body, p); err != nil && d.ByCards {
		return s.LabelDial(d, body, p)
	}
	return d, err
}

// LabelDial is the same with nothing counted in that cards say.
func (s *SetUp) LabelDial(d Dial, body logbook.View, p *Period) (Dial, error) {
	d.ByCards = false
	err := s.dial(&d, body, p)
	return d, err
}

// CardDial is the same with what cards say counted in, be it much or little.
func (s *SetUp) CardDial(d Dial, body logbook.View, p *Period) (Dial, error) {
	if d.Learnt == nil {
		return d, fmt.Errorf("%w: no grey card speaks of the body", figure.ErrUnknown)
	}
	d.ByCards = true
	err := s.dial(&d, body, p)
	return d, err
}

func (s *SetUp) dial(d *Dial, body logbook.View, p *Period) (err error) {
	d.Best, d.Second, d.Caveats, err = s.memo.WhatToDialWith(body, d.Want, p.Reference.XY, d.Off())
	if err == nil {
		d.Best.Why = cameras.WhyNotNearest(body, d.Want, p.Reference.XY, d.Off(), d.Best)
	}
	return err
}
