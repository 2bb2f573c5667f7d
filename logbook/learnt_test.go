package logbook

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

func TestALampsDialErrorIsLearntFromItsReadings(t *testing.T) {
	s := newStage(t)
	lamp, light := s.tile("5600")
	s.read(light, cctDuv(1e6/(1e6/5600+6), 0.002))
	s.minute(5)
	s.set(light, "rigged/dialKelvin", "3200")
	s.minute(6)
	s.read(light, cctDuv(1e6/(1e6/3200+10), 0.004))
	wrong := s.read(light, cctDuv(9000, 0))
	s.set(wrong, "struckOut", `{"reason":"typed wrong"}`)
	gel := s.add(KindGel, "name", `"half CTB"`, "gelKind", `"cool"`)
	s.read(light, cctDuv(4500, 0), "throughGel", ref(gel))
	// Another set-up, the same lamp: learnt by the lamp, not by the light.
	other := s.add(KindSetUp, "day", ref(s.day), "name", `"B"`)
	again := s.add(KindLight, "setUp", ref(other), "name", `"tile"`, "role", `"key"`, "lamp", ref(lamp), "rigged/dialKelvin", "3200", "rigged/on", "true")
	s.minute(20)
	s.add(KindReading, "setUp", ref(other), "measured", cctDuv(1e6/(1e6/3200+14), 0.002), "takenAt", stamp(20), "of", fmt.Sprintf(`{"as":"light","light":%s}`, ref(again)))
	got, err := LearntOfLamp(s.book(), lamp, minute(50))
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Positions) != 2 || got.Positions[0].DialKelvin != 3200 || got.Error == nil || got.Error.Count != 3 {
		t.Fatalf("got %+v, want three readings on 3200 and 5600 K", got)
	}
	// Means of +10 and +14, and of all three; √((6−10)² + 0 + (14−10)²)/2) = 4.
	low, high := got.Positions[0].Learnt, got.Positions[1].Learnt
	near(t, "at 3200 K", low.Mired, 12, 0)
	near(t, "at 5600 K", high.Mired, 6, 0)
	near(t, "Duv at 3200 K", low.Duv, 0.003, 0)
	near(t, "error", got.Error.Mired, 10, 0)
	near(t, "spread", got.Error.SpreadMired, 4, 0.05)
	near(t, "age", got.Error.AgeMinutes, 30, 0)
	// One reading spreads by its meter's floor of 0.004 in x and y, some mired.
	if high.Count != 1 || !(high.SpreadMired > 3 && high.SpreadMired < 20) {
		t.Errorf("one reading: got %+v, want the spread of its meter", high)
	}
	// (12 − 6) mired more over 133.9 on the dial.
	near(t, "moves", *got.MovesMired, 1.04, 0.005)
	if !strings.Contains(got.Words, "10 mired warmer than its dial says") {
		t.Errorf("got %q", got.Words)
	}
}

func TestALampThatIsDimmedWarmerTeachesAtFullLevelOnly(t *testing.T) {
	s := newStage(t)
	lamp, light := s.tile("3200")
	s.set(lamp, "dimsWarmer", `"yes"`)
	s.set(light, "rigged/levelPercent", "50")
	s.minute(4)
	s.read(light, cctDuv(2900, 0))
	got, err := LearntOfLamp(s.book(), lamp, minute(50))
	if err != nil || got.Error != nil || !strings.Contains(got.Words, "nothing was learnt") {
		t.Errorf("got %+v (%v), want nothing from a dimmed lamp", got, err)
	}
}

