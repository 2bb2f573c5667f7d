package deviation_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

func TestASetUpThatMustMatchAnother(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "5600")
	first := s.SetUp
	// The second set-up lies under the same light, and means it 30 mired cooler.
	s.SetUp = s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "scene", stage.Ref(s.Scene), "name", `"B"`,
		"cameras/"+s.A.String()+"/inUse", "true", "mustMatch", fmt.Sprintf(`{"setUp":%s}`, stage.Ref(first)))
	white := func(cast string) logbook.ID {
		return s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"sameAs","setUp":%s}`, stage.Ref(first)), "appliesFrom", `{"as":"start"}`, "intendedCast", cast)
	}
	wrong := white(`{"mired":-30}`)
	s.Clip(s.A, logbook.ID{}, "4800", "clipKind", `"chart"`)
	take := s.Take()
	s.Clip(s.A, take, "4800") // 1e6/4800 = 208.3; 178.6 − 208.3 = −29.8
	got := s.Deviations(s.SetUp, 6)
	stage.MustKinds(t, got, "set-ups-differ no-reading")
	stage.Near(t, "mired", *got[0].Value.Mired, -30, 0)
	if got[0].ComparedWith.Record != first || !strings.Contains(got[0].Words, "30 mired cooler here than in set-up 12 A") {
		t.Errorf("got %q, compared with %+v", got[0].Words, got[0].ComparedWith)
	}
	s.Set(wrong, "struckOut", `{"reason":"no night"}`)
	white(`{"mired":0}`)
	s.Minute(6)
	s.Clip(s.A, s.Take(), "5600")
	got = s.Deviations(s.SetUp, 7)
	stage.MustKinds(t, got, "setting-off-aim+set-ups-differ no-reading")
}

// One body of which nobody knows tint 0 is compared with itself; another one may differ by up
// to 0.0033, or not at all, which is said once.
func TestASetUpThatMustMatchAnotherWhereTintZeroIsNotKnown(t *testing.T) {
	for swapped, want := range map[bool]string{false: "no-reading", true: "no-reading white-not-known"} {
		s := stage.New(t)
		s.Set(s.BodyA, "tintZero", "null")
		s.Minute(5)
		s.Clip(s.A, s.Take(), "5600")
		first := s.SetUp
		s.SetUp = s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "scene", stage.Ref(s.Scene), "name", `"B"`,
			"cameras/"+s.A.String()+"/inUse", "true", "mustMatch", fmt.Sprintf(`{"setUp":%s}`, stage.Ref(first)),
			"limits/camera/duvGreen", "0.0031", "limits/camera/duvMagenta", "0.0031", "limits/camera/steps", "9")
		s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"sameAs","setUp":%s}`, stage.Ref(first)), "appliesFrom", `{"as":"start"}`)
		body := s.BodyA
		if swapped {
			body = s.Add(kinds.Body, "label", `"spare"`, "whiteModes", `["kelvin"]`, "kelvinRanges", `[{"min":2000,"max":11000,"step":50}]`,
				"tintZero", `"blackBody"`, "timecode", `"none"`)
		}
		s.Clip(s.A, logbook.ID{}, "5600", "clipKind", `"chart"`, "body", stage.Ref(body))
		for range 3 {
			s.Clip(s.A, s.Take(), "5600", "body", stage.Ref(body))
		}
		got := s.Deviations(s.SetUp, 6)
		// On the black body of the spare the picture is 0.0033 from a daylight tint 0.
		for i := range got {
			if strings.Contains(got[i].Words, "which it must match") && got[i].Count != 1 {
				t.Errorf("%s: got a count of %d", got[i].Words, got[i].Count)
			}
		}
		var kept []string
		for _, d := range got {
			if !strings.Contains(d.Words, "on its aim") {
				kept = append(kept, d.Kind)
			}
		}
		if strings.Join(kept, " ") != want {
			t.Errorf("swapped %v: got %s, want %s", swapped, stage.KindWords(got), want)
		}
	}
}

// Where several whites count in the set-up to be matched, a set-up matches it only where it does
// by each of them: 1e6/3200 − 1e6/5600 = 134 mired.
func TestASetUpThatMustMatchOneWithContestedWhites(t *testing.T) {
	for _, c := range []struct {
		other, want, todo string
	}{
		{"", "no-reading", ""},
		{"3200", "no-reading white-not-known", "settle which white counts"},
	} {
		s := stage.New(t)
		s.Set(s.Key, "intent", `"leave"`)
		s.Minute(5)
		first, white := s.SetUp, s.White
		for _, kelvin := range strings.Fields("5600 " + c.other) {
			s.Add(kinds.White, "setUp", stage.Ref(first), "from", `{"as":"nominal","kelvin":`+kelvin+`,"locus":"blackBody"}`,
				"appliesFrom", `{"as":"takeNumber","number":1}`, "supersedes", stage.Ref(white))
		}
		take := s.Take()
		s.Clip(s.A, take, "5600")
		s.SetUp = s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "scene", stage.Ref(s.Scene), "name", `"B"`,
			"cameras/"+s.A.String()+"/inUse", "true", "mustMatch", fmt.Sprintf(`{"setUp":%s,"take":%s}`, stage.Ref(first), stage.Ref(take)))
		s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":5600,"locus":"blackBody"}`, "appliesFrom", `{"as":"start"}`)
		s.Clip(s.A, logbook.ID{}, "5600", "clipKind", `"chart"`)
		s.Minute(6)
		s.Clip(s.A, s.Take(), "5600")
		all := s.Deviations(s.SetUp, 7)
		stage.MustKinds(t, all, c.want)
		for _, d := range all {
			if d.Kind == "white-not-known" && d.ToDo != c.todo {
				t.Errorf("got %q to do, want %q: %s", d.ToDo, c.todo, d.Words)
			}
		}
	}
}

// A white that is that of another set-up asks to be chosen again only where the other's new one
// can be told apart from it.
func TestTheWhiteOfAnotherSetUpIsAskedAboutWhereItMatters(t *testing.T) {
	for kelvin, want := range map[string]string{"5620": "no-reading", "4300": "white-outlived no-reading"} {
		s := stage.New(t)
		s.Minute(5)
		first := s.SetUp
		s.SetUp = s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "scene", stage.Ref(s.Scene), "name", `"B"`, "cameras/"+s.A.String()+"/inUse", "true")
		s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"sameAs","setUp":%s}`, stage.Ref(first)),
			"restsOn", fmt.Sprintf(`[{"record":%s}]`, stage.Ref(s.White)), "appliesFrom", `{"as":"start"}`)
		s.Clip(s.A, logbook.ID{}, "5600", "clipKind", `"chart"`)
		s.Clip(s.A, s.Take(), "5600")
		s.Minute(6)
		s.Add(kinds.White, "setUp", stage.Ref(first), "from", `{"as":"nominal","kelvin":`+kelvin+`,"locus":"blackBody"}`,
			"appliesFrom", `{"as":"start"}`, "supersedes", stage.Ref(s.White))
		stage.MustKinds(t, s.Deviations(s.SetUp, 7), want)
	}
}
