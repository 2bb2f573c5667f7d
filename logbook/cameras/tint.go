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

// tintLessons are the cards of a body so far by what they differ in, and the two of them that teach best.
type tintLessons struct {
	groups map[string][]tintCard
	best   *tintLearnt // nil: none do
}

func (l *tintLessons) add(c tintCard) {
	if l.groups == nil {
		l.groups = map[string][]tintCard{}
	}
	for _, other := range l.groups[c.same] {
		if found, taught := other.with(c); taught && (l.best == nil || found.spread/found.unit < l.best.spread/l.best.unit) {
			l.best = &found
		}
	}
	l.groups[c.same] = append(l.groups[c.same], c)
}

// learnTint finds the two cards of a body that show best what a unit of its tint
// dial does: on one kelvin, in one recording mode, under one family of lamps whose
// light was measured; until a date, where one is given. A difference within twice its spread
// teaches nothing.
func learnTint(body logbook.View, date string) (best tintLearnt, ok bool) {
	var all tintLessons
	for _, v := range body.Book().Referring(kinds.Sample, "body", body.ID) {
		if lighting.Withdrawn(v) {
			continue
		}
		c, err := cardOf(body.Book(), v)
		if err != nil || date != "" && c.Date > date {
			continue
		}
		if t, usable := tintCardOf(c); usable {
			all.add(t)
		}
	}
	if all.best == nil {
		return best, false
	}
	return *all.best, true
}

// tintCardOf is a card that could be read; ok is false where it says nothing of a tint.
func tintCardOf(c *Card) (t tintCard, ok bool) {
	if c.Reading == nil || c.Reading.Color == nil || !c.Set.OnDial() {
		return t, false
	}
	s, err := colorimetry.ReadPatch(c.Patch, c.Encoding, c.Reading.Color.XY)
	if err != nil {
		return t, false
	}
	level := c.Set
	level.Tint = ""
	return tintCard{c.View.ID, level.Key() + " " + c.mode + " " + c.family, logbook.FloatOf(c.Set.Tint), s.White, s.Uncertainty.Duv}, true
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
func tintOf(body logbook.View, d colorimetry.TintDial, s Setting) (colorimetry.TintDial, string) {
	if d == (colorimetry.TintDial{}) || d.DuvPerUnit != 0 || !body.Known() {
		return d, ""
	}
	l, ok := s.tintTaught(body)
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

// tintTaught is what cards teach of the tint dial for a setting.
func (s Setting) tintTaught(body logbook.View) (tintLearnt, bool) {
	if s.taught != nil {
		return *s.taught, s.taught.unit > 0
	}
	return learnTint(body, s.On)
}
