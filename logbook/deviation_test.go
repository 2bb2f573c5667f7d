package logbook

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
)

// Each kind of deviation has a case in which it appears; all others show that it
// stays away.
var deviationCases = []struct {
	name string
	tell func(s *stage)
	want string
}{
	{"nothing_is_off", func(s *stage) { s.shoot("5600", "5600") }, ""},
	{"one_wrong_dial_over_five_takes_is_one_finding", func(s *stage) {
		for range 5 {
			s.shoot("5600", "4300")
		}
	}, "setting-off-aim+cameras-differ+takes-differ"},
	{"a_dial_moved_inside_the_tolerance_was_still_moved", func(s *stage) {
		s.shoot("5600", "5600")
		s.shoot("5650", "5600")
	}, "takes-differ"},
	{"cameras_differ_where_no_white_says_who_is_wrong", func(s *stage) {
		s.set(s.white, "struckOut", `{"reason":"typed wrong"}`)
		s.clip(s.a, ID{}, "5600", "clipKind", `"chart"`)
		take := s.take()
		s.clip(s.a, take, "5600")
		s.clip(s.b, take, "3200", "clipKind", `"take"`)
	}, "cameras-differ+takes-differ no-white"},
	{"automatic_white_left_on", func(s *stage) {
		take := s.take()
		s.clip(s.a, take, "", "whiteMode", `"auto"`)
	}, "automatic-white+takes-differ"},
	{"a_setting_that_the_body_does_not_have", func(s *stage) {
		take := s.take()
		s.clip(s.a, take, "5600")
		s.clip(s.b, take, "5650")
	}, "setting-not-on-body+takes-differ"},
	{"a_setting_without_its_value", func(s *stage) {
		s.clip(s.a, s.take(), "")
	}, "no-settings+takes-differ"},
	{"settings_only_carried_over", func(s *stage) {
		take := s.take()
		s.clip(s.a, take, "5600")
		spare := s.add(KindBody, "label", `"spare"`, "whiteModes", `["kelvin"]`, "kelvinRanges", `[{"min":2000,"max":11000,"step":50}]`, "tintZero", `"blackBody"`, "timecode", `"none"`)
		s.clip(s.a, s.take(), "5600", "body", ref(spare), "settingsAre", `"carriedOver"`)
	}, "settings-carried-over"},
	{"no_chart_of_one_camera", func(s *stage) {
		c := s.add(KindCamera, "letter", `"C"`, "body", fmt.Sprintf(`{"body":%s}`, ref(s.bodyA)))
		take := s.take()
		s.clip(s.a, take, "5600")
		s.clip(c, take, "5600")
	}, "no-chart"},
	{"a_light_that_was_not_measured", func(s *stage) { s.light("window", "fill") }, "no-reading"},
	{"a_practical_that_is_left_needs_no_reading", func(s *stage) { s.light("bulb", "practical") }, ""},
	{"a_light_off_the_reference", func(s *stage) {
		s.read(s.light("panel right", "fill"), `{"as":"cctDuv","cctKelvin":5200,"duv":0}`)
	}, "light-off-reference"},
	{"the_same_difference_is_within_the_limits_of_a_background", func(s *stage) {
		s.read(s.light("panel right", "background"), `{"as":"cctDuv","cctKelvin":5200,"duv":0}`)
	}, ""},
	{"a_coloured_light_that_should_match_is_counted_in_steps", func(s *stage) {
		s.read(s.light("sign", "fill"), `{"as":"xy","x":0.2,"y":0.1}`)
	}, "light-off-reference"},
	{"a_light_off_its_own_colour", func(s *stage) {
		sign := s.light("sign", "practical", "intent", `"holdOwnColor"`, "targetColor", `{"as":"xy","x":0.2,"y":0.1}`)
		s.read(sign, `{"as":"xy","x":0.21,"y":0.12}`)
	}, "light-off-own-color"},
	{"a_light_that_holds_its_own_colour", func(s *stage) {
		sign := s.light("sign", "practical", "intent", `"holdOwnColor"`, "targetColor", `{"as":"xy","x":0.2,"y":0.1}`)
		s.read(sign, `{"as":"xy","x":0.201,"y":0.101}`)
	}, ""},
	{"a_light_that_drifted", func(s *stage) {
		s.minute(30)
		s.read(s.key, `{"as":"cctDuv","cctKelvin":5150,"duv":0}`)
	}, "light-off-reference light-drifted"},
	{"a_light_that_was_dialled_did_not_drift", func(s *stage) {
		s.minute(30)
		s.set(s.key, "rigged/dialKelvin", "5100")
		s.read(s.key, `{"as":"cctDuv","cctKelvin":5150,"duv":0}`)
	}, "light-off-reference"},
	{"a_reading_older_than_the_production_allows", func(s *stage) {
		s.minute(120)
		s.shoot("5600", "5600")
	}, "reading-stale"},
	{"a_reading_from_before_the_dial_was_turned", func(s *stage) {
		s.minute(20)
		s.set(s.key, "rigged/dialKelvin", "5400")
		s.minute(21)
		s.shoot("5600", "5600")
	}, "reading-stale"},
	{"a_reading_that_says_how_the_light_was_set_then", func(s *stage) {
		s.read(s.key, onLocus5600, "lightsAsSet/"+s.key.String(), `{"dialKelvin":5600,"levelPercent":50,"on":true}`)
	}, "reading-stale"},
	{"a_reading_from_after_a_take_is_not_stale_at_it", func(s *stage) {
		light := s.light("panel right", "fill", "rigged/dialKelvin", "5000")
		s.minute(5)
		s.shoot("5600", "5600")
		s.minute(6)
		s.set(light, "rigged/dialKelvin", "5600")
		s.read(light, onLocus5600)
	}, ""},
	{"the_wrong_setting_is_told_even_where_it_came_first", func(s *stage) {
		s.clip(s.a, s.take("startedAt", stamp(1)), "4300", "startedAt", stamp(1))
		s.shoot("5600", "5600")
	}, "setting-off-aim+takes-differ"},
	{"gels_that_were_changed_since", func(s *stage) {
		gel := s.add(KindGel, "name", `"quarter"`, "gelKind", `"warm"`)
		s.set(s.key, "rigged/gels", "[]")
		s.minute(5)
		s.read(s.key, onLocus5600)
		s.minute(6)
		s.set(s.key, "rigged/gels", "["+ref(gel)+"]")
	}, "reading-stale"},
	{"a_light_that_is_switched_off_is_not_judged", func(s *stage) {
		s.read(s.light("panel right", "fill", "rigged/on", "false"), `{"as":"cctDuv","cctKelvin":3200,"duv":0}`)
	}, ""},
	{"a_reading_through_a_gel_does_not_speak_of_the_light", func(s *stage) {
		gel := s.add(KindGel, "name", `"full"`, "gelKind", `"warm"`)
		s.read(s.key, `{"as":"cctDuv","cctKelvin":3200,"duv":0}`, "throughGel", ref(gel))
	}, ""},
	{"a_light_off_its_first_colour", func(s *stage) {
		sign := s.light("sign", "practical", "intent", `"holdOwnColor"`)
		s.read(sign, `{"as":"xy","x":0.2,"y":0.1}`)
		s.minute(6)
		s.read(sign, `{"as":"xy","x":0.21,"y":0.12}`)
	}, "light-off-own-color light-drifted"},
	{"a_setting_that_changed_while_rolling", func(s *stage) {
		s.clip(s.a, s.take(), "5600", "changes/1", `{"timecode":"10:00:05:00","whiteMode":"kelvin","kelvin":4300}`)
	}, "setting-off-aim+takes-differ"},
	{"held_automatic_white", func(s *stage) {
		s.set(s.bodyA, "whiteModes", `["kelvin","autoHeld"]`)
		s.clip(s.a, s.take(), "", "whiteMode", `"autoHeld"`)
	}, "automatic-white+takes-differ"},
	{"a_camera_that_did_not_roll_is_not_judged", func(s *stage) { s.clip(s.a, s.take(), "3200", "rolled", "false") }, ""},
	{"a_body_that_is_not_in_the_log", func(s *stage) { s.clip(s.a, s.take(), "5600", "body", ref(ID{1: 1})) }, "reference-leads-nowhere"},
	{"nothing_was_measured", func(s *stage) {
		s.set(s.reading, "struckOut", `{"reason":"typed wrong"}`)
		s.set(s.key, "deleted", "true")
		s.shoot("5600", "5600")
	}, "no-reading"},
	{"a_reading_of_a_set_up_that_was_left_does_not_age", func(s *stage) {
		s.set(s.day, "closed", "true")
		s.minute(300)
		s.set(s.setUp, "description", `"wrapped"`)
	}, ""},
	{"no_white", func(s *stage) {
		s.set(s.white, "struckOut", `{"reason":"typed wrong"}`)
		s.shoot("5600", "5600")
	}, "no-white"},
	{"a_white_that_cannot_be_computed", func(s *stage) {
		s.minute(3)
		s.add(KindWhite, "setUp", ref(s.setUp), "from", fmt.Sprintf(`{"as":"sameAs","setUp":%s}`, ref(s.add(KindSetUp, "day", ref(s.day), "name", `"B"`))), "appliesFrom", `{"as":"time","at":`+stamp(3)+`}`)
		s.shoot("5600", "5600")
	}, "white-unresolved"},
	{"an_aim_that_the_body_cannot_reach_is_no_wrong_dial", func(s *stage) {
		s.minute(3)
		s.add(KindWhite, "setUp", ref(s.setUp), "from", `{"as":"nominal","kelvin":3700,"locus":"blackBody"}`, "appliesFrom", `{"as":"time","at":`+stamp(3)+`}`)
		s.set(s.key, "intent", `"leave"`)
		take := s.take()
		s.clip(s.a, take, "3700")
		s.clip(s.b, take, "4300")
	}, "aim-not-reachable+cameras-differ"},
	{"a_take_number_twice", func(s *stage) {
		s.shoot("5600", "5600")
		s.takes--
		s.shoot("5600", "5600")
	}, "take-number-twice"},
	{"a_take_of_which_one_camera_was_not_logged", func(s *stage) {
		s.shoot("5600", "5600")
		s.clip(s.a, s.take(), "5600")
		s.shoot("5600", "5600")
	}, "not-logged"},
	{"a_camera_that_said_it_did_not_roll_was_logged", func(s *stage) {
		s.shoot("5600", "5600")
		take := s.take()
		s.clip(s.a, take, "5600")
		s.clip(s.b, take, "5600", "rolled", "false")
		s.shoot("5600", "5600")
	}, ""},
	{"a_camera_that_joined_late_and_left_early_has_no_gap", func(s *stage) {
		s.clip(s.a, s.take(), "5600")
		s.shoot("5600", "5600")
		s.clip(s.a, s.take(), "5600")
	}, ""},
	{"a_number_that_is_used_again", func(s *stage) {
		take, _, _ := s.shoot("5600", "5600")
		s.set(take, "state", `"numberUsedAgain"`)
		s.takes--
		s.shoot("5600", "5600")
	}, ""},
	{"a_clip_of_a_take_that_was_deleted", func(s *stage) {
		take, _, _ := s.shoot("5600", "5600")
		s.set(take, "deleted", "true")
	}, "reference-leads-nowhere"},
	{"a_light_of_a_lamp_that_is_not_in_the_log", func(s *stage) { s.set(s.key, "lamp", ref(ID{1: 1})) }, "reference-leads-nowhere"},
	{"a_white_that_changes_does_not_judge_earlier_takes", func(s *stage) {
		s.shoot("5600", "5600")
		s.minute(30)
		take := s.take()
		s.clip(s.a, take, "6500")
		s.clip(s.b, take, "6500")
		s.set(s.key, "intent", `"leave"`)
		s.add(KindWhite, "setUp", ref(s.setUp), "from", `{"as":"nominal","kelvin":6500,"locus":"blackBody"}`, "appliesFrom", fmt.Sprintf(`{"as":"take","take":%s}`, ref(take)))
	}, ""},
	{"a_camera_with_an_exception_is_meant_to_differ", func(s *stage) {
		s.set(s.white, "struckOut", `{"reason":"another"}`)
		s.add(KindWhite, "setUp", ref(s.setUp), "from", `{"as":"nominal","kelvin":5600,"locus":"blackBody"}`, "appliesFrom", `{"as":"time","at":`+stamp(3)+`}`,
			"exceptions/"+s.b.String(), `{"mired":-54}`)
		s.minute(4)
		s.shoot("5600", "4300")
	}, ""},
}

