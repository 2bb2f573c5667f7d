package cameras_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// The daylight locus lies 0.0033 above the black body at 5600 K, and a dial that goes below
// 4000 K, where that locus ends, keeps its 0.0027.
func TestTheWhitesThatALabelMayStandFor(t *testing.T) {
	const tint = `{"min":-10,"max":10,"step":1,"plusIs":"magenta"%s}`
	unit := fmt.Sprintf(tint, `,"duvPerUnit":0.001`)
	for _, c := range []struct {
		name    string
		fields  []string
		nominal string // of the production
		set     cameras.Setting
		duv     []float64 // the first is the one shown
		open    string
	}{
		{"known", []string{"tintZero", `"daylight"`, "tint", unit}, "", kelvinSetting("5600", "1"), []float64{0.0043}, ""},
		{"tint_0_unknown", []string{"tint", unit}, "", kelvinSetting("5600", "1"), []float64{0.0043, 0.001, 0.0043}, "where tint 0 of B lies"},
		{"said_to_be_unknown", []string{"tintZero", `"unknown"`}, "", kelvinSetting("5600", ""), []float64{0.0033, 0, 0.0033}, "where tint 0 of B lies"},
		{"under_tungsten", nil, "", kelvinSetting("3200", ""), []float64{0, 0, 0.0027}, "where tint 0 of B lies"},
		{"a_production_on_the_black_body", nil, "blackBody", kelvinSetting("5600", ""), []float64{0, 0.0033, 0.0033}, "where tint 0 of B lies"},
		// A dial to 10 that moves the white by 0.005 to 0.04: 0.0005 to 0.004 a unit.
		{"the_unit_unknown", []string{"tintZero", `"blackBody"`, "tint", fmt.Sprintf(tint, "")}, "", kelvinSetting("5600", "-2"), []float64{-0.001, -0.008}, "what a tint unit of B does"},
		{"the_unit_unknown_at_tint_0", []string{"tintZero", `"blackBody"`, "tint", fmt.Sprintf(tint, "")}, "", kelvinSetting("5600", "0"), []float64{0}, ""},
		{"both_unknown", []string{"tint", fmt.Sprintf(tint, "")}, "", kelvinSetting("5600", "2"), []float64{0.0043, 0.001, 0.0043, 0.0113, 0.008, 0.0113}, "what a tint unit of B does"},
		{"a_preset_is_what_it_is", nil, "", cameras.Setting{Mode: "preset", Preset: "sun"}, []float64{0.001}, ""},
		{"automatic", nil, "", cameras.Setting{Mode: "auto"}, nil, ""},
		{"a_tint_without_a_dial", []string{"tintZero", `"blackBody"`}, "", kelvinSetting("5600", "3"), nil, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			if c.nominal != "" {
				s.Set(s.ProductionID(), "nominalWhite", stage.Quoted(c.nominal))
			}
			id := s.Add(kinds.Body, append([]string{"label", `"body 3"`, "whiteModes", `["kelvin","preset","auto"]`, "timecode", `"none"`,
				"kelvinRanges", `[{"min":2000,"max":11000,"step":50}]`, "presets/sun", `{"name":"sun","kelvin":5600,"duv":0.001}`}, c.fields...)...)
			b := s.Book()
			body, _ := b.Record(id)
			all := c.set.PossibleWhites(b, body)
			if len(all) != len(c.duv) {
				t.Fatalf("got %+v, want %v", all, c.duv)
			}
			for i, p := range all {
				stage.Near(t, fmt.Sprint("Duv ", i), float64(p.White.Duv), c.duv[i], 0.00012)
			}
			if got := c.set.WhatIsOpen(body, "B"); got != c.open {
				t.Errorf("open: got %q, want %q", got, c.open)
			}
			shown, caveats, err := c.set.LabelWhite(b, body)
			if err == nil && shown != all[0].White {
				t.Errorf("shown is %+v, the first is %+v", shown, all[0].White)
			}
			if said := strings.Contains(strings.Join(caveats, "; "), "tint 0"); err == nil && said != strings.Contains(c.open, "tint 0") {
				t.Errorf("caveats: got %q", caveats)
			}
		})
	}
}

// Grey cards say how far a body is off its label, whatever was assumed of its tint 0; what a
// tint unit does they do not say.
func TestCardsReplaceWhatWasAssumedOfTintZero(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyA, "tintZero", `"unknown"`, "tint", `{"min":-10,"max":10,"step":1,"plusIs":"magenta"}`)
	b := s.Book()
	body, _ := b.Record(s.BodyA)
	e := cameras.Error{Cast: colorimetry.Cast{Mired: 10, Duv: -0.002}}
	all := cameras.ByCards(kelvinSetting("5600", "").PossibleWhites(b, body), e)
	if len(all) != 1 {
		t.Fatalf("at tint 0: got %+v, want one white", all)
	}
	stage.Near(t, "Duv", float64(all[0].White.Duv), 0.0033-0.002, 0.0001)
	stage.Near(t, "mired", float64(all[0].White.Mired()), 1e6/5600+10, 0.1)
	if all = cameras.ByCards(kelvinSetting("5600", "2").PossibleWhites(b, body), e); len(all) != 2 {
		t.Errorf("at tint 2: got %+v, want one for each end of the unit", all)
	}
}

// Two settings of one body rest on one truth.
func TestPossibleWhitesOfOneBodyGoTogether(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyA, "tintZero", `"unknown"`)
	b := s.Book()
	body, _ := b.Record(s.BodyA)
	pairs := 0
	for _, one := range kelvinSetting("5600", "").PossibleWhites(b, body) {
		for _, other := range kelvinSetting("4300", "").PossibleWhites(b, body) {
			if one.Fits(other) {
				pairs++
			}
		}
	}
	if pairs != 3 {
		t.Errorf("got %d pairs, want one for each locus", pairs)
	}
}
