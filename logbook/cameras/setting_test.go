package cameras_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

func kelvinSetting(kelvin, tint logbook.Value) cameras.Setting {
	return cameras.Setting{Mode: "kelvin", Kelvin: kelvin, Tint: tint}
}

func TestTheWhiteOfALabel(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyA, "amberBlue", `{"min":-9,"max":9,"step":1,"miredPerUnit":5,"plusIs":"amber"}`)
	green := s.Add(kinds.Body, "label", `"body 3"`, "whiteModes", `["kelvin"]`, "kelvinRanges", `[{"min":2000,"max":11000,"step":50}]`,
		"tint", `{"min":-10,"max":10,"step":1,"plusIs":"green"}`, "tintPerKelvin", `[{"kelvin":2500,"duvPerUnit":0.002},{"kelvin":5000,"duvPerUnit":0.001}]`, "tintZero", `"blackBody"`, "timecode", `"none"`)
	bare := s.Add(kinds.Body, "label", `"body 4"`, "whiteModes", `["kelvin"]`, "timecode", `"none"`)
	amber := cameras.Setting{Mode: "kelvin", Kelvin: "5000", AmberBlue: "2"}
	cases := []struct {
		name    string
		body    logbook.ID
		setting cameras.Setting
		kelvin  float64
		duv     float64
		caveats int
	}{
		{"kelvin", s.BodyA, kelvinSetting("4300", ""), 4300, 0, 0},
		{"tint_towards_magenta_raises_the_white_s_Duv", s.BodyA, kelvinSetting("4300", "3"), 4300, 0.003, 0},
		{"tint_where_plus_is_green_lowers_it", green, kelvinSetting("5000", "3"), 5000, -0.003, 0},
		// 1e6/3350 ≈ 298.5 mired: 0.001 + 0.001·(298.5 − 200)/200 = 0.00149 a unit.
		{"a_tint_unit_between_two_known_ones", green, kelvinSetting("3350", "2"), 3350, -0.00299, 0},
		{"a_tint_unit_beyond_the_known_ones", green, kelvinSetting("8000", "2"), 8000, -0.002, 0},
		// Amber makes the picture warmer: the white's mireds fall by 10, 1e6/190.
		{"amber_on_the_fine_axis", s.BodyA, amber, 5263.2, 0, 0},
		{"a_preset", s.BodyB, cameras.Setting{Mode: "preset", Preset: "shade"}, 7000, 0, 0},
		{"a_body_whose_dials_are_not_in_the_log", bare, kelvinSetting("5600", ""), 5599.4, 0.00331, 2},
	}
	b := s.Book()
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			body, _ := b.Record(c.body)
			white, caveats, err := c.setting.LabelWhite(b, body)
			if err != nil {
				t.Fatal(err)
			}
			stage.Near(t, "CCT", float64(white.CCT), c.kelvin, 0.1)
			stage.Near(t, "Duv", float64(white.Duv), c.duv, 0.00001)
			if len(caveats) != c.caveats {
				t.Errorf("caveats: got %q, want %d", caveats, c.caveats)
			}
		})
	}
}

func TestALabelThatIsNoWhite(t *testing.T) {
	s := stage.New(t)
	b := s.Book()
	body, _ := b.Record(s.BodyA)
	for _, set := range []cameras.Setting{
		{Mode: "auto"}, {Mode: "autoHeld"}, {Mode: "kelvin"}, {Mode: "preset"}, {}, {Mode: "customFromCard"}, kelvinSetting("4310", ""),
	} {
		if white, _, err := set.LabelWhite(b, body); err == nil {
			t.Errorf("%s: got %v, want an error", set.InWords(body), white)
		}
	}
}

func TestSettingsAreComparedByEquality(t *testing.T) {
	same := [][2]cameras.Setting{
		{kelvinSetting("3200", ""), kelvinSetting("3200.0", "0")},
		{cameras.Setting{Mode: "auto", Kelvin: "3200"}, cameras.Setting{Mode: "auto"}},
	}
	for _, c := range same {
		if c[0].Key() != c[1].Key() {
			t.Errorf("got %q and %q, want equal keys", c[0].Key(), c[1].Key())
		}
	}
	differ := [][2]cameras.Setting{
		{kelvinSetting("3200", ""), kelvinSetting("3250", "")},
		{kelvinSetting("3200", ""), kelvinSetting("3200", "1")},
		{kelvinSetting("3200", ""), cameras.Setting{Mode: "preset", Preset: "3200"}},
		{cameras.Setting{Mode: "customFromCard", CustomFrom: logbook.ID{1: 1}}, cameras.Setting{Mode: "customFromCard", CustomFrom: logbook.ID{1: 2}}},
	}
	for _, c := range differ {
		if c[0].Key() == c[1].Key() {
			t.Errorf("got %q twice, want different keys", c[0].Key())
		}
	}
}