func TestDeviations(t *testing.T) {
	for _, c := range deviationCases {
		t.Run(c.name, func(t *testing.T) {
			s := newStage(t)
			s.minute(4)
			c.tell(s)
			s.t = t
			mustKinds(t, s.deviations(s.setUp, int((s.clock-dayBegins)/60000)+1), c.want)
		})
	}
}

func TestDeviationsSay(t *testing.T) {
	s := newStage(t)
	s.minute(5)
	for range 5 {
		s.shoot("5600", "4300")
	}
	d := s.deviations(s.setUp, 20)[0]
	t.Run("how_much_and_how_often", func(t *testing.T) {
		if d.Count != 5 || len(d.Takes) != 5 || len(d.Clips) != 5 {
			t.Errorf("count, takes, clips: got %d, %d, %d, want 5 each", d.Count, len(d.Takes), len(d.Clips))
		}
		// 1e6/5600 − 1e6/4300 = −54: a lower kelvin on the dial is a cooler picture.
		near(t, "mired", *d.Value.Mired, -54, 0)
		near(t, "limit", *d.Limit.Mired, 8, 0)
		if !strings.Contains(d.Words, "54 mired cooler") || !strings.Contains(d.Words, "4300 K") {
			t.Errorf("words: got %q", d.Words)
		}
	})
	t.Run("what_about_and_against_what", func(t *testing.T) {
		if d.SetUp != s.setUp || d.ComparedWith.Record != s.white || !reflect.DeepEqual(d.Cameras, []ID{s.b}) {
			t.Errorf("got set-up %s, compared with %+v, cameras %v", d.SetUp, d.ComparedWith, d.Cameras)
		}
	})
	t.Run("the_same_on_another_day", func(t *testing.T) {
		if again := s.deviations(s.setUp, 21)[0]; again.Cause != d.Cause {
			t.Errorf("cause: got %q, want %q", again.Cause, d.Cause)
		}
	})
}

