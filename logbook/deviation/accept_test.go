package deviation_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// subjectsOf picks what an acceptance names of a stage.
type subjectsOf func(s *stage.Stage, takes, clips []logbook.ID) []logbook.ID

// ofB names camera B in the whole set-up.
func ofB(s *stage.Stage, _, _ []logbook.ID) []logbook.ID { return []logbook.ID{s.B, s.SetUp} }

// ofBFromTake2 names camera B and the second take.
func ofBFromTake2(s *stage.Stage, takes, _ []logbook.ID) []logbook.ID {
	return []logbook.ID{s.B, takes[1]}
}

// accepting is a stage on which B is cooler than its aim in takes 1 to 3, by 54 mired,
// which is accepted in some way.
func accepting(t *testing.T, scope string, subjects subjectsOf, more ...string) (*stage.Stage, []deviation.Deviation) {
	s := stage.New(t)
	s.Minute(4)
	var takes, clips []logbook.ID
	for range 3 {
		take, _, clip := s.Shoot("5600", "4300")
		takes, clips = append(takes, take), append(clips, clip)
	}
	var ids []string
	for _, id := range subjects(s, takes, clips) {
		ids = append(ids, stage.Ref(id))
	}
	s.Add(kinds.Acceptance, append([]string{"deviation", stage.Quoted(deviation.SettingOffAim), "subjects", "[" + strings.Join(ids, ",") + "]",
		"scope", stage.Quoted(scope), "reason", `"B is the cold one"`, "decidedBy", `"Kim"`}, more...)...)
	return s, s.Deviations(s.SetUp, 5)
}

