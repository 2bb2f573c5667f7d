package deviation_test

import (
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

func TestSettingsAreReadOffAgainAfterABattery(t *testing.T) {
	s := stage.New(t)
	s.Minute(10)
	s.Shoot("5600", "5600")
	s.Minute(20)
	s.Set(s.A, "newBatteryAt", stage.Stamp(20))
	s.Minute(25)
	take := s.Take()
	s.Clip(s.A, take, "5600", "settingsAre", `"carriedOver"`)
	all := s.Deviations(s.SetUp, 30)
	stage.MustKinds(t, all, deviation.SettingsCarriedOver)
	if d := all[0]; d.Count != 1 || len(d.Takes) != 1 || d.Takes[0] != take ||
		!strings.Contains(d.Words, "camera A were carried over a new battery") {
		t.Errorf("got %+v, want the take after the battery", d)
	}
	s.Minute(35)
	s.Clip(s.A, s.Take(), "5600")
	s.Minute(40)
	s.Clip(s.A, s.Take(), "5600", "settingsAre", `"carriedOver"`)
	if all := s.Deviations(s.SetUp, 45); len(all) != 1 || all[0].Count != 1 {
		t.Errorf("got %+v, want the one take before they were read off", all)
	}
	t.Run("in whatever set-up", func(t *testing.T) {
		next := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`, "setUpKind", `"test"`, "cameras/"+s.A.String()+"/inUse", "true")
		s.Minute(50)
		s.Clip(s.A, logbook.ID{}, "5600", "setUp", stage.Ref(next), "settingsAre", `"carriedOver"`)
		for _, d := range s.Deviations(next, 55) {
			if strings.Contains(d.Words, "battery") {
				t.Errorf("got %q, want none: they were read off in the set-up before", d.Words)
			}
		}
	})
}
