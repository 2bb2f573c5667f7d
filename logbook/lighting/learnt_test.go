package lighting_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
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
	again := s.Add(kinds.Light, "setUp", stage.Ref(other), "name", `"tile"`, "role", `"key"`, "lamp", stage.Ref(lamp), "rigged/dialKelvin", "3200", "rigged/on", "true")
	s.Minute(20)
	s.Add(kinds.Reading, "setUp", stage.Ref(other), "measured", stage.CctDuv(1e6/(1e6/3200+14), 0.002), "takenAt", stage.Stamp(20), "of", fmt.Sprintf(`{"as":"light","light":%s}`, stage.Ref(again)))
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
		l := s.Add(kinds.Light, "setUp", stage.Ref(other), "name", fmt.Sprintf(`"tile %d"`, i), "role", `"key"`, "lamp", stage.Ref(lamp), "rigged/dialKelvin", fmt.Sprint(dial), "rigged/on", "true")
		// The light does 0.9 mired for each on the dial.
		s.Add(kinds.Reading, "setUp", stage.Ref(other), "measured", stage.CctDuv(1e6/(260+0.9*(1e6/dial-250)), 0), "takenAt", stage.Stamp(3), "of", fmt.Sprintf(`{"as":"light","light":%s}`, stage.Ref(l)))
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

func TestAGelIsLearntFromReadingsWithoutAndWith(t *testing.T) {
	s := stage.New(t)
	light := s.Fresnel("fresnel", "key")
	gel := s.Add(kinds.Gel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "2")
	s.Minute(5)
	s.Set(light, "rigged/gels", "["+stage.Ref(gel)+"]")
	s.Minute(6)
	s.Read(light, stage.CctDuv(1e6/(312.5-116), 0.002), "illuminance", `{"value":100,"unit":"lux"}`)
	b := s.Book()
	got, err := lighting.LearntOfGel(b, gel, stage.Minute(16))
	if err != nil || len(got.Families) != 1 {
		t.Fatalf("got %+v (%v), want one family", got, err)
	}
	f := got.Families[0]
	if f.LampFamily != "incandescent" || f.Learnt.Count != 1 || len(f.Learnt.Readings) != 2 || got.Printed == nil || got.Printed.From != "nominal" {
		t.Errorf("got %+v, printed %+v", f, got.Printed)
	}
	stage.Near(t, "shift", f.Learnt.Mired, -116, 0)
	stage.Near(t, "Duv", f.Learnt.Duv, 0.002, 0)
	stage.Near(t, "stops", *f.LossStops, 2, 0)
	stage.Near(t, "age", f.Learnt.AgeMinutes, 10, 0)
	stage.Near(t, "printed", got.Printed.ShiftMired, -131, 0)
	t.Run("and a plan counts with it first", func(t *testing.T) {
		s.Minute(20)
		s.Fresnel("another", "key")
		_, lights := stage.PlanOf(t, s)
		l := lights["another"]
		if len(l.GelUses) != 1 || l.GelUses[0].From != "measured" || l.CheckWithMeter {
			t.Fatalf("got %+v, want the measured gel and no check", l)
		}
		// 312.5 − 116 − 178.6 = +18: outside 10, and said so.
		stage.Near(t, "residual", *l.Residual.Mired, 18, 0)
		stage.Near(t, "counted", l.GelUses[0].ShiftMired, -116, 0)
	})
	t.Run("and a family on which it was not measured gets the printed values", func(t *testing.T) {
		led := s.Add(kinds.Lamp, "name", `"tungsten LED"`, "family", `"whiteLed"`)
		panel := s.Light("LED", "key", "lamp", stage.Ref(led), "rigged/on", "true")
		s.Read(panel, stage.OnLocus3200)
		_, lights := stage.PlanOf(t, s)
		if l := lights["LED"]; len(l.GelUses) != 1 || l.GelUses[0].From != "nominal" || !l.CheckWithMeter {
			t.Errorf("got %+v, want the nominal gel, to be checked", l)
		}
	})
}