func TestALimitFinerThanTheMeterSaysSo(t *testing.T) {
	s := newStage(t)
	rough := s.add(KindMeter, "name", `"old one"`, "meterKind", `"other"`, "floorXY", "0.01")
	s.read(s.light("panel right", "fill"), `{"as":"cctDuv","cctKelvin":5200,"duv":0}`, "meter", ref(rough))
	got := s.deviations(s.setUp, 5)
	mustKinds(t, got, "light-off-reference")
	if !strings.Contains(got[0].Words, "finer than the meter") {
		t.Errorf("words: got %q, want a word about the meter", got[0].Words)
	}
}

func TestAReadingIsStaleAtTheTakesThatWereLate(t *testing.T) {
	s := newStage(t)
	s.set(s.productionID(), "remeasureAfterMinutes", "30")
	for i := range 4 {
		s.minute(10 + 15*i) // 10, 25, 40, 55
		s.shoot("5600", "5600")
	}
	got := s.deviations(s.setUp, 60)
	mustKinds(t, got, "reading-stale")
	if got[0].Count != 2 || len(got[0].Takes) != 2 || *got[0].Value.Minutes != 60 || *got[0].Limit.Minutes != 30 {
		t.Errorf("got count %d, takes %v, %v of %v minutes; want takes 3 and 4, 60 of 30", got[0].Count, got[0].Takes, *got[0].Value.Minutes, *got[0].Limit.Minutes)
	}
}

