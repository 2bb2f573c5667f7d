package colorimetry

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Three invented bodies: tint in either direction, coarse steps, presets only.
var (
	stepped = Dials{
		Kelvin: KelvinDial{Ranges: []KelvinRange{{2500, 5000, 50}, {5000, 10000, 100}}, List: []Kelvin{12000}},
		Tint:   TintDial{-10, 10, 0.5, 0.001, true},
		Fine:   FineAxis{-9, 9, 1, 5, true},
	}
	coarse = Dials{
		Kelvin:      KelvinDial{Ranges: []KelvinRange{{2500, 10000, 100}}},
		Tint:        TintDial{-99, 99, 1, 0, false},
		ZeroUnknown: true,
	}
	presetsOnly = Dials{Presets: []Preset{{"tungsten", 3200, 0}, {"daylight", 5600, 0.003}, {"shade", 7500, 0.003}}}
)

func TestWhiteOfASetting(t *testing.T) {
	for _, c := range []struct {
		name  string
		dials Dials
		s     Setting
		want  CCTDuv
	}{
		{"a kelvin value is that black body", stepped, Setting{Kelvin: 3200}, CCTDuv{3200, 0}},
		{"tint towards green lowers the white's Duv", stepped, Setting{Kelvin: 3200, Tint: 3}, CCTDuv{3200, -0.003}},
		{"amber lowers the white's mireds", stepped, Setting{Kelvin: 5000, Fine: 2}, CCTDuv{1e6 / 190.0, 0}},
		{"a preset has its own Duv", presetsOnly, Setting{Preset: "daylight"}, CCTDuv{5600, 0.003}},
		{"a value on the list", stepped, Setting{Kelvin: 12000}, CCTDuv{12000, 0}},
		{"an unknown zero is the black body", coarse, Setting{Kelvin: 5600}, CCTDuv{5600, 0}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := c.dials.White(c.s)
			if err != nil {
				t.Fatal(err)
			}
			if !within(float64(got.CCT), float64(c.want.CCT), 1e-9) || !within(float64(got.Duv), float64(c.want.Duv), 1e-15) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

func TestTintTowardsMagentaRaisesDuvWhicheverWayIsPlus(t *testing.T) {
	for _, plusIsGreen := range []bool{true, false} {
		d := stepped
		d.Tint.PlusIsGreen = plusIsGreen
		magenta := 5.0
		if plusIsGreen {
			magenta = -5
		}
		white, err := d.White(Setting{Kelvin: 4300, Tint: magenta})
		if err != nil {
			t.Fatal(err)
		}
		if !within(float64(white.Duv), 0.005, 1e-15) {
			t.Errorf("plus is green %v: got Duv %v, want 0.005", plusIsGreen, white.Duv)
		}
		difference := PictureDifference(white, CCTDuv{4300, 0})
		if difference.Duv >= 0 {
			t.Errorf("plus is green %v: got a picture %v greener, want more magenta", plusIsGreen, difference.Duv)
		}
	}
}

func TestTintZeroLiesOnTheDaylightLocus(t *testing.T) {
	for _, c := range []struct {
		name   string
		locus  Locus
		kelvin Kelvin
		duv    [2]float64
	}{
		{"daylight at 5600", Daylight, 5600, [2]float64{0.003, 0.0034}},
		{"daylight goes on below 4000 K", Daylight, 2500, [2]float64{0.002, 0.0034}},
		{"a blend is daylight at 5600", Blend, 5600, [2]float64{0.003, 0.0034}},
		{"a blend is black body at 3200", Blend, 3200, [2]float64{-1e-9, 1e-9}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := stepped
			d.ZeroLocus = c.locus
			d.Kelvin.Ranges = append(d.Kelvin.Ranges, KelvinRange{5600, 5600, 1})
			got, err := d.White(Setting{Kelvin: c.kelvin})
			if err != nil {
				t.Fatal(err)
			}
			if v := float64(got.Duv); !(v >= c.duv[0] && v <= c.duv[1]) || !within(float64(got.CCT), float64(c.kelvin), 10) {
				t.Errorf("got %v, want about %v K and a Duv of %v", got, c.kelvin, c.duv)
			}
		})
	}
}

func TestHasNamesWhatIsAllowed(t *testing.T) {
	for _, c := range []struct {
		name  string
		dials Dials
		s     Setting
		says  []string
	}{
		{"between two steps", coarse, Setting{Kelvin: 5650}, []string{"5650", "2500 to 10000 in steps of 100"}},
		{"above the dial", coarse, Setting{Kelvin: 10100}, []string{"10100", "2500 to 10000"}},
		{"beside several ranges and a list", stepped, Setting{Kelvin: 5050}, []string{"2500 to 5000 in steps of 50, 5000 to 10000 in steps of 100, 12000"}},
		{"a tint between two steps", stepped, Setting{Kelvin: 5600, Tint: 0.25}, []string{"tint is 0.25", "-10 to 10 in steps of 0.5"}},
		{"a tint on a body without", presetsOnly, Setting{Preset: "shade", Tint: 1}, []string{"tint is 1", "no such dial"}},
		{"a fine step beyond", stepped, Setting{Kelvin: 5600, Fine: 10}, []string{"amber–blue is 10", "-9 to 9"}},
		{"a preset of another body", presetsOnly, Setting{Preset: "cloudy"}, []string{`"cloudy"`, "tungsten, daylight, shade"}},
		{"a preset on a body without", coarse, Setting{Preset: "cloudy"}, []string{`"cloudy"`, "none"}},
		{"kelvin on presets only", presetsOnly, Setting{Kelvin: 5600}, []string{"5600", "presets only: tungsten, daylight, shade"}},
		{"a preset with another kelvin", presetsOnly, Setting{Preset: "shade", Kelvin: 5600}, []string{"5600", "7500"}},
		{"not a number", stepped, Setting{Kelvin: Kelvin(math.NaN())}, []string{"NaN"}},
		{"an infinite tint", stepped, Setting{Kelvin: 5600, Tint: math.Inf(1)}, []string{"+Inf"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := c.dials.Has(c.s)
			if !errors.Is(err, ErrDomain) {
				t.Fatalf("got %v, want ErrDomain", err)
			}
			for _, words := range c.says {
				if !strings.Contains(err.Error(), words) {
					t.Errorf("got %q, want it to say %q", err, words)
				}
			}
		})
	}
}

func TestATintOfUnknownSizeExistsButHasNoWhite(t *testing.T) {
	s := Setting{Kelvin: 5600, Tint: 12}
	if err := coarse.Has(s); err != nil {
		t.Errorf("got %v, want nil", err)
	}
	if got, err := coarse.White(s); !errors.Is(err, ErrDomain) {
		t.Errorf("got %v and %v, want ErrDomain", got, err)
	}
}

func TestNearestOnEveryKindOfBody(t *testing.T) {
	for _, c := range []struct {
		name  string
		dials Dials
		aim   CCTDuv
		want  Setting
		check func(Choice) bool
	}{
		{"an exact setting leaves nothing", stepped, CCTDuv{4300, -0.002}, Setting{Kelvin: 4300, Tint: 2}, func(c Choice) bool { return c.Steps < 1e-6 && c.DeltaE < 1e-6 }},
		{"a coarse dial takes the nearer by mired", coarse, CCTDuv{2540, 0}, Setting{Kelvin: 2500}, func(c Choice) bool { return c.Residual.Mired < -6 && c.Residual.Mired > -7 }},
		{"an unknown unit stays at 0 and says so", coarse, CCTDuv{5600, 0.001}, Setting{Kelvin: 5600}, func(c Choice) bool { return c.TintUnknown && c.ZeroAssumed && c.Setting.Tint == 0 }},
		{"presets only take the nearest preset", presetsOnly, CCTDuv{5200, 0.003}, Setting{Preset: "daylight"}, func(c Choice) bool { return c.Residual.Mired > 0 && !c.ZeroAssumed }},
		{"below the dial stays at its end", coarse, CCTDuv{2100, 0}, Setting{Kelvin: 2500}, func(c Choice) bool { return c.Residual.Mired > 70 }},
		{"above the dial stays at its end", coarse, CCTDuv{20000, 0}, Setting{Kelvin: 10000}, func(c Choice) bool { return c.Residual.Mired < -40 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			best, second, err := c.dials.Nearest(c.aim, mustXY(t, float64(c.aim.CCT), float64(c.aim.Duv)), Cast{})
			if err != nil {
				t.Fatal(err)
			}
			if best.Setting != c.want || !c.check(best) {
				t.Errorf("got %+v, want %+v", best, c.want)
			}
			if second.Steps < best.Steps || second.White == best.White {
				t.Errorf("second: got %+v after %+v", second, best)
			}
		})
	}
}

func TestNearestMakesUpForTheCameraError(t *testing.T) {
	// The body's white lies 15 mired above its label and is greener by 0.002.
	cameraError := Cast{15, 0.002}
	best, _, err := stepped.Nearest(CCTDuv{4000, 0}, mustXY(t, 4000, 0), cameraError)
	if err != nil {
		t.Fatal(err)
	}
	label, err := stepped.White(best.Setting)
	if err != nil {
		t.Fatal(err)
	}
	if got := float64(label.Mired()); !within(got, 250-15, 2.5) || !within(float64(label.Duv), -0.002, 0.0005) {
		t.Errorf("got a label of %v mired and Duv %v, want about 235 and -0.002", got, label.Duv)
	}
	if !within(float64(best.White.Mired()), 250, 2.5) {
		t.Errorf("got a white of %v mired, want about 250", best.White.Mired())
	}
}

func TestResidualDescribesThePicture(t *testing.T) {
	best, _, err := presetsOnly.Nearest(CCTDuv{3000, 0}, mustXY(t, 3000, 0), Cast{})
	if err != nil {
		t.Fatal(err)
	}
	p := mustPicture(t, mustXY(t, 3000, 0), mustXY(t, float64(best.White.CCT), float64(best.White.Duv)))
	// 3200 on the dial under 3000 K is warm: at 333 − 312.5 mired.
	if s := Preview(p); !within(float64(best.Residual.Mired), 20.83, 0.01) || s.R <= s.B {
		t.Errorf("got a residual of %v and %+v, want 20.8 mired warmer", best.Residual, s)
	}
	if !within(best.Steps, StepsFromNeutral(p), 1e-6) {
		t.Errorf("got %v steps, want %v", best.Steps, StepsFromNeutral(p))
	}
}

func TestDialsRefuseTheImpossible(t *testing.T) {
	kelvin := KelvinDial{List: []Kelvin{5600}}
	for name, d := range map[string]Dials{
		"no way to set white":       {},
		"a range upside down":       {Kelvin: KelvinDial{Ranges: []KelvinRange{{5600, 3200, 100}}}},
		"a step of 0":               {Kelvin: KelvinDial{Ranges: []KelvinRange{{3200, 5600, 0}}}},
		"a step of NaN":             {Kelvin: KelvinDial{Ranges: []KelvinRange{{3200, 5600, Kelvin(math.NaN())}}}},
		"kelvin below 1000":         {Kelvin: KelvinDial{List: []Kelvin{900}}},
		"too many values":           {Kelvin: KelvinDial{Ranges: []KelvinRange{{1000, 25000, 1}, {1000, 25000, 1}}}},
		"a tint dial without a 0":   {Kelvin: kelvin, Tint: TintDial{-1, 1, 0.75, 0.001, false}},
		"a tint dial of one side":   {Kelvin: kelvin, Tint: TintDial{1, 9, 1, 0.001, false}},
		"too many tints":            {Kelvin: kelvin, Tint: TintDial{-10, 10, 0.001, 0.001, false}},
		"a negative tint unit":      {Kelvin: kelvin, Tint: TintDial{-1, 1, 1, -0.001, false}},
		"a fine axis of no unit":    {Kelvin: kelvin, Fine: FineAxis{-9, 9, 1, 0, false}},
		"a preset without a name":   {Presets: []Preset{{"", 5600, 0}}},
		"two presets of one name":   {Presets: []Preset{{"sun", 5600, 0}, {"sun", 5500, 0}}},
		"a preset beyond the locus": {Presets: []Preset{{"sun", 5600, 0.06}}},
		"an unknown locus":          {Kelvin: kelvin, ZeroLocus: 7},
	} {
		t.Run(name, func(t *testing.T) {
			if err := d.Check(); !errors.Is(err, ErrDomain) {
				t.Errorf("got %v, want ErrDomain", err)
			}
			if _, _, err := d.Nearest(CCTDuv{5600, 0}, D65, Cast{}); !errors.Is(err, ErrDomain) {
				t.Errorf("Nearest: got %v, want ErrDomain", err)
			}
		})
	}
}

func TestEverySettingOnTheDialsHasAWhiteOrSaysWhy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawDials.Draw(t, "dials")
		for _, s := range everySetting(d) {
			if err := d.Has(s); err != nil {
				t.Fatalf("%+v is on the dials: %v", s, err)
			}
			white, err := d.White(s)
			if err == nil {
				err = white.Check()
			} else if errors.Is(err, ErrDomain) {
				continue
			}
			if err != nil {
				t.Fatalf("%+v: %v", s, err)
			}
		}
	})
}