func TestPlanTakesALampAsOtherSetUpsShowedIt(t *testing.T) {
	s := newStage(t)
	lamp, light := s.tile("4000")
	s.read(light, cctDuv(1e6/(250+10), 0))
	other := s.add(KindSetUp, "day", ref(s.day), "name", `"B"`)
	for i, dial := range []float64{3200, 5600} {
		l := s.add(KindLight, "setUp", ref(other), "name", fmt.Sprintf(`"tile %d"`, i), "role", `"key"`, "lamp", ref(lamp), "rigged/dialKelvin", fmt.Sprint(dial), "rigged/on", "true")
		// The light does 0.9 mired for each on the dial.
		s.add(KindReading, "setUp", ref(other), "measured", cctDuv(1e6/(260+0.9*(1e6/dial-250)), 0), "takenAt", stamp(3), "of", fmt.Sprintf(`{"as":"light","light":%s}`, ref(l)))
	}
	_, lights := planOf(t, s)
	l := lights["tile"]
	// 260 − 178.6 = 81.4 mired, /0.9 = 90.5 on the dial: 159.5, between 6250 (160.0) and 6300 (158.7).
	near(t, "dial", *l.DialKelvin, 6250, 0)
	near(t, "residual", *l.Residual.Mired, 0, 0)
	if l.CheckWithMeter || !strings.Contains(l.DialLearnt, "0.90 mired") {
		t.Errorf("got %+v, want what the other set-up taught", l)
	}
}

func TestAGelIsLearntFromReadingsWithoutAndWith(t *testing.T) {
	s := newStage(t)
	light := s.fresnel("fresnel", "key")
	gel := s.add(KindGel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "2")
	s.minute(5)
	s.set(light, "rigged/gels", "["+ref(gel)+"]")
	s.minute(6)
	s.read(light, cctDuv(1e6/(312.5-116), 0.002), "illuminance", `{"value":100,"unit":"lux"}`)
	b := s.book()
	got, err := LearntOfGel(b, gel, minute(16))
	if err != nil || len(got.Families) != 1 {
		t.Fatalf("got %+v (%v), want one family", got, err)
	}
	f := got.Families[0]
	if f.LampFamily != "incandescent" || f.Learnt.Count != 1 || len(f.Learnt.Readings) != 2 || got.Printed == nil || got.Printed.From != "nominal" {
		t.Errorf("got %+v, printed %+v", f, got.Printed)
	}
	near(t, "shift", f.Learnt.Mired, -116, 0)
	near(t, "Duv", f.Learnt.Duv, 0.002, 0)
	near(t, "stops", *f.LossStops, 2, 0)
	near(t, "age", f.Learnt.AgeMinutes, 10, 0)
	near(t, "printed", got.Printed.ShiftMired, -131, 0)
	t.Run("and a plan counts with it first", func(t *testing.T) {
		s.minute(20)
		s.fresnel("another", "key")
		_, lights := planOf(t, s)
		l := lights["another"]
		if len(l.GelUses) != 1 || l.GelUses[0].From != "measured" || l.CheckWithMeter {
			t.Fatalf("got %+v, want the measured gel and no check", l)
		}
		// 312.5 − 116 − 178.6 = +18: outside 10, and told so.
		near(t, "residual", *l.Residual.Mired, 18, 0)
		near(t, "counted", l.GelUses[0].ShiftMired, -116, 0)
	})
	t.Run("and a family on which it was not measured gets the printed values", func(t *testing.T) {
		led := s.add(KindLamp, "name", `"tungsten LED"`, "family", `"whiteLed"`)
		panel := s.light("LED", "key", "lamp", ref(led), "rigged/on", "true")
		s.read(panel, onLocus3200)
		_, lights := planOf(t, s)
		if l := lights["LED"]; len(l.GelUses) != 1 || l.GelUses[0].From != "nominal" || !l.CheckWithMeter {
			t.Errorf("got %+v, want the nominal gel, to be checked", l)
		}
	})
}

