package colorimetry

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func mustGels(family GelFamily) []NominalGel {
	gels, err := NominalGels(family)
	if err != nil {
		panic(err)
	}
	return gels
}

func TestAnUnknownFamilyHasNoGels(t *testing.T) {
	for _, family := range []GelFamily{-1, 2, 9} {
		if gels, err := NominalGels(family); len(gels) > 0 || !errors.Is(err, ErrDomain) {
			t.Errorf("family %d: got %d gels (%v), want ErrDomain", family, len(gels), err)
		}
	}
}

func gelNamed(t testing.TB, family GelFamily, name string) Gel {
	t.Helper()
	for _, g := range mustGels(family) {
		if g.Name == name {
			return g.Gel
		}
	}
	t.Fatalf("no gel named %s", name)
	return Gel{}
}

func TestGelsTakeTungstenToDaylightAndBack(t *testing.T) {
	families := map[float64]GelFamily{5500: Based5500, 6500: Based6500}
	for _, row := range checkRows(t, "gels.json") {
		t.Run(row.Name, func(t *testing.T) {
			name, _, _ := strings.Cut(row.Name, ",")
			gel, light := gelNamed(t, families[row.in[0]], name), CCTDuv{Kelvin(row.in[1]), 0.001}
			got, err := Through(light, gel)
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, float64(got.CCT))
			if got.Duv != light.Duv {
				t.Errorf("Duv: got %v, want %v: a warm or cool gel has no CC", got.Duv, light.Duv)
			}
		})
	}
}

var drawGel = rapid.Custom(func(t *rapid.T) Gel {
	return Gel{
		Mired(rapid.Float64Range(-160, 160).Draw(t, "shift")),
		rapid.Float64Range(-30, 30).Draw(t, "CC"),
		Stops(rapid.Float64Range(0, 3).Draw(t, "loss")),
	}
})

func TestStackDoesNotDependOnOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := drawGel.Draw(t, "a"), drawGel.Draw(t, "b"), drawGel.Draw(t, "c")
		one, other := Stack(a, b, c), Stack(c, Stack(b, a))
		if !within(float64(one.Shift), float64(other.Shift), 1e-9) || !within(one.CC, other.CC, 1e-9) ||
			!within(float64(one.Loss), float64(other.Loss), 1e-12) {
			t.Fatalf("got %v and %v", one, other)
		}
		if behind := Stack(a, Gel{}); behind != a || Stack() != (Gel{}) {
			t.Fatalf("with a clear gel: got %v, want %v", behind, a)
		}
	})
}

func TestMiredsOfAStackAddBehindEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		light := CCTDuv{Kelvin(rapid.Float64Range(2700, 6500).Draw(t, "kelvin")), 0.001}
		a := Gel{Shift: Mired(rapid.Float64Range(-60, 100).Draw(t, "a"))}
		b := Gel{Shift: Mired(rapid.Float64Range(-60, 100).Draw(t, "b"))}
		first, err := Through(light, a)
		if err != nil {
			t.Fatal(err)
		}
		behind, err := Through(first, b)
		if err != nil {
			t.Fatal(err)
		}
		at, err := Through(light, Stack(a, b))
		if err != nil {
			t.Fatal(err)
		}
		if !within(float64(behind.Mired()), float64(at.Mired()), 1e-9) {
			t.Fatalf("got %v one after the other, %v as a stack", behind, at)
		}
	})
}

func TestGreenRaisesDuvAndMagentaLowersIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		light := CCTDuv{Kelvin(rapid.Float64Range(2000, 7000).Draw(t, "kelvin")), 0}
		cc := rapid.Float64Range(1, 29).Draw(t, "CC")
		weak, err := CCToDuv(cc, light)
		if err != nil {
			t.Fatal(err)
		}
		strong, err := CCToDuv(cc+1, light)
		if err != nil {
			t.Fatal(err)
		}
		magenta, err := CCToDuv(-cc, light)
		if err != nil {
			t.Fatal(err)
		}
		if !(0 < weak && weak < strong && magenta < 0) {
			t.Fatalf("CC %v: got %v, one more %v, magenta %v", cc, weak, strong, magenta)
		}
	})
}

