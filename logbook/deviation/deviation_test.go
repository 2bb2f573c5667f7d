package deviation_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// Each kind of deviation has a case in which it appears; all others show that it
// stays away.
var deviationCases = []struct {
	name string
	log  func(s *stage.Stage)
	want string
}{
	{"nothing_is_off", func(s *stage.Stage) { s.Shoot("5600", "5600") }, ""},
	{"one_wrong_dial_over_five_takes_is_one_finding", func(s *stage.Stage) {
		for range 5 {
			s.Shoot("5600", "4300")
		}
	}, "setting-off-aim+cameras-differ"},
	{"a_dial_moved_inside_the_tolerance_was_still_moved", func(s *stage.Stage) {
		s.Shoot("5600", "5600")
		s.Shoot("5650", "5600")
	}, "takes-differ"},
	{"cameras_differ_where_no_white_says_who_is_wrong", func(s *stage.Stage) {
		s.Set(s.White, "struckOut", `{"reason":"typed wrong"}`)
		s.Clip(s.A, logbook.ID{}, "5600", "clipKind", `"chart"`)
		take := s.Take()
		s.Clip(s.A, take, "5600")
		s.Clip(s.B, take, "3200", "clipKind", `"take"`)
	}, "cameras-differ no-white"},
	{"automatic_white_left_on", func(s *stage.Stage) {
		take := s.Take()
		s.Clip(s.A, take, "", "whiteMode", `"auto"`)
	}, "automatic-white"},
	{"a_setting_that_the_body_does_not_have", func(s *stage.Stage) {
		take := s.Take()
		s.Clip(s.A, take, "5600")
		s.Clip(s.B, take, "5650")
	}, "setting-not-on-body"},
	{"a_setting_without_its_value", func(s *stage.Stage) {
		s.Clip(s.A, s.Take(), "")
	}, "no-settings"},
	{"settings_only_carried_over", func(s *stage.Stage) {
		take := s.Take()
		s.Clip(s.A, take, "5600")
		spare := s.Add(kinds.Body, "label", `"spare"`, "whiteModes", `["kelvin"]`, "kelvinRanges", `[{"min":2000,"max":11000,"step":50}]`, "tintZero", `"blackBody"`, "timecode", `"none"`)
		s.Clip(s.A, s.Take(), "5600", "body", stage.Ref(spare), "settingsAre", `"carriedOver"`)
	}, "settings-carried-over"},
	{"no_chart_of_one_camera", func(s *stage.Stage) {
		c := s.Add(kinds.Camera, "letter", `"C"`, "body", fmt.Sprintf(`{"body":%s}`, stage.Ref(s.BodyA)))
		take := s.Take()
		s.Clip(s.A, take, "5600")
		s.Clip(c, take, "5600")
	}, "no-chart"},
	{"a_light_that_was_not_measured", func(s *stage.Stage) { s.Light("window", "fill") }, "no-reading"},
	{"a_practical_that_is_left_needs_no_reading", func(s *stage.Stage) { s.Light("bulb", "practical") }, ""},
	{"a_light_off_the_reference", func(s *stage.Stage) {
		s.Read(s.Light("panel right", "fill"), `{"as":"cctDuv","cctKelvin":5200,"duv":0}`)
	}, "light-off-reference"},
	{"the_same_difference_is_within_the_limits_of_a_background", func(s *stage.Stage) {
		s.Read(s.Light("panel right", "background"), `{"as":"cctDuv","cctKelvin":5200,"duv":0}`)
	}, ""},
	{"a_coloured_light_that_should_match_is_counted_in_steps", func(s *stage.Stage) {
		s.Read(s.Light("sign", "fill"), `{"as":"xy","x":0.2,"y":0.1}`)
	}, "light-off-reference"},
	{"a_light_off_its_own_colour", func(s *stage.Stage) {
		sign := s.Light("sign", "practical", "intent", `"holdOwnColor"`, "targetColor", `{"as":"xy","x":0.2,"y":0.1}`)
		s.Read(sign, `{"as":"xy","x":0.21,"y":0.12}`)
	}, "light-off-own-color"},
	{"a_light_that_holds_its_own_colour", func(s *stage.Stage) {
		sign := s.Light("sign", "practical", "intent", `"holdOwnColor"`, "targetColor", `{"as":"xy","x":0.2,"y":0.1}`)
		s.Read(sign, `{"as":"xy","x":0.201,"y":0.101}`)
	}, ""},
	{"a_light_that_drifted", func(s *stage.Stage) {
		s.Minute(30)
		s.Read(s.Key, `{"as":"cctDuv","cctKelvin":5150,"duv":0}`)
	}, "light-off-reference+light-drifted"},
	{"a_light_that_was_dialled_did_not_drift", func(s *stage.Stage) {
		s.Minute(30)
		s.Set(s.Key, "rigged/dialKelvin", "5100")
		s.Read(s.Key, `{"as":"cctDuv","cctKelvin":5150,"duv":0}`)
	}, "light-off-reference"},
	{"a_reading_older_than_the_production_allows", func(s *stage.Stage) {
		s.Minute(120)
		s.Shoot("5600", "5600")
	}, "reading-stale"},
	{"a_reading_from_before_the_dial_was_turned", func(s *stage.Stage) {
		s.Minute(20)
		s.Set(s.Key, "rigged/dialKelvin", "5400")
		s.Minute(21)
		s.Shoot("5600", "5600")
	}, "reading-stale"},
	{"a_reading_that_says_how_the_light_was_set_then", func(s *stage.Stage) {
		s.Read(s.Key, stage.OnLocus5600, "lightsAsSet/"+s.Key.String(), `{"dialKelvin":5600,"levelPercent":50,"on":true}`)
	}, ""},
	{"a_reading_from_after_a_take_is_not_stale_at_it", func(s *stage.Stage) {
		light := s.Light("panel right", "fill", "rigged/dialKelvin", "5000")
		s.Minute(5)
		s.Shoot("5600", "5600")
		s.Minute(6)
		s.Set(light, "rigged/dialKelvin", "5600")
		s.Read(light, stage.OnLocus5600)
	}, ""},
	{"only_the_wrong_setting_is_named_where_it_came_first", func(s *stage.Stage) {
		s.Clip(s.A, s.Take("startedAt", stage.Stamp(1)), "4300", "startedAt", stage.Stamp(1))
		s.Shoot("5600", "5600")
	}, "setting-off-aim"},
	{"gels_that_were_changed_since", func(s *stage.Stage) {
		gel := s.Add(kinds.Gel, "name", `"quarter"`, "gelKind", `"warm"`)
		s.Set(s.Key, "rigged/gels", "[]")
		s.Minute(5)
		s.Read(s.Key, stage.OnLocus5600)
		s.Minute(6)
		s.Set(s.Key, "rigged/gels", "["+stage.Ref(gel)+"]")
	}, "reading-stale"},
	{"a_light_that_is_switched_off_is_not_judged", func(s *stage.Stage) {
		s.Read(s.Light("panel right", "fill", "rigged/on", "false"), `{"as":"cctDuv","cctKelvin":3200,"duv":0}`)
	}, ""},
	{"a_reading_through_a_gel_does_not_speak_of_the_light", func(s *stage.Stage) {
		gel := s.Add(kinds.Gel, "name", `"full"`, "gelKind", `"warm"`)
		s.Read(s.Key, `{"as":"cctDuv","cctKelvin":3200,"duv":0}`, "throughGel", stage.Ref(gel))
	}, ""},
	{"a_light_off_its_first_colour", func(s *stage.Stage) {
		sign := s.Light("sign", "practical", "intent", `"holdOwnColor"`)
		s.Read(sign, `{"as":"xy","x":0.2,"y":0.1}`)
		s.Minute(6)
		s.Read(sign, `{"as":"xy","x":0.21,"y":0.12}`)
	}, "light-off-own-color+light-drifted"},
	{"a_setting_that_changed_while_rolling", func(s *stage.Stage) {
		s.Clip(s.A, s.Take(), "5600", "changes/1", `{"timecode":"10:00:05:00","whiteMode":"kelvin","kelvin":4300}`)
	}, "setting-off-aim+takes-differ"},
	{"held_automatic_white", func(s *stage.Stage) {
		s.Set(s.BodyA, "whiteModes", `["kelvin","autoHeld"]`)
		s.Clip(s.A, s.Take(), "", "whiteMode", `"autoHeld"`)
	}, "automatic-white"},
	{"a_camera_that_did_not_roll_is_not_judged", func(s *stage.Stage) { s.Clip(s.A, s.Take(), "3200", "rolled", "false") }, ""},
	{"a_body_that_is_not_in_the_log", func(s *stage.Stage) { s.Clip(s.A, s.Take(), "5600", "body", stage.Ref(logbook.ID{1: 1})) }, "reference-leads-nowhere"},
	{"nothing_was_measured", func(s *stage.Stage) {
		s.Set(s.Reading, "struckOut", `{"reason":"typed wrong"}`)
		s.Set(s.Key, "deleted", "true")
		s.Shoot("5600", "5600")
	}, "white-outlived no-reading"},
	{"a_reading_of_the_white_was_replaced", func(s *stage.Stage) {
		s.Shoot("5600", "5600")
		s.Read(s.Key, stage.OnLocus5600, "supersedes", stage.Ref(s.Reading))
	}, "white-outlived"},
	{"the_white_was_chosen_again_from_the_next_take", func(s *stage.Stage) {
		s.Shoot("5600", "5600")
		again := s.Read(s.Key, stage.OnLocus5600, "supersedes", stage.Ref(s.Reading))
		s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, stage.Ref(again)),
			"appliesFrom", `{"as":"takeNumber","number":2}`, "supersedes", stage.Ref(s.White))
	}, "white-outlived"},
	{"the_white_was_chosen_again_from_the_first_take", func(s *stage.Stage) {
		s.Shoot("5600", "5600")
		again := s.Read(s.Key, stage.OnLocus5600, "supersedes", stage.Ref(s.Reading))
		s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, stage.Ref(again)),
			"appliesFrom", `{"as":"takeNumber","number":1}`, "supersedes", stage.Ref(s.White))
	}, ""},
	{"a_reading_of_a_set_up_that_was_left_does_not_age", func(s *stage.Stage) {
		s.Set(s.Day, "closed", "true")
		s.Minute(300)
		s.Set(s.SetUp, "description", `"wrapped"`)
	}, ""},
	{"no_white", func(s *stage.Stage) {
		s.Set(s.White, "struckOut", `{"reason":"typed wrong"}`)
		s.Shoot("5600", "5600")
	}, "no-white"},
	{"a_white_that_cannot_be_computed", func(s *stage.Stage) {
		s.Minute(3)
		other := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`)
		s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"sameAs","setUp":%s}`, stage.Ref(other)),
			"appliesFrom", `{"as":"time","at":`+stage.Stamp(3)+`}`)
		s.Shoot("5600", "5600")
	}, "white-unresolved"},
	{"an_aim_that_the_body_cannot_reach_is_no_wrong_dial", func(s *stage.Stage) {
		s.Minute(3)
		s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":3700,"locus":"blackBody"}`, "appliesFrom", `{"as":"time","at":`+stage.Stamp(3)+`}`)
		s.Set(s.Key, "intent", `"leave"`)
		take := s.Take()
		s.Clip(s.A, take, "3700")
		s.Clip(s.B, take, "4300")
	}, "aim-not-reachable+cameras-differ"},
	{"a_take_number_twice", func(s *stage.Stage) {
		s.Shoot("5600", "5600")
		s.Takes--
		s.Shoot("5600", "5600")
	}, "take-number-twice"},
	{"a_take_of_which_one_camera_was_not_logged", func(s *stage.Stage) {
		s.Shoot("5600", "5600")
		s.Clip(s.A, s.Take(), "5600")
		s.Shoot("5600", "5600")
	}, "not-logged"},
	{"a_camera_that_said_it_did_not_roll_was_logged", func(s *stage.Stage) {
		s.Shoot("5600", "5600")
		take := s.Take()
		s.Clip(s.A, take, "5600")
		s.Clip(s.B, take, "5600", "rolled", "false")
		s.Shoot("5600", "5600")
	}, ""},
	{"a_camera_that_joined_late_and_left_early_has_no_gap", func(s *stage.Stage) {
		s.Clip(s.A, s.Take(), "5600")
		s.Shoot("5600", "5600")
		s.Clip(s.A, s.Take(), "5600")
	}, ""},
	{"a_number_that_is_used_again", func(s *stage.Stage) {
		take, _, _ := s.Shoot("5600", "5600")
		s.Set(take, "state", `"numberUsedAgain"`)
		s.Takes--
		s.Shoot("5600", "5600")
	}, ""},
	{"a_clip_of_a_take_that_was_deleted", func(s *stage.Stage) {
		take, _, _ := s.Shoot("5600", "5600")
		s.Set(take, "deleted", "true")
	}, "reference-leads-nowhere"},
	{"a_light_of_a_lamp_that_is_not_in_the_log", func(s *stage.Stage) { s.Set(s.Key, "lamp", stage.Ref(logbook.ID{1: 1})) }, "reading-stale reference-leads-nowhere"},
	{"a_white_that_changes_does_not_judge_earlier_takes", func(s *stage.Stage) {
		s.Shoot("5600", "5600")
		s.Minute(30)
		take := s.Take()
		s.Clip(s.A, take, "6500")
		s.Clip(s.B, take, "6500")
		s.Set(s.Key, "intent", `"leave"`)
		s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":6500,"locus":"blackBody"}`, "appliesFrom", fmt.Sprintf(`{"as":"take","take":%s}`, stage.Ref(take)))
	}, ""},
	{"a_camera_with_an_exception_is_meant_to_differ", func(s *stage.Stage) {
		s.Set(s.White, "struckOut", `{"reason":"another"}`)
		s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":5600,"locus":"blackBody"}`, "appliesFrom", `{"as":"time","at":`+stage.Stamp(3)+`}`,
			"exceptions/"+s.B.String(), `{"mired":-54}`)
		s.Minute(4)
		s.Shoot("5600", "4300")
	}, ""},
}

