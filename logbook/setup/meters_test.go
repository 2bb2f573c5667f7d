package setup_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook/deviation"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// A window that gets 3 mired warmer in half an hour, of which a second meter shows
// 11: without a comparison it has drifted too far, with one it has not.
func TestADriftAcrossTwoMetersIsCountedWithWhatTheyDifferBy(t *testing.T) {
	s := stage.New(t)
	s.TwoMeters(0)
	d := stage.DeviationOf(t, s.Deviations(s.SetUp, 42), deviation.LightDrifted)
	stage.Near(t, "drift", *d.Value.Mired, 11, 0)
	if !strings.Contains(d.Words, "never compared") || !strings.Contains(d.Words, "together") {
		t.Errorf("got %q, want the floors of both meters", d.Words)
	}
	s = stage.New(t)
	s.TwoMeters(2)
	if got := stage.KindWords(s.Deviations(s.SetUp, 42)); strings.Contains(got, deviation.LightDrifted) {
		t.Errorf("got %q, want no drift: the meters differ", got)
	}
	l := lightNow(t, s, "window", 42)
	stage.Near(t, "drift", *l.DriftSinceFirst.Mired, 3, 0)
	stage.Near(t, "Duv", *l.DriftSinceFirst.Duv, 0, 0)
	if !strings.Contains(l.DriftSinceFirst.Words, "two meters differ by: 8") || l.Drift == nil || len(l.Drift.Readings) != 4 {
		t.Errorf("got %q, %+v", l.DriftSinceFirst.Words, l.Drift)
	}
}

// What two meters differ by is learnt until the day of the set-up: a comparison of a later day
// leaves what is said of it.
func TestALaterComparisonOfMetersLeavesADayAsItWas(t *testing.T) {
	for _, c := range []struct {
		date    string
		counted bool
	}{{"2026-03-03", true}, {"2026-03-04", true}, {"2026-03-05", false}} {
		s := stage.New(t)
		s.TwoMeters(0)
		in := anotherDay(s, "7", c.date, "second")
		lamp := s.Add(kinds.Light, "setUp", stage.Ref(in), "name", `"lamp"`, "role", `"key"`)
		for _, m := range s.Book().Records(kinds.Meter) {
			warmer := 0.0
			if m.Text("name") == "old" {
				warmer = 8
			}
			s.Add(kinds.Reading, "setUp", stage.Ref(in), "measured", stage.CctDuv(1e6/(1e6/5600+warmer), 0), "takenAt", stage.Stamp(3),
				"of", fmt.Sprintf(`{"as":"light","light":%s}`, stage.Ref(lamp)), "meter", stage.Ref(m.ID), "purpose", `"meterCompare"`)
		}
		l := lightNow(t, s, "window", 42)
		if got := strings.Contains(l.DriftSinceFirst.Words, "two meters differ by: 8"); got != c.counted {
			t.Errorf("compared on %s: got %q, want it counted: %v", c.date, l.DriftSinceFirst.Words, c.counted)
		}
	}
}

// The white was read by another meter than the light: both floors count.
func TestALightAgainstAWhiteByAnotherMeterCarriesBothFloors(t *testing.T) {
	s := stage.New(t)
	hand := s.Add(kinds.Meter, "name", `"hand"`, "meterKind", `"spectrometer"`)
	old := s.Add(kinds.Meter, "name", `"old"`, "meterKind", `"threeSensor"`)
	white := s.Read(s.Key, stage.OnLocus5600, "meter", stage.Ref(hand))
	s.Minute(3)
	s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "appliesFrom", `{"as":"time","at":`+stage.Stamp(3)+`}`,
		"from", fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, stage.Ref(white)))
	fill := s.Light("panel right", "fill", "rigged/on", "true")
	s.Read(fill, stage.CctDuv(5200, 0), "meter", stage.Ref(old))
	d := stage.DeviationOf(t, s.Deviations(s.SetUp, 5), deviation.LightOffReference)
	if !strings.Contains(d.Words, "by another meter, and the two tell ±") || !strings.Contains(d.Words, "never compared") {
		t.Errorf("got %q", d.Words)
	}
}