func TestClipsInNoTakeAreCounted(t *testing.T) {
	s := newStage(t)
	s.minute(5)
	for range 2 {
		s.clip(s.b, ID{}, "4300")
	}
	take := s.take()
	s.clip(s.b, take, "4300")
	got := s.deviations(s.setUp, 6)
	if len(got) != 1 || got[0].Count != 3 || len(got[0].Takes) != 1 || len(got[0].Clips) != 3 {
		t.Errorf("got %s %+v, want one with a count of 3: a take and two clips", kindWords(got), got)
	}
}

func TestASetUpThatWasLeftOvernightDoesNotAge(t *testing.T) {
	s := newStage(t)
	mustKinds(t, s.deviations(s.setUp, 11*60), "reading-stale")
	mustKinds(t, s.deviations(s.setUp, 13*60), "")
}

func TestASetUpThatMustMatchAnother(t *testing.T) {
	s := newStage(t)
	s.minute(5)
	s.shoot("5600", "5600")
	first := s.setUp
	// The second set-up lies under the same light, and means it 30 mired cooler.
	s.setUp = s.add(KindSetUp, "day", ref(s.day), "scene", ref(s.scene), "name", `"B"`, "cameras/"+s.a.String()+"/inUse", "true", "mustMatch", fmt.Sprintf(`{"setUp":%s}`, ref(first)))
	white := func(cast string) ID {
		return s.add(KindWhite, "setUp", ref(s.setUp), "from", fmt.Sprintf(`{"as":"sameAs","setUp":%s}`, ref(first)), "appliesFrom", `{"as":"start"}`, "intendedCast", cast)
	}
	wrong := white(`{"mired":-30}`)
	s.clip(s.a, ID{}, "4800", "clipKind", `"chart"`)
	take := s.take()
	s.clip(s.a, take, "4800") // 1e6/4800 = 208.3; 178.6 − 208.3 = −29.8
	got := s.deviations(s.setUp, 6)
	mustKinds(t, got, "set-ups-differ no-reading")
	near(t, "mired", *got[0].Value.Mired, -30, 0)
	if got[0].ComparedWith.Record != first || !strings.Contains(got[0].Words, "30 mired cooler here than in set-up 12 A") {
		t.Errorf("got %q, compared with %+v", got[0].Words, got[0].ComparedWith)
	}
	s.set(wrong, "struckOut", `{"reason":"no night"}`)
	white(`{"mired":0}`)
	s.minute(6)
	s.clip(s.a, s.take(), "5600")
	got = s.deviations(s.setUp, 7)
	mustKinds(t, got, "setting-off-aim+takes-differ no-reading")
}

