package deviation_test

import (
	"fmt"
	"testing"
	"unicode/utf8"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// What a finding about a camera says first, and what to do about it.
func TestHeadlinesOfCameraFindings(t *testing.T) {
	shoot := func(camera func(*stage.Stage) logbook.ID, kelvin string, more ...string) func(*stage.Stage) {
		return func(s *stage.Stage) { s.Clip(camera(s), s.Take(), kelvin, more...) }
	}
	a := func(s *stage.Stage) logbook.ID { return s.A }
	b := func(s *stage.Stage) logbook.ID { return s.B }
	for _, c := range []struct {
		name, kind string
		log        func(*stage.Stage)
		head, todo string
	}{
		{"too_cool", deviation.SettingOffAim, shoot(b, "4300"), "B: 54 mired too cool, take 1", "set B to 5600 K; now 4300"},
		{"slightly_both", deviation.SettingOffAim, shoot(a, "5900", "tint", "-2.2"), "A: slightly warm and green, take 1", "set A to 5600 K; now 5900, -2.2"},
		{"much_too_green", deviation.SettingOffAim, shoot(a, "5600", "tint", "-8"), "A: much too green, take 1", "set A to 5600 K; now 5600, -8"},
		{"far_off_both_ways", deviation.SettingOffAim, shoot(a, "2500", "tint", "10"), "A: 221 mired too cool, take 1", "set A to 5600 K; now 2500, +10"},
		{"a_preset", deviation.SettingOffAim, shoot(b, "", "whiteMode", `"preset"`, "preset", `"shade"`), "B: 36 mired too warm, take 1", "set B to 5600 K; now shade"},
		{"set_right_since", deviation.SettingOffAim, func(s *stage.Stage) {
			shoot(b, "4300")(s)
			s.Minute(6)
			shoot(b, "5600")(s)
		}, "B: 54 mired too cool, take 1", ""},
		{"another_body_since", deviation.SettingOffAim, func(s *stage.Stage) {
			shoot(b, "4300")(s)
			s.Minute(6)
			s.Set(s.B, "body", fmt.Sprintf(`{"body":%s}`, stage.Ref(s.BodyA)))
		}, "B: 54 mired too cool, take 1", ""},
		{"another_white_since", deviation.SettingOffAim, func(s *stage.Stage) {
			shoot(b, "4300")(s)
			s.Minute(6)
			s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":4300,"locus":"blackBody"}`,
				"appliesFrom", `{"as":"takeNumber","number":2}`, "supersedes", stage.Ref(s.White))
		}, "B: 54 mired too cool, take 1", ""},
		{"the_day_is_closed", deviation.SettingOffAim, func(s *stage.Stage) {
			shoot(b, "4300")(s)
			s.Set(s.Day, "closed", "true")
		}, "B: 54 mired too cool, take 1", ""},
		{"what_to_dial_by_a_card", deviation.SettingOffAim, func(s *stage.Stage) {
			s.Card(s.B, 5600, stage.Day5600, 40, 0, s.Reading)
			shoot(b, "5600")(s)
		}, "B: 40 mired too cool, take 1", "set B to shade; now 5600"},
		{"automatic", deviation.AutomaticWhite, shoot(b, "", "whiteMode", `"auto"`), "B on automatic white, take 1", "set B to 5600 K"},
		{"automatic_and_no_white", deviation.AutomaticWhite, func(s *stage.Stage) {
			s.Set(s.White, "struckOut", `{"reason":"another"}`)
			shoot(b, "", "whiteMode", `"auto"`)(s)
		}, "B on automatic white, take 1", "set B's white by hand"},
		{"held", deviation.AutomaticWhite, func(s *stage.Stage) {
			s.Set(s.BodyB, "whiteModes", `["kelvin","preset","autoHeld"]`)
			shoot(b, "", "whiteMode", `"autoHeld"`)(s)
		}, "B holds an automatic white, take 1", "set B to 5600 K"},
		{"no_value", deviation.NoSettings, shoot(b, ""), "B: white logged without a value, take 1", "read off B's white"},
		{"not_on_the_body", deviation.SettingNotOnBody, shoot(b, "5650"), "B can't be at 5650 K, take 1", "read off B's white again"},
		{"cameras_differ", deviation.CamerasDiffer, func(s *stage.Stage) {
			s.Set(s.White, "struckOut", `{"reason":"another"}`)
			s.Shoot("5600", "4300")
		}, "B 54 mired cooler than A, take 1", ""},
		// 7 mired too cool and 8 too warm: each within its limit alone.
		{"each_within_its_limit", deviation.CamerasDiffer, func(s *stage.Stage) {
			s.Set(s.BodyB, "kelvinValues", "[5400,5800,5850]")
			s.Shoot("5400", "5850")
		}, "B 14 mired warmer than A, take 1", "set B to 5800 K; now 5850"},
		{"at_its_best_beside_one_that_is_not", deviation.CamerasDiffer, func(s *stage.Stage) {
			s.Set(s.BodyB, "kelvinValues", "[5850]", "presets/shade", "null")
			s.Shoot("5400", "5850")
		}, "B 14 mired warmer than A, take 1", "set A to 5600 K; now 5400"},
		{"takes_differ", deviation.TakesDiffer, func(s *stage.Stage) {
			s.Shoot("5600", "5600")
			s.Shoot("5600", "5600")
			s.Minute(6)
			shoot(a, "5650", "tint", "1")(s)
		}, "A at 5650 K, +1, usually 5600 K, take 3", "set A back to 5600 K"},
		{"takes_differ_by_tint", deviation.TakesDiffer, func(s *stage.Stage) {
			s.Shoot("5600", "5600")
			s.Shoot("5600", "5600")
			shoot(a, "5600", "tint", "2")(s)
		}, "A at tint +2, usually tint 0, take 3", "set A back to 5600 K"},
		{"takes_differ_by_kelvin", deviation.TakesDiffer, func(s *stage.Stage) {
			shoot(a, "5600", "tint", "1")(s)
			shoot(a, "5600", "tint", "1")(s)
			s.Minute(6)
			shoot(a, "5650", "tint", "1")(s)
		}, "A at 5650 K, usually 5600 K, take 3", "set A back to 5600 K, tint +1"},
		{"out_of_reach", deviation.AimNotReachable, func(s *stage.Stage) {
			s.Set(s.BodyB, "kelvinValues", "null", "whiteModes", `["preset"]`, "presets/shade", "null", "presets/day", `{"name":"daylight","kelvin":5600}`)
			s.White = aimAt(s, 4096, 0)
			s.Set(s.SetUp, "referenceCamera", stage.Ref(s.A))
			s.Minute(6)
			s.Clip(s.A, s.Take(), "4100")
		}, "B can't reach 4096 K. Nearest: daylight, 66 mired too warm.", "set B to daylight"},
		{"at_the_best_it_has", deviation.AimNotReachable, func(s *stage.Stage) {
			s.Set(s.BodyB, "kelvinValues", "null", "whiteModes", `["preset"]`, "presets/shade", "null", "presets/day", `{"name":"daylight balanced 5600","kelvin":5600}`)
			s.White = aimAt(s, 4096, 0)
			s.Minute(6)
			shoot(b, "", "whiteMode", `"preset"`, "preset", `"day"`)(s)
		}, "B can't reach 4096 K: 66 mired too warm, take 1", "filter the lens, or leave it to post"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Set(s.BodyA, "tint", `{"min":-10,"max":10,"step":0.1,"duvPerUnit":0.001,"plusIs":"magenta"}`)
			s.Minute(5)
			c.log(s)
			d := stage.DeviationOf(t, s.Deviations(s.SetUp, 10), c.kind)
			if d.Headline != c.head || d.ToDo != c.todo {
				t.Errorf("got %q, %q, want %q, %q (%s)", d.Headline, d.ToDo, c.head, c.todo, d.Words)
			}
			if n := utf8.RuneCountInString(d.Headline); n > 60 {
				t.Errorf("%q has %d characters", d.Headline, n)
			}
		})
	}
}