// The second reading differs in something else as well, or comes too late.
func TestNoGelIsLearntFromReadingsThatDifferOtherwise(t *testing.T) {
	for name, change := range map[string]func(s *stage.Stage, light, gel logbook.ID){
		"another level": func(s *stage.Stage, light, gel logbook.ID) { s.Set(light, "rigged/levelPercent", "50") },
		"a second gel": func(s *stage.Stage, light, gel logbook.ID) {
			s.Set(light, "rigged/gels", "["+stage.Ref(gel)+","+stage.Ref(gel)+"]")
		},
		"more than an hour on":    func(s *stage.Stage, light, gel logbook.ID) { s.Minute(70) },
		"no gel, but diffusion":   func(s *stage.Stage, light, gel logbook.ID) { s.Set(gel, "gelKind", `"diffusion"`) },
		"a lamp nobody has named": func(s *stage.Stage, light, gel logbook.ID) { s.Set(light, "lamp", "null") },
	} {
		t.Run(name, func(t *testing.T) {
			s := stage.New(t)
			light := s.Fresnel("fresnel", "key")
			gel := s.Add(kinds.Gel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "2")
			s.Minute(5)
			s.Set(light, "rigged/gels", "["+stage.Ref(gel)+"]")
			s.Minute(6)
			change(s, light, gel)
			s.Read(light, stage.CctDuv(1e6/(312.5-116), 0))
			got, err := lighting.LearntOfGel(s.Book(), gel, s.Clock)
			if err != nil || len(got.Families) != 0 {
				t.Errorf("got %+v (%v), want nothing learnt", got.Families, err)
			}
		})
	}
}

func TestTwoMetersAreComparedOnTheSameLight(t *testing.T) {
	s := stage.New(t)
	hand := s.Add(kinds.Meter, "name", `"hand"`, "meterKind", `"spectrometer"`)
	old := s.Add(kinds.Meter, "name", `"old"`, "meterKind", `"threeSensor"`)
	s.Minute(10)
	pair := func(by, duv float64, more ...string) {
		s.Read(s.Key, stage.OnLocus5600, append([]string{"meter", stage.Ref(hand), "illuminance", `{"value":800,"unit":"lux"}`, "purpose", `"meterCompare"`}, more...)...)
		s.Read(s.Key, stage.CctDuv(1e6/(1e6/5600+by), duv), append([]string{"meter", stage.Ref(old), "illuminance", `{"value":1000,"unit":"lux"}`, "purpose", `"meterCompare"`}, more...)...)
	}
	pair(3, 0.001)
	s.Minute(30)
	pair(5, 0.003)
	s.Minute(60)
	s.Read(s.Key, stage.OnLocus5600, "meter", stage.Ref(hand))
	s.Minute(75) // a quarter of an hour later: not the same light
	s.Read(s.Key, stage.CctDuv(4000, 0), "meter", stage.Ref(old))
	got, err := lighting.LearntOfMeter(s.Book(), hand, stage.Minute(90))
	if err != nil || len(got.Others) != 1 {
		t.Fatalf("got %+v (%v), want one other meter", got, err)
	}
	o := got.Others[0]
	// The hand meter says 3 and 5 mired cooler than the old one, which is 4 ± 1.4.
	stage.Near(t, "difference", o.Learnt.Mired, -4, 0)
	stage.Near(t, "Duv", o.Learnt.Duv, -0.002, 0)
	stage.Near(t, "spread", o.Learnt.SpreadMired, 1.4, 0.05)
	stage.Near(t, "illuminance", *o.Illuminance, 0.8, 0)
	if o.Meter != old || o.Learnt.Count != 2 || len(o.Learnt.Readings) != 4 {
		t.Errorf("got %+v", o)
	}
	back, err := lighting.LearntOfMeter(s.Book(), old, stage.Minute(90))
	if err != nil || len(back.Others) != 1 || back.Others[0].Learnt.Mired != 4 {
		t.Errorf("the other way round: got %+v (%v), want +4", back, err)
	}
}

func TestWhatIsLearntOfNothing(t *testing.T) {
	s := stage.New(t)
	b := s.Book()
	for what, err := range map[string]error{
		"a lamp":  second(lighting.LearntOfLamp(b, s.Key, s.Clock)),
		"a gel":   second(lighting.LearntOfGel(b, s.Key, s.Clock)),
		"a meter": second(lighting.LearntOfMeter(b, s.Key, s.Clock)),
	} {
		if !errors.Is(err, logbook.ErrNoRecord) {
			t.Errorf("%s that is none: got %v, want ErrNoRecord", what, err)
		}
	}
}

func second[T any](_ T, err error) error { return err }