func TestASettingThatTheBodyLacksSaysWhatIsAllowed(t *testing.T) {
	s := stage.New(t)
	b := s.Book()
	for _, c := range []struct {
		body    logbook.ID
		setting cameras.Setting
		want    string
	}{
		{s.BodyB, kelvinSetting("5650", ""), "3200, 4300, 5600, 6500"},
		{s.BodyB, cameras.Setting{Mode: "preset", Preset: "moon"}, "shade"},
		{s.BodyA, cameras.Setting{Mode: "preset", Preset: "shade"}, "kelvin, auto"},
		{s.BodyA, kelvinSetting("5600", "11"), "-10 to 10"},
		{s.BodyB, kelvinSetting("5600", "1"), "no such dial"},
	} {
		body, _ := b.Record(c.body)
		if err := c.setting.Check(body); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: got %v, want an error with %q", c.setting.InWords(body), err, c.want)
		}
	}
	body, _ := b.Record(s.BodyB)
	if err := kelvinSetting("4300", "").Check(body); err != nil {
		t.Errorf("4300 K: got %v, want nil", err)
	}
}

func TestTheBodyOfACameraAtATime(t *testing.T) {
	s := stage.New(t)
	s.Minute(40)
	s.Set(s.B, "body", fmt.Sprintf(`{"body":%s,"from":%s}`, stage.Ref(s.BodyA), stage.Stamp(35)))
	b := s.Book()
	camera, _ := b.Record(s.B)
	for at, want := range map[int]logbook.ID{0: s.BodyB, 34: s.BodyB, 35: s.BodyA, 60: s.BodyA} {
		if got, _ := cameras.BodyAt(b, camera, stage.Minute(at)); got.ID != want {
			t.Errorf("minute %d: got %s, want %s", at, got.Text("label"), want)
		}
	}
	if got, _ := cameras.BodyNow(b, camera); got.ID != s.BodyA {
		t.Errorf("now: got %s, want %s", got.ID, s.BodyA)
	}
}

// A swap at the moment of its entry was dated by the phone's clock, and moves with it.
func TestASwapIsDatedByTheCorrectedClock(t *testing.T) {
	s := stage.New(t)
	s.Minute(40)
	s.Set(s.B, "body", fmt.Sprintf(`{"body":%s,"from":%s}`, stage.Ref(s.BodyA), stage.Stamp(40)))
	s.Edits[len(s.Edits)-1].Offset = -10 * 60000
	b := s.Book()
	camera, _ := b.Record(s.B)
	for at, want := range map[int]logbook.ID{29: s.BodyB, 30: s.BodyA, 39: s.BodyA} {
		if got, _ := cameras.BodyAt(b, camera, stage.Minute(at)); got.ID != want {
			t.Errorf("minute %d: got %s, want %s", at, got.Text("label"), want)
		}
	}
}

// A merge patch of the body alone leaves the instant of the swap before it: the new body fills
// the camera since it was entered.
func TestASwapThatKeepsTheInstantOfTheOneBefore(t *testing.T) {
	s := stage.New(t)
	spare := s.Add(kinds.Body, "label", `"spare"`)
	s.Minute(20)
	s.Set(s.B, "body", fmt.Sprintf(`{"body":%s,"from":%s}`, stage.Ref(s.BodyA), stage.Stamp(20)))
	s.Edits[len(s.Edits)-1].Offset = 1200
	s.Minute(40)
	s.Set(s.B, "body", fmt.Sprintf(`{"body":%s,"from":%s}`, stage.Ref(spare), stage.Stamp(20)))
	b := s.Book()
	camera, _ := b.Record(s.B)
	for at, want := range map[int]logbook.ID{19: s.BodyB, 21: s.BodyA, 39: s.BodyA, 40: spare, 60: spare} {
		if got, _ := cameras.BodyAt(b, camera, stage.Minute(at)); got.ID != want {
			t.Errorf("minute %d: got %s, want %s", at, got.Text("label"), want)
		}
	}
}

func TestACustomWhiteOfNoCardHasNoLabel(t *testing.T) {
	s := stage.New(t)
	body, _ := s.Book().Record(s.BodyB)
	_, _, err := cameras.Setting{Mode: "customFromCard"}.LabelWhite(s.Book(), body)
	if !errors.Is(err, figure.ErrUnknown) || !strings.Contains(err.Error(), "which card") {
		t.Errorf("got %v, want that the card is not said", err)
	}
}

// What was set on a body says nothing of the one that was swapped in for it.
func TestTheLatestSettingIsOfTheBodyThatRecords(t *testing.T) {
	s := stage.New(t)
	spare := s.Add(kinds.Body, "label", `"spare"`)
	want := func(ok bool, kelvin logbook.Value) {
		t.Helper()
		b := s.Book()
		setUp, _ := b.RecordOf(kinds.SetUp, s.SetUp)
		camera, _ := b.RecordOf(kinds.Camera, s.A)
		if set, _, _, found := cameras.LatestSetting(b, setUp, camera); found != ok || set.Kelvin != kelvin {
			t.Errorf("got %v, %v, want %s, %v", set, found, kelvin, ok)
		}
	}
	s.Minute(30)
	s.Clip(s.A, s.Take(), "", "whiteMode", "", "settingsAre", "", "body", stage.Ref(spare))
	want(false, "")
	s.Minute(40)
	s.Clip(s.A, s.Take(), "4300", "startedAt", stage.Stamp(20)) // entered later, of before the swap
	want(false, "")
	s.Clip(s.A, s.Take(), "4400", "body", stage.Ref(spare))
	want(true, "4400")
	s.Minute(50)
	s.Clip(s.A, s.Take(), "", "whiteMode", "", "settingsAre", "", "body", stage.Ref(spare)) // the same body
	want(true, "4400")
}