func FuzzNearestIsAChoiceOrAnError(f *testing.F) {
	f.Add(2500.0, 10000.0, 100.0, 0.001, 5600.0, 0.0, 0.3127, 0.3290, 0.0, 0.0)
	f.Add(2500.0, 2500.0, 1.0, 0.05, 1000.0, 0.05, 0.17, 0.005, 500.0, -0.05)
	f.Fuzz(func(t *testing.T, from, to, step, unit, kelvin, duv, x, y, errorMired, errorDuv float64) {
		d := Dials{
			Kelvin: KelvinDial{Ranges: []KelvinRange{{Kelvin(from), Kelvin(to), Kelvin(step)}}},
			Tint:   TintDial{-5, 5, 1, Duv(unit), false},
		}
		if k, err := d.Kelvin.Nearest(Kelvin(kelvin)); err != nil && !errors.Is(err, ErrDomain) || err == nil && !d.Kelvin.has(k) {
			t.Fatalf("the nearest value is %v (%v)", k, err)
		}
		aim, light, off := CCTDuv{Kelvin(kelvin), Duv(duv)}, XY{x, y}, Cast{Mired(errorMired), Duv(errorDuv)}
		best, _, err := d.Nearest(aim, light, off)
		if whites, failed := d.Whites(); failed != nil && !errors.Is(failed, ErrDomain) || failed != nil && err == nil {
			t.Fatalf("got %v for the whites and %v for the nearest", failed, err)
		} else if failed == nil {
			again, _, failed := whites.Nearest(d, aim, light, off)
			if (failed == nil) != (err == nil) || err == nil && again.Setting != best.Setting {
				t.Fatalf("by whites at hand: got %+v, %v, want %+v, %v", again, failed, best, err)
			}
		}
		if err != nil {
			if !errors.Is(err, ErrDomain) {
				t.Fatal(err)
			}
			return
		}
		if err := d.Has(best.Setting); err != nil || !finite(best.Steps, best.DeltaE, float64(best.Residual.Mired), float64(best.Residual.Duv)) {
			t.Fatalf("got %+v, %v", best, err)
		}
	})
}