func TestDuvToCCUndoesCCToDuv(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		light := CCTDuv{Kelvin(rapid.Float64Range(2000, 7000).Draw(t, "kelvin")), 0}
		cc := rapid.Float64Range(-30, 30).Draw(t, "CC")
		duv, err := CCToDuv(cc, light)
		if err != nil {
			t.Fatal(err)
		}
		got, err := DuvToCC(duv, light)
		if err != nil {
			t.Fatal(err)
		}
		if !within(got, cc, 1e-6) {
			t.Fatalf("got CC %v, want %v", got, cc)
		}
	})
}

// The sum at 5 nm inside CCToDuv against the same filter as spectra at 1 nm.
func TestCCToDuvIsTheIdealFilterOnABlackBody(t *testing.T) {
	for _, kelvin := range []Kelvin{2000, 3200, 5600, 10000} {
		for _, cc := range []float64{-15, -3.75, 7.5, 30} {
			bare, err := PlanckianSpectrum(kelvin)
			if err != nil {
				t.Fatal(err)
			}
			want := duvBehind(t, bare, cc)
			got, err := CCToDuv(cc, CCTDuv{kelvin, 0.01})
			if err != nil {
				t.Fatal(err)
			}
			if !within(float64(got), want, 1e-5) {
				t.Errorf("%v K, CC %v: got Duv %v, want %v", kelvin, cc, got, want)
			}
		}
	}
}

// duvBehind is how far the filter that CCToDuv assumes moves the Duv of a light.
func duvBehind(t *testing.T, light Spectrum, cc float64) float64 {
	t.Helper()
	nm, values := light.Wavelengths(), light.Values()
	for i := range values {
		values[i] *= math.Pow(10, -math.Abs(cc)/100*ccDensity(nm[i], cc > 0))
	}
	behind, err := NewSpectrum(nm, values)
	if err != nil {
		t.Fatal(err)
	}
	return float64(mustLight(t, behind).Duv - mustLight(t, light).Duv)
}

func mustLight(t *testing.T, s Spectrum) CCTDuv {
	t.Helper()
	xy, err := s.XY()
	if err != nil {
		t.Fatal(err)
	}
	c, err := xy.CCTDuv()
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Between its nodes the model is interpolated.
func TestCCToDuvIsTheModelBetweenItsNodes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cc, mired := rapid.Float64Range(-30, 30).Draw(t, "CC"), rapid.Float64Range(100, 550).Draw(t, "mired")
		want, err := ccModel(cc, mired)
		if err != nil {
			t.Skip(err)
		}
		got, err := CCToDuv(cc, CCTDuv{Kelvin(1e6 / mired), 0})
		if err != nil || !within(float64(got), float64(want), 5e-6) {
			t.Fatalf("got %v (%v), want %v", got, err, want)
		}
	})
}

// The model stands on a black body; on daylight it must agree far better than
// the 30 % that real gels leave open.
func TestCCOnDaylightIsLikeCCOnABlackBody(t *testing.T) {
	for _, kelvin := range []Kelvin{5000, 5600, 6500} {
		for _, cc := range []float64{-15, 15} {
			s, err := DaylightSpectrum(kelvin)
			if err != nil {
				t.Fatal(err)
			}
			day := duvBehind(t, s, cc)
			body, err := CCToDuv(cc, CCTDuv{kelvin, 0})
			if err != nil {
				t.Fatal(err)
			}
			if ratio := day / float64(body); !within(ratio, 1, 0.1) {
				t.Errorf("%v K, CC %v: got %v times the black body's Duv, want 0.9 to 1.1", kelvin, cc, ratio)
			}
		}
	}
}

func TestLossIsCountedInStops(t *testing.T) {
	light := CCTDuv{5600, 0.002}
	for _, row := range checkRows(t, "neutral-density.json") {
		t.Run(row.Name, func(t *testing.T) {
			grey, err := MeasuredGel(light, light, 100, Lux(row.in[0]))
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, float64(grey.Loss))
		})
	}
}

