package cameras

import (
	"fmt"
	"math"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// tintLearnt is what two grey cards say that a unit of a body's tint dial does.
type tintLearnt struct {
	unit, spread colorimetry.Duv
	plusIsGreen  bool
	samples      [2]logbook.ID
}

// tintCard is a card by what matters for the tint.
type tintCard struct {
	sample      logbook.ID
	same        string // equal for cards that differ in tint alone
	tint        float64
	white       colorimetry.CCTDuv
	uncertainty colorimetry.Duv
}

// learnTint finds the two cards of a body that show best what a unit of its tint
// dial does: on one kelvin, in one recording mode, under one family of lamps whose
// light was measured; until a date, where one is given. A difference within twice its spread
// teaches nothing.
func learnTint(body logbook.View, date string) (best tintLearnt, ok bool) {
	groups := map[string][]tintCard{}
	for _, v := range body.Book().Referring(kinds.Sample, "body", body.ID) {
		c, usable := tintCardOf(body.Book(), v, date)
		if !usable {
			continue
		}
		for _, other := range groups[c.same] {
			l, taught := other.with(c)
			if taught && (!ok || l.spread/l.unit < best.spread/best.unit) {
				best, ok = l, true
			}
		}
		groups[c.same] = append(groups[c.same], c)
	}
	return best, ok
}

func tintCardOf(b *logbook.Book, v logbook.View, date string) (t tintCard, ok bool) {
	if lighting.Withdrawn(v) {
		return t, false
	}
	c, err := cardOf(b, v)
	if err != nil || date != "" && c.Date > date || c.Reading == nil || c.Reading.Color == nil || !c.Set.OnDial() {
		return t, false
	}
	s, err := colorimetry.ReadPatch(c.Patch, c.Encoding, c.Reading.Color.XY)
	if err != nil {
		return t, false
	}
	level := c.Set
	level.Tint = ""
	return tintCard{v.ID, level.Key() + " " + c.mode + " " + c.family, logbook.FloatOf(c.Set.Tint), s.White, s.Uncertainty.Duv}, true
}

// with is what two cards teach; ok is false where they differ by too little.
func (t tintCard) with(o tintCard) (l tintLearnt, ok bool) {
	unit, plusIsGreen, err := colorimetry.TintUnit(t.white, t.tint, o.white, o.tint)
	if err != nil {
		return l, false
	}
	spread := colorimetry.Duv(math.Hypot(float64(t.uncertainty), float64(o.uncertainty)) / math.Abs(t.tint-o.tint))
	return tintLearnt{unit, spread, plusIsGreen, [2]logbook.ID{t.sample, o.sample}}, unit > 2*spread
}

// tintOf is the tint dial of a body, with the unit that cards taught where the log
// does not say it. The caveat says so.
func tintOf(body logbook.View, d colorimetry.TintDial, date string) (colorimetry.TintDial, string) {
	if d == (colorimetry.TintDial{}) || d.DuvPerUnit != 0 || !body.Known() {
		return d, ""
	}
	l, ok := learnTint(body, date)
	if !ok {
		return d, ""
	}
	towards := map[bool]string{true: "green", false: "magenta"}
	caveat := fmt.Sprintf("what a tint unit does was learnt from two cards: %.5f Duv (± %.5f), + is %s",
		float64(l.unit), float64(l.spread), towards[l.plusIsGreen])
	if l.plusIsGreen != d.PlusIsGreen {
		caveat += fmt.Sprintf(", though the body is logged with + as %s", towards[d.PlusIsGreen])
	}
	d.DuvPerUnit, d.PlusIsGreen = l.unit, l.plusIsGreen
	return d, caveat
}
