package deviation_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// aimAt chooses a white, from the start, in place of the one before.
func aimAt(s *stage.Stage, kelvin, duv float64) logbook.ID {
	s.Set(s.Key, "intent", `"leave"`)
	s.White = s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"nominal","kelvin":%g,"duv":%g,"locus":"blackBody"}`, kelvin, duv),
		"appliesFrom", `{"as":"start"}`, "supersedes", stage.Ref(s.White))
	return s.White
}

// On a body whose tint 0 nobody knows 5600 K has a Duv of 0 to 0.0033. A verdict is taken at
// both ends, and what is missing is said once, however many takes there are.
func TestWhereNobodyKnowsTintZero(t *testing.T) {
	for _, c := range []struct {
		name   string
		kelvin float64
		duv    float64 // of the aim
		body   []string
		b      []string // B's clip, more than 5600 K
		log    func(s *stage.Stage)
		want   string
		head   string
		todo   string
	}{
		{"off_by_0.001_to_0.0043", 5600, 0.0043, nil, nil, nil, "white-not-known", "B: can't tell its green–magenta: tint 0 not known", "shoot a grey card with B"},
		{"off_by_0.0025_to_0.0058", 5600, 0.0058, nil, nil, nil, "setting-off-aim", "B: slightly green, takes 1–3", ""},
		{"a_nominal_daylight", 5600, 0.0033, nil, nil, nil, "white-not-known", "B: can't tell its green–magenta: tint 0 not known", "shoot a grey card with B"},
		{"off_by_less_than_the_limit_at_both", 5600, 0.0015, nil, nil, nil, "", "", ""},
		{"mired_are_certain", 4600, 0.0015, nil, nil, nil, "setting-off-aim", "B: 39 mired too warm, takes 1–3", "set B to 4600 K; now 5600"},
		{"beyond_on_both_sides_of_a_narrow_limit", 5600, 0.0015, nil, nil, func(s *stage.Stage) {
			s.Set(s.SetUp, "limits/camera/duvGreen", "0.001", "limits/camera/duvMagenta", "0.001")
		}, "white-not-known", "B: can't tell its green–magenta: tint 0 not known", "shoot a grey card with B"},
		{"a_card_that_counts_replaces_the_assumption", 5600, 0.0043, nil, nil, func(s *stage.Stage) {
			s.Card(s.B, 5600, stage.Day5600, 0, 0.0043, s.Reading)
		}, "", "", ""},
		{"a_card_that_says_it_is_off", 5600, 0.0043, nil, nil, func(s *stage.Stage) {
			s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading)
		}, "setting-off-aim", "B: too green, takes 1–3", ""},
		{"a_tint_unit_nobody_knows", 5600, 0.004, []string{"tintZero", `"blackBody"`, "tint", `{"min":-10,"max":10,"step":1,"plusIs":"magenta"}`}, []string{"tint", "2"}, nil,
			"white-not-known", "B: can't tell its green–magenta: tint unit not known", "shoot a grey card with B"},
		// 0.0005 to 0.004 a unit: at −5 the white lies at −0.0025 to −0.02.
		{"a_tint_unit_that_does_not_matter", 5600, 0.004, []string{"tintZero", `"blackBody"`, "tint", `{"min":-10,"max":10,"step":1,"plusIs":"magenta"}`}, []string{"tint", "-5"}, nil,
			"setting-off-aim", "B: much too green, takes 1–3", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Set(s.BodyB, append([]string{"kelvinValues", "null", "presets/shade", "null", "whiteModes", `["kelvin"]`,
				"kelvinRanges", `[{"min":2000,"max":11000,"step":100}]`}, c.body...)...)
			if c.body == nil {
				s.Set(s.BodyB, "tintZero", `"unknown"`)
			}
			s.Set(s.SetUp, "referenceCamera", stage.Ref(s.B))
			s.Minute(4)
			aimAt(s, c.kelvin, c.duv)
			if c.log != nil {
				c.log(s)
			}
			s.Minute(5)
			for range 3 {
				s.Clip(s.B, s.Take(), "5600", c.b...)
			}
			got := s.Deviations(s.SetUp, 6)
			for i := range got {
				if got[i].Kind == deviation.AimNotReachable { // is told apart below
					got = append(got[:i], got[i+1:]...)
					break
				}
			}
			stage.MustKinds(t, got, c.want)
			if c.want == "" {
				return
			}
			if d := got[0]; d.Headline != c.head || c.todo != "" && d.ToDo != c.todo {
				t.Errorf("got %q, %q, want %q, %q (%s)", d.Headline, d.ToDo, c.head, c.todo, d.Words)
			}
			if d := got[0]; d.Kind == deviation.WhiteNotKnown && (d.Count != 1 || d.Value != nil || len(d.Takes) > 0) {
				t.Errorf("got count %d, value %+v, %d takes, want it once", d.Count, d.Value, len(d.Takes))
			}
		})
	}
}

// The number of a finding is the least that is certain, its words give all that may be.
func TestARangeIsSaid(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyA, "tintZero", "null")
	s.Minute(4)
	aimAt(s, 5600, 0.0058)
	s.Minute(5)
	s.Clip(s.A, s.Take(), "5600")
	d := stage.DeviationOf(t, s.Deviations(s.SetUp, 6), deviation.SettingOffAim)
	stage.Near(t, "Duv", *d.Value.Duv, 0.0025, 0.0001)
	if !strings.Contains(d.Words, "Duv 0.0025 to 0.0058 greener") {
		t.Errorf("got %q", d.Words)
	}
}

// No setting of a body without tint meets an aim on daylight, if its tint 0 lies on the black
// body; if it lies on daylight, 5600 K does. And the other way round.
func TestAnAimThatMayBeInReachIsNoFinding(t *testing.T) {
	for _, c := range []struct {
		zero string
		duv  float64 // of the aim
		want string
	}{
		{"null", 0.0033, "white-not-known"}, {`"blackBody"`, 0.0033, "aim-not-reachable"}, {`"daylight"`, 0.0033, ""},
		{"null", 0, "white-not-known"}, {`"blackBody"`, 0, ""}, {`"daylight"`, 0, "aim-not-reachable"},
		{"null", 0.0058, "aim-not-reachable"}, {"null", -0.004, "aim-not-reachable"},
	} {
		s := stage.New(t)
		s.Set(s.BodyB, "tintZero", c.zero, "kelvinValues", "[5600]", "whiteModes", `["kelvin"]`, "presets/shade", "null")
		s.Set(s.SetUp, "referenceCamera", stage.Ref(s.B))
		s.Minute(4)
		aimAt(s, 5600, c.duv)
		s.Minute(5)
		s.Clip(s.B, s.Take(), "5600")
		var got []deviation.Deviation
		for _, d := range s.Deviations(s.SetUp, 6) {
			if len(d.Cameras) == 0 || d.Cameras[0] == s.B {
				got = append(got, d)
			}
		}
		stage.MustKinds(t, got, c.want)
	}
}

// Two bodies of which nobody knows tint 0: whether they look alike can't be told, once for
// each. Two settings of one body rest on one truth.
func TestTwoBodiesOfWhichNobodyKnowsTintZero(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyA, "tintZero", "null")
	s.Set(s.BodyB, "tintZero", "null")
	s.Set(s.White, "struckOut", `{"reason":"another"}`)
	s.Clip(s.A, logbook.ID{}, "5600", "clipKind", `"chart"`)
	s.Minute(5)
	for range 4 {
		s.Shoot("5600", "5600")
	}
	stage.MustKinds(t, s.Deviations(s.SetUp, 6), "no-white white-not-known")
	s.Clip(s.A, s.Take(), "5650")
	d := stage.DeviationOf(t, s.Deviations(s.SetUp, 6), deviation.TakesDiffer)
	if d.Value == nil || *d.Value.Duv > 0.0001 || *d.Value.Mired != 2 {
		t.Errorf("5650 K beside 5600 K of one body: got %+v, want 2 mired and no Duv", d.Value)
	}
}

// Whites that were chosen apart are further ends of a verdict.
func TestAVerdictByEachOfTheWhitesThatCount(t *testing.T) {
	for _, c := range []struct {
		name   string
		kelvin string
		want   string
		head   string
	}{
		{"right_by_one_of_them", "5600", "white-not-known", "Can't tell: several whites count"},
		{"beyond_by_both_on_either_side", "4900", "white-not-known", "Can't tell: several whites count"},
		{"beyond_by_both_on_one_side", "3200", "setting-off-aim", "A: 80 mired too cool, take 1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Set(s.Key, "intent", `"leave"`)
			s.Set(s.SetUp, "referenceCamera", stage.Ref(s.A))
			s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":4300,"locus":"blackBody"}`, "appliesFrom", `{"as":"start"}`)
			s.Minute(5)
			s.Clip(s.A, s.Take(), c.kelvin)
			got := s.Deviations(s.SetUp, 6)
			stage.MustKinds(t, got, c.want)
			if got[0].Headline != c.head || got[0].ToDo != "settle which white counts" {
				t.Errorf("got %q, %q, want %q", got[0].Headline, got[0].ToDo, c.head)
			}
		})
	}
}