func TestAcceptanceReaches(t *testing.T) {
	const all = "setting-off-aim+cameras-differ"
	cases := []struct {
		name, scope string
		subjects    subjectsOf
		want        string
	}{
		{"the_set_up", "setUp", ofB, "accepted " + all},
		{"the_scene", "scene", ofB, "accepted " + all},
		{"the_day", "day", ofB, "accepted " + all},
		{"one_clip", "clip", func(s *stage.Stage, takes, clips []logbook.ID) []logbook.ID { return []logbook.ID{s.B, clips[1]} }, all + " accepted " + all},
		{"from_a_take_on", "fromTakeOn", ofBFromTake2, all + " accepted " + all},
		{"another_camera_does_not", "setUp", func(s *stage.Stage, takes, clips []logbook.ID) []logbook.ID { return []logbook.ID{s.A, s.SetUp} }, all},
		{"another_set_up_does_not", "setUp", func(s *stage.Stage, takes, clips []logbook.ID) []logbook.ID {
			return []logbook.ID{s.B, s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`)}
		}, all},
		{"no_set_up_named_reaches_none", "setUp", func(s *stage.Stage, takes, clips []logbook.ID) []logbook.ID { return []logbook.ID{s.B} }, all},
		{"no_such_record_reaches_none", "setUp", func(s *stage.Stage, _, _ []logbook.ID) []logbook.ID {
			return []logbook.ID{s.B, s.SetUp, {1: 1}}
		}, all},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, got := accepting(t, c.scope, c.subjects)
			stage.MustKinds(t, got, c.want)
		})
	}
}

func TestAnAcceptanceSaysWhoAndWhy(t *testing.T) {
	s, got := accepting(t, "fromTakeOn", ofBFromTake2, "ceiling", `{"mired":60}`)
	if len(got) != 2 || got[0].Count != 1 || got[1].Count != 2 {
		t.Fatalf("got %s, want 1 take open and 2 accepted", stage.KindWords(got))
	}
	a := got[1].Accepted
	if a.By != "Kim" || a.Reason != "B is the cold one" || a.Scope != "fromTakeOn" || *a.Ceiling.Mired != 60 {
		t.Errorf("got %+v", a)
	}
	if got[0].SetUp != s.SetUp {
		t.Errorf("set-up: got %s", got[0].SetUp)
	}
}

func TestAnAcceptanceEndsAtItsCeiling(t *testing.T) {
	cases := []struct {
		name     string
		more     []string
		accepted bool
	}{
		{"no_ceiling", nil, true},
		{"below_the_ceiling", []string{"ceiling", `{"mired":54}`}, true},
		{"above_the_ceiling", []string{"ceiling", `{"mired":53}`}, false},
		{"the_accepted_value_is_the_ceiling_where_there_is_none", []string{"accepted", `{"mired":-50}`}, false},
		{"accepted_to_this_side", []string{"accepted", `{"mired":-54}`, "ceiling", `{"mired":60}`}, true},
		{"accepted_to_the_other_side", []string{"accepted", `{"mired":54}`, "ceiling", `{"mired":60}`}, false},
		{"a_ceiling_that_is_shown_as_the_value", []string{"ceiling", `{"mired":53.6}`}, true},
		{"a_ceiling_that_is_shown_below_the_value", []string{"ceiling", `{"mired":53.4}`}, false},
		{"a_trace_of_magenta_was_accepted_too", []string{"accepted", `{"mired":-54,"duv":-0.0001}`, "ceiling", `{"mired":60,"duv":0.001}`}, true},
		{"a_ceiling_for_the_other_part_only", []string{"ceiling", `{"duv":0.01}`}, false},
		{"a_ceiling_in_steps", []string{"ceiling", `{"steps":3}`}, false},
		{"compared_with_another_white", []string{"comparedWith", stage.Ref(logbook.ID{1: 1})}, false},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, got := accepting(t, "setUp", ofB, c.more...)
			if len(got) != 1 || (got[0].Accepted != nil) != c.accepted {
				t.Errorf("got %s, want accepted %v", stage.KindWords(got), c.accepted)
			}
		})
	}
}

func TestAnAcceptanceEndsWithTheWhiteItWasAbout(t *testing.T) {
	s, got := accepting(t, "setUp", ofB, "comparedWith", stage.Ref(logbook.ID{6: 0x70, 8: 0x80, 15: 107}))
	if s.White != (logbook.ID{6: 0x70, 8: 0x80, 15: 107}) {
		t.Fatalf("the stage's white is %s: name it in this test", s.White)
	}
	stage.MustKinds(t, got, "accepted setting-off-aim+cameras-differ")
	s.Minute(5)
	take := s.Take()
	s.Clip(s.B, take, "4300")
	s.Clip(s.A, take, "5600")
	s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":5500,"locus":"blackBody"}`,
		"appliesFrom", fmt.Sprintf(`{"as":"take","take":%s}`, stage.Ref(take)), "supersedes", stage.Ref(s.White))
	got = s.Deviations(s.SetUp, 6)
	stage.MustKinds(t, got, "setting-off-aim+cameras-differ accepted setting-off-aim+cameras-differ")
}

func TestAcceptingWhatOnlyFollowsLeavesTheCauseOpen(t *testing.T) {
	s, _ := accepting(t, "setUp", func(s *stage.Stage, takes, clips []logbook.ID) []logbook.ID { return []logbook.ID{s.A, s.SetUp} })
	s.Add(kinds.Acceptance, "deviation", stage.Quoted(deviation.CamerasDiffer), "scope", `"setUp"`, "reason", `"two moods"`,
		"subjects", fmt.Sprintf("[%s,%s]", stage.Ref(s.B), stage.Ref(s.SetUp)))
	stage.MustKinds(t, s.Deviations(s.SetUp, 5), "setting-off-aim accepted cameras-differ")
}

func TestWhatFollowsIsAcceptedWithItsCause(t *testing.T) {
	for _, c := range []struct{ name, kind, want string }{
		{"an automatic white", deviation.AutomaticWhite, "accepted automatic-white+takes-differ"},
		{"an aim out of reach", deviation.AimNotReachable, "accepted aim-not-reachable+cameras-differ"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Minute(4)
			take := s.Take()
			if c.kind == deviation.AutomaticWhite {
				s.Clip(s.B, take, "5600")
				s.Clip(s.B, s.Take(), "", "whiteMode", `"auto"`)
			} else {
				s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":3700,"locus":"blackBody"}`,
					"appliesFrom", `{"as":"start"}`, "supersedes", stage.Ref(s.White))
				s.Set(s.Key, "intent", `"leave"`)
				s.Clip(s.A, take, "3700")
				s.Clip(s.B, take, "4300")
			}
			stage.MustKinds(t, s.Deviations(s.SetUp, 5), strings.TrimPrefix(c.want, "accepted "))
			s.Add(kinds.Acceptance, "deviation", stage.Quoted(c.kind), "scope", `"setUp"`, "reason", `"wanted"`,
				"subjects", fmt.Sprintf("[%s,%s]", stage.Ref(s.B), stage.Ref(s.SetUp)))
			stage.MustKinds(t, s.Deviations(s.SetUp, 5), c.want)
		})
	}
}

// The white is chosen anew from take 4, 30 K warmer: 1 mired, which nobody can tell apart.
func TestAnAcceptanceHoldsForAWhiteThatIsAlike(t *testing.T) {
	for _, c := range []struct {
		name, kelvin, duv, want string
	}{
		{"alike", "5570", "0", "accepted setting-off-aim+cameras-differ"},
		{"3_mired_warmer", "5520", "0", "setting-off-aim+cameras-differ accepted setting-off-aim+cameras-differ"},
		{"greener", "5570", "0.0008", "setting-off-aim+cameras-differ accepted setting-off-aim+cameras-differ"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Minute(4)
			shots(s, "4300 4300 4300")
			s.Add(kinds.Acceptance, "deviation", stage.Quoted(deviation.SettingOffAim), "scope", `"setUp"`, "reason", `"B is the cold one"`,
				"subjects", fmt.Sprintf("[%s,%s,%s]", stage.Ref(s.B), stage.Ref(s.SetUp), stage.Ref(s.White)),
				"comparedWith", stage.Ref(s.White))
			s.Minute(5)
			take := s.Take()
			s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"nominal","kelvin":%s,"duv":%s,"locus":"blackBody"}`, c.kelvin, c.duv),
				"appliesFrom", fmt.Sprintf(`{"as":"take","take":%s}`, stage.Ref(take)), "supersedes", stage.Ref(s.White))
			s.Clip(s.A, take, "5600")
			s.Clip(s.B, take, "4300")
			stage.MustKinds(t, s.Deviations(s.SetUp, 6), c.want)
		})
	}
}

// A deviation lists its subjects, and an acceptance that names the same holds for it, however
// many lights or takes it counts.
func TestAnAcceptanceOfTheSubjectsOfADeviation(t *testing.T) {
	s := stage.New(t)
	s.Minute(4)
	s.Light("window", "fill")
	s.Light("moon", "fill")
	shots(s, "5600")
	s.Takes--
	shots(s, "5600")
	for _, d := range s.Deviations(s.SetUp, 5) {
		var ids []string
		for _, id := range d.Subjects {
			ids = append(ids, stage.Ref(id))
		}
		s.Add(kinds.Acceptance, "deviation", stage.Quoted(d.Kind), "scope", `"setUp"`, "reason", `"wanted"`, "subjects", "["+strings.Join(ids, ",")+"]")
	}
	stage.MustKinds(t, s.Deviations(s.SetUp, 5), "accepted no-reading accepted take-number-twice")
	s.Light("bulb", "key")
	all := s.Deviations(s.SetUp, 5)
	stage.MustKinds(t, all, "no-reading accepted no-reading accepted take-number-twice")
	if all[0].Count != 1 || all[1].Count != 2 {
		t.Errorf("got %d and %d lights, want the new one open and two accepted", all[0].Count, all[1].Count)
	}
}