func TestDeviations(t *testing.T) {
	for _, c := range deviationCases {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Minute(4)
			c.log(s)
			s.T = t
			stage.MustKinds(t, s.Deviations(s.SetUp, int((s.Clock-stage.DayBegins)/60000)+1), c.want)
		})
	}
}

func TestDeviationsSay(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	for range 5 {
		s.Shoot("5600", "4300")
	}
	d := s.Deviations(s.SetUp, 20)[0]
	t.Run("how_much_and_how_often", func(t *testing.T) {
		if d.Count != 5 || len(d.Takes) != 5 || len(d.Clips) != 5 {
			t.Errorf("count, takes, clips: got %d, %d, %d, want 5 each", d.Count, len(d.Takes), len(d.Clips))
		}
		// 1e6/5600 − 1e6/4300 = −54: a lower kelvin on the dial is a cooler picture.
		stage.Near(t, "mired", *d.Value.Mired, -54, 0)
		stage.Near(t, "limit", *d.Limit.Mired, 8, 0)
		if !strings.Contains(d.Words, "54 mired cooler") || !strings.Contains(d.Words, "4300 K") {
			t.Errorf("words: got %q", d.Words)
		}
	})
	t.Run("what_about_and_against_what", func(t *testing.T) {
		if d.SetUp != s.SetUp || d.ComparedWith.Record != s.White || !reflect.DeepEqual(d.Cameras, []logbook.ID{s.B}) {
			t.Errorf("got set-up %s, compared with %+v, cameras %v", d.SetUp, d.ComparedWith, d.Cameras)
		}
	})
	t.Run("the_same_on_another_day", func(t *testing.T) {
		if again := s.Deviations(s.SetUp, 21)[0]; again.Cause != d.Cause {
			t.Errorf("cause: got %q, want %q", again.Cause, d.Cause)
		}
	})
}