func TestFiltersRefuseWhatTheyCannotSay(t *testing.T) {
	day := CCTDuv{5600, 0}
	for name, err := range map[string]error{
		"a shift below 0 mired":            second(Through(day, Gel{Shift: -200})),
		"a shift to less than 1000 K":      second(Through(day, Gel{Shift: 900})),
		"a shift of NaN":                   second(Through(day, Gel{Shift: Mired(math.NaN())})),
		"a light that is no light":         second(Through(CCTDuv{}, Gel{})),
		"CC above 120":                     second(CCToDuv(121, day)),
		"CC of NaN":                        second(CCToDuv(math.NaN(), day)),
		"CC that leaves no CCT":            second(CCToDuv(100, day)),
		"a Duv that no CC reaches":         second(DuvToCC(0.09, day)),
		"a Duv of NaN":                     second(DuvToCC(Duv(math.NaN()), day)),
		"CC on a light without a CCT":      second(CCToDuv(10, CCTDuv{500, 0})),
		"a green gel on a very green lamp": second(Through(CCTDuv{5600, 0.03}, Gel{CC: 30})),
	} {
		t.Run(name, func(t *testing.T) {
			if !errors.Is(err, ErrDomain) {
				t.Errorf("got %v, want ErrDomain", err)
			}
		})
	}
}

func FuzzThroughIsALightOrAnError(f *testing.F) {
	f.Add(5600.0, 0.0, 131.0, 0.0)
	f.Add(3200.0, 0.01, -131.0, -30.0)
	f.Add(math.Inf(1), math.NaN(), 1e300, 120.0)
	f.Fuzz(func(t *testing.T, kelvin, duv, shift, cc float64) {
		got, err := Through(CCTDuv{Kelvin(kelvin), Duv(duv)}, Gel{Mired(shift), cc, 0})
		if err == nil {
			err = got.Check()
		} else if errors.Is(err, ErrDomain) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
	})
}

// Common practice, no source: orange adds mireds and blue takes them, full is
// stronger than half, and so on down; nothing is brighter behind a gel.
func TestNominalGelsFallFromFullToEighth(t *testing.T) {
	strength := func(g Gel) float64 { return math.Abs(float64(g.Shift)) + math.Abs(g.CC) }
	for _, family := range []GelFamily{Based5500, Based6500} {
		last, seen := map[string]Gel{}, map[string]bool{}
		for _, g := range mustGels(family) {
			_, colour, _ := strings.Cut(g.Name, " ")
			if seen[g.Name] || !(g.Gel.Loss > 0) {
				t.Errorf("%s: twice, or a loss of %v", g.Name, g.Gel.Loss)
			}
			if stronger, is := last[colour]; is && (strength(g.Gel) >= strength(stronger) || g.Gel.Loss >= stronger.Loss) {
				t.Errorf("%s: got %+v, want less than %+v", g.Name, g.Gel, stronger)
			}
			want := map[string]Gel{"CTO": {Shift: 1}, "CTB": {Shift: -1}, "plus green": {CC: 1}, "minus green": {CC: -1}}[colour]
			if sign(g.Gel.Shift) != int(want.Shift) || sign(g.Gel.CC) != int(want.CC) {
				t.Errorf("%s: got %+v, want the sign of %+v", g.Name, g.Gel, want)
			}
			last[colour], seen[g.Name] = g.Gel, true
		}
		if len(last) != 4 {
			t.Errorf("%v: got %d colours, want 4", family, len(last))
		}
	}
}

// What a gel is there for, and which two undo each other. Signs and parts by hand: full blue
// is -131 mired, full green CC 30, about 4 mired a CC; what is under a quarter comes along.
func TestGelsThatUndoEachOtherOppose(t *testing.T) {
	blue, orange := Gel{Shift: -30}, Gel{Shift: 42}
	green, magenta := Gel{CC: 7.5}, Gel{CC: -7.5}
	greenishBlue, both := Gel{Shift: -131, CC: 8}, Gel{Shift: 131, CC: 30}
	for _, c := range []struct {
		name string
		a, b Gel
		want bool
	}{
		{"quarter blue and quarter orange", blue, orange, true},
		{"plus and minus green", green, magenta, true},
		{"half and half", blue, blue, false},
		{"blue and minus green", blue, magenta, false},
		{"blue that is a little green, and the minus green for it", greenishBlue, magenta, false},
		{"blue that is a little green, and orange", greenishBlue, orange, true},
		{"orange with green in it, and minus green", both, magenta, true},
		{"orange with green in it, and blue", both, blue, true},
		{"orange with green in it, and orange", both, orange, false},
		{"grey and anything", Gel{Loss: 1}, orange, false},
	} {
		if c.a.Pull().Opposes(c.b.Pull()) != c.want || c.b.Pull().Opposes(c.a.Pull()) != c.want {
			t.Errorf("%s: %+v and %+v, want opposing: %v", c.name, c.a.Pull(), c.b.Pull(), c.want)
		}
	}
}