// The light on a card that nobody metered is known by the camera that saw it: where that one's
// tint 0 is not known, B may be right or 0.0033 off, and so may a white taken from the card.
func TestALightThatIsKnownByACameraIsAsUncertainAsThatCamera(t *testing.T) {
	for _, c := range []struct {
		name, zero string
		light      func(s *stage.Stage) logbook.ID
		white      bool
		want, todo string
	}{
		{"not known", `"unknown"`, func(*stage.Stage) logbook.ID { return logbook.ID{} }, false, "white-not-known", "meter the light on a grey card of A"},
		{"on daylight", `"daylight"`, func(*stage.Stage) logbook.ID { return logbook.ID{} }, false, "setting-off-aim", "set B to 5600 K, tint +3; now 5600"},
		{"not known, and metered", `"unknown"`, func(s *stage.Stage) logbook.ID { return s.Reading }, false, "", ""},
		{"a white from the card", `"unknown"`, func(*stage.Stage) logbook.ID { return logbook.ID{} }, true, "white-not-known", "meter the light on a grey card of A"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Set(s.BodyA, "tintZero", c.zero)
			s.Set(s.BodyB, "kelvinValues", "null", "presets/shade", "null", "kelvinRanges", `[{"min":2000,"max":11000,"step":100}]`,
				"tint", `{"min":-10,"max":10,"step":1,"duvPerUnit":0.001,"plusIs":"green"}`)
			s.Minute(4)
			of := c.light(s)
			card := s.Card(s.A, 5600, colorimetry.CCTDuv{CCT: 5600}, 0, 0, of)
			if !c.white {
				s.Card(s.B, 5600, colorimetry.CCTDuv{CCT: 5600}, 0, 0, of)
			} else {
				s.Set(s.Key, "intent", `"leave"`)
				s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"customFromCard","sample":%s}`, stage.Ref(card)),
					"appliesFrom", `{"as":"takeNumber","number":1}`, "supersedes", stage.Ref(s.White))
			}
			s.Minute(5)
			for range 2 {
				s.Clip(s.B, s.Take(), "5600")
			}
			all := s.Deviations(s.SetUp, 6)
			stage.MustKinds(t, all, c.want)
			if c.want != "" && all[0].ToDo != c.todo {
				t.Errorf("got %q to do, want %q (%s: %s)", all[0].ToDo, c.todo, all[0].Headline, all[0].Words)
			}
		})
	}
}
