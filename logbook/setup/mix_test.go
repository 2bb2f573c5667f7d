package setup_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

func mixNow(t *testing.T, s *stage.Stage, at int) setup.Mix {
	t.Helper()
	n, err := glance.Now(s.Book(), s.SetUp, stage.Minute(at))
	if err != nil || len(n.Mixes) != 1 {
		t.Fatalf("got %+v (%v), want the mix at one position", n.Mixes, err)
	}
	return n.Mixes[0]
}

// xyOf writes a colour as a reading of x y.
func xyOf(c colorimetry.XY) string { return fmt.Sprintf(`{"as":"xy","x":%.5f,"y":%.5f}`, c.X, c.Y) }

func TestAReadingOfEverythingTestsTheSum(t *testing.T) {
	sum := func(t *testing.T, lit ...colorimetry.Lit) colorimetry.Lit {
		mixed, err := colorimetry.Mix(lit)
		if err != nil {
			t.Fatal(err)
		}
		return mixed
	}
	key := colorimetry.Lit{Light: stage.TypedColor(t, stage.OnLocus5600), Lux: 800}
	bulb := colorimetry.Lit{Light: stage.TypedColor(t, stage.OnLocus3200), Lux: 800}
	t.Run("where the lights add up", func(t *testing.T) {
		s := stage.New(t)
		s.Mixed()
		s.Minute(9)
		all := sum(t, key, bulb)
		s.Together(xyOf(all.Light), 1610)
		m := mixNow(t, s, 12)
		if m.Check == nil || m.Check.Agrees == nil || !*m.Check.Agrees || m.Check.Added != nil {
			t.Fatalf("got %+v, want it to agree", m.Check)
		}
		stage.Near(t, "sum", *m.IlluminanceLux, 1600, 0)
		if got := stage.KindWords(s.Deviations(s.SetUp, 12)); strings.Contains(got, deviation.MixDisagrees) {
			t.Errorf("got %q", got)
		}
	})
	t.Run("where the room adds colour", func(t *testing.T) {
		s := stage.New(t)
		s.Mixed()
		s.Minute(9)
		wall := colorimetry.Lit{Light: colorimetry.XY{X: 0.42, Y: 0.45}, Lux: 300}
		all := sum(t, key, bulb, wall)
		reading := s.Together(xyOf(all.Light), 1900)
		m := mixNow(t, s, 12)
		if m.Check.Agrees == nil || *m.Check.Agrees || m.Check.Added == nil {
			t.Fatalf("got %+v, want it to disagree, with what was added", m.Check)
		}
		stage.Near(t, "x added", m.Check.Added.X, 0.42, 0.001)
		stage.Near(t, "y added", m.Check.Added.Y, 0.45, 0.001)
		stage.Near(t, "lux added", *m.Check.AddedLux, 300, 0.5)
		d := stage.DeviationOf(t, s.Deviations(s.SetUp, 12), deviation.MixDisagrees)
		if !strings.Contains(d.Words, "something in the room adds colour, as 300 lx") ||
			!strings.Contains(d.Words, "the meter tells ±") || d.ComparedWith.Record != reading {
			t.Errorf("got %+v", d)
		}
	})
	t.Run("where the difference drowns in the meter", func(t *testing.T) {
		s := stage.New(t)
		s.Mixed()
		coarse := s.Add(kinds.Meter, "name", `"coarse"`, "meterKind", `"other"`, "floorXY", "0.02")
		s.Minute(9)
		all := sum(t, key, bulb)
		s.Together(xyOf(colorimetry.XY{X: all.Light.X + 0.01, Y: all.Light.Y}), 1600, "meter", stage.Ref(coarse))
		m := mixNow(t, s, 12)
		if *m.Check.Agrees != true || math.Abs(*m.Check.Difference.Mired) < 9 || !(m.Check.FloorMired > 20) {
			t.Errorf("got %+v, want the floors of both meters to cover it", m.Check)
		}
	})
	t.Run("with the digits that the meters carry", func(t *testing.T) {
		s := stage.New(t)
		coarse := s.Add(kinds.Meter, "name", `"coarse"`, "meterKind", `"other"`, "floorXY", "0.01")
		s.Read(s.Key, stage.OnLocus5600, "illuminance", `{"value":800,"unit":"lux"}`, "meter", stage.Ref(coarse))
		s.Read(s.Light("bulb", "fill", "rigged/on", "true"), stage.OnLocus3200, "illuminance", `{"value":800,"unit":"lux"}`, "meter", stage.Ref(coarse))
		// 0.01 in x y is some 200 K at 4138 K: hundreds are shown, and Duv to the third.
		if m := mixNow(t, s, 12); *m.Computed.CCTKelvin != 4100 || *m.Computed.Duv != -0.003 || m.Computed.Words != "4100 K, Duv -0.003" {
			t.Errorf("got %+v, want 4100 K and -0.003", m.Computed)
		}
	})
	t.Run("with the floors of both meters", func(t *testing.T) {
		s := stage.New(t)
		fine := s.Add(kinds.Meter, "name", `"fine"`, "meterKind", `"other"`, "floorXY", "0.01")
		coarse := s.Add(kinds.Meter, "name", `"coarse"`, "meterKind", `"other"`, "floorXY", "0.02")
		finest := s.Add(kinds.Meter, "name", `"finest"`, "meterKind", `"spectrometer"`, "floorXY", "0.001")
		s.Set(s.Key, "rigged/on", "false")
		for name, meter := range map[string]logbook.ID{"a": finest, "c": finest} {
			s.Read(s.Light(name, "fill", "rigged/on", "true"), stage.OnLocus5600, "illuminance", `{"value":800,"unit":"lux"}`, "meter", stage.Ref(meter))
		}
		// The coarsest of those that read the lights alone counts.
		single := s.Read(s.Light("b", "fill", "rigged/on", "true"), stage.OnLocus5600, "illuminance", `{"value":800,"unit":"lux"}`, "meter", stage.Ref(fine))
		s.Minute(9)
		all := s.Together(stage.OnLocus5600, 2400, "meter", stage.Ref(coarse))
		sum := 0.0
		for _, id := range []logbook.ID{single, all} {
			c, err := lighting.ColorOfReading(s.Book(), id, lighting.SpectralReference{})
			if err != nil {
				t.Fatal(err)
			}
			sum += *c.FloorMired
		}
		stage.Near(t, "floor", mixNow(t, s, 12).Check.FloorMired, sum, 0)
	})
	t.Run("not where the sky was another", func(t *testing.T) {
		s := stage.New(t)
		window := s.Light("window", "fill", "rigged/on", "true")
		s.Read(window, stage.OnLocus5600, "illuminance", `{"value":800,"unit":"lux"}`, "sky", `"sun"`)
		s.Minute(9)
		s.Together(stage.OnLocus5600, 1600, "sky", `"cloud"`)
		m := mixNow(t, s, 12)
		if m.Check == nil || m.Check.Agrees != nil || !strings.Contains(m.Check.Problem, "window was read alone under another sky") {
			t.Errorf("got %+v, want it untested", m.Check)
		}
	})
	for name, change := range map[string]func(s *stage.Stage){
		"bulb: last read before its level was changed from 100 to 40": func(s *stage.Stage) { s.Set(s.OfName("bulb"), "rigged/levelPercent", "40") },
		"was read alone 3 h apart":                                    func(s *stage.Stage) { s.Minute(200) },
		"lantern: it was not measured":                                func(s *stage.Stage) { s.Light("lantern", "practical") },
	} {
		t.Run("not where "+name, func(t *testing.T) {
			s := stage.New(t)
			s.Light("bulb", "fill", "rigged/levelPercent", "100", "rigged/on", "true")
			s.Read(s.OfName("bulb"), stage.OnLocus3200, "illuminance", `{"value":800,"unit":"lux"}`)
			s.Minute(9)
			change(s)
			s.Together(stage.OnLocus5600, 1600)
			m := mixNow(t, s, 12)
			if m.Check.Agrees != nil || !strings.Contains(m.Check.Problem, name) {
				t.Errorf("got %+v, want the problem %q", m.Check, name)
			}
		})
	}
}