func TestClipsInNoTakeAreCounted(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	for range 2 {
		s.Clip(s.B, logbook.ID{}, "4300")
	}
	take := s.Take()
	s.Clip(s.B, take, "4300")
	got := s.Deviations(s.SetUp, 6)
	if len(got) != 1 || got[0].Count != 3 || len(got[0].Takes) != 1 || len(got[0].Clips) != 3 {
		t.Errorf("got %s %+v, want one with a count of 3: a take and two clips", stage.KindWords(got), got)
	}
}

func TestDeviationsByScope(t *testing.T) {
	s := stage.New(t)
	s.Light("window", "fill")
	other := s.Add(kinds.Day, "number", "2", "date", `"2026-03-05"`)
	s.Add(kinds.Note, "about", stage.Ref(logbook.ID{1: 1}), "text", `"where is this?"`)
	b := s.Book()
	stage.MustKinds(t, deviation.Of(b, deviation.Scope{Day: s.Day}, stage.Minute(5)), "no-reading")
	stage.MustKinds(t, deviation.Of(b, deviation.Scope{Day: other}, stage.Minute(5)), "")
	stage.MustKinds(t, deviation.Of(b, deviation.Scope{}, stage.Minute(5)), "no-reading reference-leads-nowhere")
}

// Nothing that is shown may depend on the order in which edits arrived.
func TestDeviationsDoNotDependOnTheOrderOfEdits(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Light("window", "fill")
	s.Read(s.Light("panel right", "fill"), `{"as":"cctDuv","cctKelvin":5200,"duv":0.004}`)
	for range 3 {
		s.Shoot("5600", "4300")
	}
	s.Takes--
	s.Shoot("5650", "3200")
	s.Set(s.Key, "rigged/dialKelvin", "5400")
	s.Add(kinds.Acceptance, "deviation", stage.Quoted(deviation.LightOffReference), "scope", `"setUp"`, "reason", `"wanted"`,
		"subjects", fmt.Sprintf("[%s]", stage.Ref(s.SetUp)))
	want := s.Deviations(s.SetUp, 30)
	if len(want) < 5 {
		t.Fatalf("got %d deviations, want a rich case: %s", len(want), stage.KindWords(want))
	}
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 1))
		b := logbook.NewBook(s.ProductionID(), kinds.Rules)
		for _, i := range r.Perm(len(s.Edits)) {
			if err := b.Apply(s.Edits[i]); err != nil {
				t.Fatal(err)
			}
		}
		if got := deviation.Of(b, deviation.Scope{SetUp: s.SetUp}, stage.Minute(30)); !reflect.DeepEqual(got, want) {
			t.Fatalf("seed %d: got %s, want %s", seed, stage.KindWords(got), stage.KindWords(want))
		}
	}
}
