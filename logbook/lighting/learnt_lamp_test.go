package lighting_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/stage"
)

func TestALampsDialErrorIsLearntFromItsReadings(t *testing.T) {
	s := stage.New(t)
	lamp, light := s.Tile("5600")
	s.Read(light, stage.CctDuv(1e6/(1e6/5600+6), 0.002))
	s.Minute(5)
	s.Set(light, "rigged/dialKelvin", "3200")
	s.Minute(6)
	s.Read(light, stage.CctDuv(1e6/(1e6/3200+10), 0.004))
	wrong := s.Read(light, stage.CctDuv(9000, 0))
	s.Set(wrong, "struckOut", `{"reason":"typed wrong"}`)
	gel := s.Add(kinds.Gel, "name", `"half CTB"`, "gelKind", `"cool"`)
	s.Read(light, stage.CctDuv(4500, 0), "throughGel", stage.Ref(gel))
	// Another set-up, the same lamp: learnt by the lamp, not by the light.
	other := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`)
	again := s.Add(kinds.Light, "setUp", stage.Ref(other), "name", `"tile"`, "role", `"key"`,
		"lamp", stage.Ref(lamp), "rigged/dialKelvin", "3200", "rigged/on", "true")
	s.Minute(20)
	s.Add(kinds.Reading, "setUp", stage.Ref(other), "measured", stage.CctDuv(1e6/(1e6/3200+14), 0.002),
		"takenAt", stage.Stamp(20), "of", fmt.Sprintf(`{"as":"light","light":%s}`, stage.Ref(again)))
	got, err := lighting.LearntOfLamp(s.Book(), lamp, stage.Minute(50))
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Positions) != 2 || got.Positions[0].DialKelvin != 3200 || got.Error == nil || got.Error.Count != 3 {
		t.Fatalf("got %+v, want three readings on 3200 and 5600 K", got)
	}
	// Means of +10 and +14, and of all three; √((6−10)² + 0 + (14−10)²)/2) = 4.
	low, high := got.Positions[0].Learnt, got.Positions[1].Learnt
	stage.Near(t, "at 3200 K", low.Mired, 12, 0)
	stage.Near(t, "at 5600 K", high.Mired, 6, 0)
	stage.Near(t, "Duv at 3200 K", low.Duv, 0.003, 0)
	stage.Near(t, "error", got.Error.Mired, 10, 0)
	stage.Near(t, "spread", got.Error.SpreadMired, 4, 0.05)
	stage.Near(t, "age", got.Error.AgeMinutes, 30, 0)
	// One reading spreads by its meter's floor of 0.004 in x and y, some mired.
	if high.Count != 1 || !(high.SpreadMired > 3 && high.SpreadMired < 20) {
		t.Errorf("one reading: got %+v, want the spread of its meter", high)
	}
	// (12 − 6) mired more over 133.9 on the dial.
	stage.Near(t, "moves", *got.MovesMired, 1.04, 0.005)
	if !strings.Contains(got.Words, "10 mired warmer than its dial says") {
		t.Errorf("got %q", got.Words)
	}
}

func TestALampThatIsDimmedWarmerTeachesAtFullLevelOnly(t *testing.T) {
	s := stage.New(t)
	lamp, light := s.Tile("3200")
	s.Set(lamp, "dimsWarmer", `"yes"`)
	s.Set(light, "rigged/levelPercent", "50")
	s.Minute(4)
	s.Read(light, stage.CctDuv(2900, 0))
	got, err := lighting.LearntOfLamp(s.Book(), lamp, stage.Minute(50))
	if err != nil || got.Error != nil || !strings.Contains(got.Words, "nothing was learnt") {
		t.Errorf("got %+v (%v), want nothing from a dimmed lamp", got, err)
	}
}

func TestPlanTakesALampAsOtherSetUpsShowedIt(t *testing.T) {
	s := stage.New(t)
	lamp, light := s.Tile("4000")
	s.Read(light, stage.CctDuv(1e6/(250+10), 0))
	other := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`)
	for i, dial := range []float64{3200, 5600} {
		l := s.Add(kinds.Light, "setUp", stage.Ref(other), "name", fmt.Sprintf(`"tile %d"`, i), "role", `"key"`,
			"lamp", stage.Ref(lamp), "rigged/dialKelvin", fmt.Sprint(dial), "rigged/on", "true")
		// The light does 0.9 mired for each on the dial.
		s.Add(kinds.Reading, "setUp", stage.Ref(other), "measured", stage.CctDuv(1e6/(260+0.9*(1e6/dial-250)), 0),
			"takenAt", stage.Stamp(3), "of", fmt.Sprintf(`{"as":"light","light":%s}`, stage.Ref(l)))
	}
	_, lights := stage.PlanOf(t, s)
	l := lights["tile"]
	// 260 − 178.6 = 81.4 mired, /0.9 = 90.5 on the dial: 159.5, between 6250 (160.0) and 6300 (158.7).
	stage.Near(t, "dial", *l.DialKelvin, 6250, 0)
	stage.Near(t, "residual", *l.Residual.Mired, 0, 0)
	if l.CheckWithMeter || !strings.Contains(l.DialLearnt, "0.90 mired") {
		t.Errorf("got %+v, want what the other set-up taught", l)
	}
}