func TestDeviationsByScope(t *testing.T) {
	s := newStage(t)
	s.light("window", "fill")
	other := s.add(KindDay, "number", "2", "date", `"2026-03-05"`)
	s.add(KindNote, "about", ref(ID{1: 1}), "text", `"where is this?"`)
	b := s.book()
	mustKinds(t, Deviations(b, DeviationScope{Day: s.day}, minute(5)), "no-reading")
	mustKinds(t, Deviations(b, DeviationScope{Day: other}, minute(5)), "")
	mustKinds(t, Deviations(b, DeviationScope{}, minute(5)), "no-reading reference-leads-nowhere")
}

// Nothing that is shown may depend on the order in which edits arrived.
func TestDeviationsDoNotDependOnTheOrderOfEdits(t *testing.T) {
	s := newStage(t)
	s.minute(5)
	s.light("window", "fill")
	s.read(s.light("panel right", "fill"), `{"as":"cctDuv","cctKelvin":5200,"duv":0.004}`)
	for range 3 {
		s.shoot("5600", "4300")
	}
	s.takes--
	s.shoot("5650", "3200")
	s.set(s.key, "rigged/dialKelvin", "5400")
	s.add(KindAcceptance, "deviation", quoted(LightOffReference), "subjects", fmt.Sprintf("[%s]", ref(s.setUp)), "scope", `"setUp"`, "reason", `"wanted"`)
	want := s.deviations(s.setUp, 30)
	if len(want) < 5 {
		t.Fatalf("got %d deviations, want a rich case: %s", len(want), kindWords(want))
	}
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 1))
		b := NewBook(s.productionID(), KindRules)
		for _, i := range r.Perm(len(s.edits)) {
			if err := b.Apply(s.edits[i]); err != nil {
				t.Fatal(err)
			}
		}
		if got := Deviations(b, DeviationScope{SetUp: s.setUp}, minute(30)); !reflect.DeepEqual(got, want) {
			t.Fatalf("seed %d: got %s, want %s", seed, kindWords(got), kindWords(want))
		}
	}
}

func TestSettingsAreReadOffAgainAfterABattery(t *testing.T) {
	s := newStage(t)
	s.minute(10)
	s.shoot("5600", "5600")
	s.minute(20)
	s.set(s.a, "newBatteryAt", stamp(20))
	s.minute(25)
	take := s.take()
	s.clip(s.a, take, "5600", "settingsAre", `"carriedOver"`)
	all := s.deviations(s.setUp, 30)
	mustKinds(t, all, SettingsCarriedOver)
	if d := all[0]; d.Count != 1 || len(d.Takes) != 1 || d.Takes[0] != take || !strings.Contains(d.Words, "camera A were carried over a new battery") {
		t.Errorf("got %+v, want the take after the battery", d)
	}
	s.minute(35)
	s.clip(s.a, s.take(), "5600")
	s.minute(40)
	s.clip(s.a, s.take(), "5600", "settingsAre", `"carriedOver"`)
	if all := s.deviations(s.setUp, 45); len(all) != 1 || all[0].Count != 1 {
		t.Errorf("got %+v, want the one take before they were read off", all)
	}
	t.Run("in whatever set-up", func(t *testing.T) {
		next := s.add(KindSetUp, "day", ref(s.day), "name", `"B"`, "setUpKind", `"test"`, "cameras/"+s.a.String()+"/inUse", "true")
		s.minute(50)
		s.clip(s.a, ID{}, "5600", "setUp", ref(next), "settingsAre", `"carriedOver"`)
		for _, d := range s.deviations(next, 55) {
			if strings.Contains(d.Words, "battery") {
				t.Errorf("got %q, want none: they were read off in the set-up before", d.Words)
			}
		}
	})
}