// The second reading differs in something else as well, or comes too late.
func TestNoGelIsLearntFromReadingsThatDifferOtherwise(t *testing.T) {
	for name, change := range map[string]func(s *stage, light, gel ID){
		"another level":           func(s *stage, light, gel ID) { s.set(light, "rigged/levelPercent", "50") },
		"a second gel":            func(s *stage, light, gel ID) { s.set(light, "rigged/gels", "["+ref(gel)+","+ref(gel)+"]") },
		"more than an hour on":    func(s *stage, light, gel ID) { s.minute(70) },
		"no gel, but diffusion":   func(s *stage, light, gel ID) { s.set(gel, "gelKind", `"diffusion"`) },
		"a lamp nobody has named": func(s *stage, light, gel ID) { s.set(light, "lamp", "null") },
	} {
		t.Run(name, func(t *testing.T) {
			s := newStage(t)
			light := s.fresnel("fresnel", "key")
			gel := s.add(KindGel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "2")
			s.minute(5)
			s.set(light, "rigged/gels", "["+ref(gel)+"]")
			s.minute(6)
			change(s, light, gel)
			s.read(light, cctDuv(1e6/(312.5-116), 0))
			got, err := LearntOfGel(s.book(), gel, s.clock)
			if err != nil || len(got.Families) != 0 {
				t.Errorf("got %+v (%v), want nothing learnt", got.Families, err)
			}
		})
	}
}

func TestTwoMetersAreComparedOnTheSameLight(t *testing.T) {
	s := newStage(t)
	hand := s.add(KindMeter, "name", `"hand"`, "meterKind", `"spectrometer"`)
	old := s.add(KindMeter, "name", `"old"`, "meterKind", `"threeSensor"`)
	s.minute(10)
	pair := func(by, duv float64, more ...string) {
		s.read(s.key, onLocus5600, append([]string{"meter", ref(hand), "illuminance", `{"value":800,"unit":"lux"}`, "purpose", `"meterCompare"`}, more...)...)
		s.read(s.key, cctDuv(1e6/(1e6/5600+by), duv), append([]string{"meter", ref(old), "illuminance", `{"value":1000,"unit":"lux"}`, "purpose", `"meterCompare"`}, more...)...)
	}
	pair(3, 0.001)
	s.minute(30)
	pair(5, 0.003)
	s.minute(60)
	s.read(s.key, onLocus5600, "meter", ref(hand))
	s.minute(75) // a quarter of an hour later: not the same light
	s.read(s.key, cctDuv(4000, 0), "meter", ref(old))
	got, err := LearntOfMeter(s.book(), hand, minute(90))
	if err != nil || len(got.Others) != 1 {
		t.Fatalf("got %+v (%v), want one other meter", got, err)
	}
	o := got.Others[0]
	// The hand meter says 3 and 5 mired cooler than the old one, which is 4 ± 1.4.
	near(t, "difference", o.Learnt.Mired, -4, 0)
	near(t, "Duv", o.Learnt.Duv, -0.002, 0)
	near(t, "spread", o.Learnt.SpreadMired, 1.4, 0.05)
	near(t, "illuminance", *o.Illuminance, 0.8, 0)
	if o.Meter != old || o.Learnt.Count != 2 || len(o.Learnt.Readings) != 4 {
		t.Errorf("got %+v", o)
	}
	back, err := LearntOfMeter(s.book(), old, minute(90))
	if err != nil || len(back.Others) != 1 || back.Others[0].Learnt.Mired != 4 {
		t.Errorf("the other way round: got %+v (%v), want +4", back, err)
	}
}

func TestWhatIsLearntOfNothing(t *testing.T) {
	s := newStage(t)
	b := s.book()
	for what, err := range map[string]error{
		"a lamp":  second(LearntOfLamp(b, s.key, s.clock)),
		"a gel":   second(LearntOfGel(b, s.key, s.clock)),
		"a meter": second(LearntOfMeter(b, s.key, s.clock)),
	} {
		if !errors.Is(err, ErrNoRecord) {
			t.Errorf("%s that is none: got %v, want ErrNoRecord", what, err)
		}
	}
}

func second[T any](_ T, err error) error { return err }