// Whatever two lamps and a third light nobody logged are, the check finds the third
// or says that it is too little for the meter.
func TestTheLightThatIsMissingFromTheSumIsFound(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		draw := func(name string, least, most float64) colorimetry.Lit {
			kelvin, duv := rapid.Float64Range(2500, 8000).Draw(rt, name), rapid.Float64Range(-0.01, 0.01).Draw(rt, name+" Duv")
			c := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(kelvin), Duv: colorimetry.Duv(duv)}
			xy, err := c.XY()
			if err != nil {
				rt.Fatal(err)
			}
			return typed(rt, colorimetry.Lit{Light: xy, Lux: colorimetry.Lux(rapid.Float64Range(least, most).Draw(rt, name+" lux"))})
		}
		a, b, c := draw("first", 50, 2000), draw("second", 50, 2000), draw("third", 0, 1000)
		all, err := colorimetry.Mix([]colorimetry.Lit{a, b, c})
		if err != nil {
			rt.Fatal(err)
		}
		all = typed(rt, all) // what is compared with a limit must be what is logged: at its edge a digit decides
		s := &stage.Stage{Diary: stage.NewDiary(t)}
		day := s.Add(kinds.Day, "number", "1", "date", `"2026-03-04"`)
		s.SetUp = s.Add(kinds.SetUp, "day", stage.Ref(day), "name", `"A"`)
		for i, l := range []colorimetry.Lit{a, b} {
			s.Read(s.Light(fmt.Sprint(i), "key"), fmt.Sprintf(`{"as":"xy","x":%.6f,"y":%.6f}`, l.Light.X, l.Light.Y), "illuminance", fmt.Sprintf(`{"value":%.6f,"unit":"lux"}`, float64(l.Lux)))
		}
		s.Together(fmt.Sprintf(`{"as":"xy","x":%.6f,"y":%.6f}`, all.Light.X, all.Light.Y), float64(all.Lux))
		check := mixNow(t, s, 5).Check
		if check.Agrees == nil {
			rt.Fatalf("got %+v", check)
		}
		if *check.Agrees {
			two, err := colorimetry.Mix([]colorimetry.Lit{a, b})
			if err != nil {
				rt.Fatal(err)
			}
			far := max(math.Abs(all.Light.X-two.Light.X), math.Abs(all.Light.Y-two.Light.Y))
			if _, beyond := setup.StartLimits("camera").Exceeded(figure.CastDifference(all.Light, two.Light)); beyond && far > 0.0041 {
				rt.Fatalf("got agreement at %v in x y, beyond meter and limits", far)
			}
			return
		}
		if check.Added == nil || math.Abs(check.Added.X-c.Light.X) > 0.01 || math.Abs(check.Added.Y-c.Light.Y) > 0.01 {
			rt.Fatalf("got %+v added, want %+v", check.Added, c.Light)
		}
	})
}

// typed is a light as somebody types it: x y with six decimals, and lux with the one
// that a log counts with.
func typed(t *rapid.T, l colorimetry.Lit) colorimetry.Lit {
	var v [3]float64
	for i, text := range [...]string{fmt.Sprintf("%.6f", l.Light.X), fmt.Sprintf("%.6f", l.Light.Y), fmt.Sprintf("%.1f", float64(l.Lux))} {
		var err error
		if v[i], err = strconv.ParseFloat(text, 64); err != nil {
			t.Fatal(err)
		}
	}
	return colorimetry.Lit{Light: colorimetry.XY{X: v[0], Y: v[1]}, Lux: colorimetry.Lux(v[2])}
}
