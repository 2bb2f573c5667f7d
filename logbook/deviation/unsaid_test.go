package deviation_test

import (
	"strings"
	"testing"

	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

func TestWhatATakeWasLoggedWithout(t *testing.T) {
	t.Run("how the white was set, once for all takes", func(t *testing.T) {
		s := stage.New(t)
		s.Minute(10)
		s.Shoot("5600", "5600")
		spare := s.Add(kinds.Body, "label", `"spare"`)
		for m := 20; m < 40; m += 10 {
			s.Minute(m)
			take := s.Take()
			s.Clip(s.A, take, "5600")
			s.Clip(s.B, take, "", "whiteMode", "", "settingsAre", "", "body", stage.Ref(spare))
		}
		all := s.Deviations(s.SetUp, 45)
		stage.MustKinds(t, all, deviation.NoSettings)
		if d := all[0]; d.Count != 2 || !strings.HasPrefix(d.Headline, "B: settings not read off yet") || d.ToDo != "read off B's white" {
			t.Errorf("got %+v", d)
		}
	})
	t.Run("the body", func(t *testing.T) {
		s := stage.New(t)
		s.Minute(10)
		s.Clip(s.A, s.Take(), "5600", "body", "")
		all := s.Deviations(s.SetUp, 15)
		stage.MustKinds(t, all, deviation.NoBody)
		if d := all[0]; !strings.HasPrefix(d.Headline, "A: its body is not in") || d.ToDo != "say which body fills A" {
			t.Errorf("got %+v", d)
		}
	})
	t.Run("any camera", func(t *testing.T) {
		s := stage.New(t)
		setUp := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`, "setUpKind", `"test"`)
		if all := s.Deviations(setUp, 5); len(all) > 0 {
			t.Errorf("got %+v before anything was shot", all)
		}
		s.Minute(10)
		s.Add(kinds.Take, "setUp", stage.Ref(setUp), "number", "1")
		all := s.Deviations(setUp, 15)
		stage.MustKinds(t, all, deviation.NoCamera)
		if d := all[0]; !strings.HasPrefix(d.Headline, "No camera is in use") || d.ToDo == "" {
			t.Errorf("got %+v", d)
		}
	})
}
