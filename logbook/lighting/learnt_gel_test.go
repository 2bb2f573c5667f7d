package lighting_test

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/stage"
)

// A gel is learnt from two readings that differ in nothing else.
func TestAGelIsLearntFromReadingsThatDifferInItAlone(t *testing.T) {
	for _, c := range []struct {
		name          string
		without, with []string // of the readings
		apart         int      // minutes
		window        bool
		learnt        bool
	}{
		{"alike", nil, nil, 5, false, true},
		{"by another meter", nil, []string{"meter", "other"}, 5, false, false},
		{"at another place", []string{"position", `"chair"`}, []string{"position", `"door"`}, 5, false, false},
		{"under another sky", []string{"sky", `"sun"`}, []string{"sky", `"cloud"`}, 5, true, false},
		{"a window after 9 minutes", []string{"sky", `"sun"`}, []string{"sky", `"sun"`}, 9, true, true},
		{"a window after 11 minutes", []string{"sky", `"sun"`}, []string{"sky", `"sun"`}, 11, true, false},
		{"a lamp after 59 minutes", nil, nil, 59, false, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			hand, other := s.Add(kinds.Meter, "name", `"hand"`, "meterKind", `"spectrometer"`), s.Add(kinds.Meter, "name", `"other"`, "meterKind", `"spectrometer"`)
			gel := s.Add(kinds.Gel, "name", `"full CTB"`, "gelKind", `"cool"`, "quantity", "1")
			light := s.Light("window", "key", "sky", `"sun"`, "rigged/on", "true")
			if !c.window {
				light = s.Light("fresnel", "key", "lamp", stage.Ref(s.Add(kinds.Lamp, "name", `"fresnel"`, "family", `"incandescent"`)), "rigged/on", "true")
			}
			read := func(measured string, more []string) {
				by := []string{"meter", stage.Ref(hand)}
				if len(more) > 0 && more[0] == "meter" {
					by, more = []string{"meter", stage.Ref(other)}, nil
				}
				s.Read(light, measured, append(by, more...)...)
			}
			s.Minute(5)
			read(stage.OnLocus3200, c.without)
			s.Minute(6)
			s.Set(light, "rigged/gels", "["+stage.Ref(gel)+"]")
			s.Minute(5 + c.apart)
			read(stage.CctDuv(1e6/(312.5-116), 0), c.with)
			got, err := lighting.LearntOfGel(s.Book(), gel, s.Clock)
			if err != nil || (len(got.Families) == 1) != c.learnt {
				t.Errorf("got %+v (%v), want it learnt: %v", got.Families, err, c.learnt)
			}
		})
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
	if f.LampFamily != "incandescent" || f.Learnt.Count != 1 || len(f.Learnt.Readings) != 2 ||
		got.Printed == nil || got.Printed.From != "nominal" {
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
		"another level": func(s *stage.Stage, light, gel logbook.ID) {
			s.Minute(5)
			s.Set(light, "rigged/levelPercent", "100")
			s.Minute(6)
			s.Set(light, "rigged/levelPercent", "50")
		},
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
