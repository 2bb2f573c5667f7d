package colorimetry

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

var drawEncoding = rapid.Custom(func(t *rapid.T) Encoding {
	return Encoding{
		rapid.SampledFrom([]Transfer{TransferLinear, TransferSRGB, TransferBT1886, TransferPower, TransferHLG, TransferACEScct}).Draw(t, "transfer"),
		2.2,
		rapid.SampledFrom([]Primaries{BT709, BT2020, P3D65, ACES0, ACES1}).Draw(t, "primaries"),
	}
})

// greyCard shoots a card of the given linear luminance with a camera on a white.
func greyCard(light, white XY, e Encoding, luminance float64) ([3]float64, error) {
	var signal [3]float64
	c, err := CAT16.Adapt(light.XYZ(1), white, e.Primaries.White)
	if err != nil {
		return signal, err
	}
	m := mustXYZ(e.Primaries)
	inverse := m.inverse()
	rgb := inverse.apply(c.scaled(luminance / c.Y))
	for i, v := range [...]float64{rgb.X, rgb.Y, rgb.Z} {
		if signal[i], err = e.Encode(v); err != nil {
			return signal, err
		}
	}
	return signal, nil
}

func TestPatchGivesBackTheWhiteOfTheCamera(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEncoding.Draw(t, "encoding")
		m := rapid.Float64Range(150, 380).Draw(t, "light mired")
		light, err := CCTDuv{Kelvin(1e6 / m), Duv(rapid.Float64Range(-0.006, 0.006).Draw(t, "light Duv"))}.XY()
		if err != nil {
			t.Fatal(err)
		}
		want := CCTDuv{Kelvin(1e6 / (m + rapid.Float64Range(-60, 60).Draw(t, "off"))), Duv(rapid.Float64Range(-0.006, 0.006).Draw(t, "Duv"))}
		white, err := want.XY()
		if err != nil {
			t.Fatal(err)
		}
		signal, err := greyCard(light, white, e, 0.18)
		if err != nil {
			t.Skip(err)
		}
		s, err := ReadPatch(Patch{Signal: signal}, e, light)
		if errors.Is(err, ErrExposure) || errors.Is(err, ErrNotNeutral) && isBeyondCCT(t, light, white, e.Primaries.White) {
			t.Skip(err)
		}
		if err != nil {
			t.Fatal(err)
		}
		if !within(float64(s.White.Mired()), float64(want.Mired()), 1e-4) || !within(float64(s.White.Duv), float64(want.Duv), 1e-7) {
			t.Fatalf("got a white of %v, want %v", s.White, want)
		}
		back, err := LightFrom(s.Picture, white, e.Primaries.White, CAT16)
		if err != nil || !within(back.X, light.X, 1e-7) || !within(back.Y, light.Y, 1e-7) {
			t.Fatalf("the light from picture and white: got %v (%v), want %v", back, err, light)
		}
	})
}

// isBeyondCCT is so of cards from which a camera stands so far that their picture is
// bluer than any temperature.
func isBeyondCCT(t *rapid.T, light, white, display XY) bool {
	picture, err := CAT16.Adapt(light.XYZ(1), white, display)
	if err != nil {
		t.Fatal(err)
	}
	_, err = lightOf(picture)
	return errors.Is(err, ErrDomain)
}

func TestOneCodeIsWorthAFewMired(t *testing.T) {
	e := Encoding{TransferSRGB, 0, BT709}
	light := mustXY(t, 3200, 0)
	signal, err := greyCard(light, light, e, 0.18)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range checkRows(t, "one-code.json") {
		t.Run(row.Name, func(t *testing.T) {
			c := CodeRange{int(row.in[0]), row.in[1] == 1}
			p := Patch{Signal: signal}
			p.Spread[int(row.in[2])] = c.Step()
			s, err := ReadPatch(p, e, light)
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, float64(s.Uncertainty.Mired))
		})
	}
}

func TestUncertaintyCoversWhatRoundingToCodesDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := Encoding{TransferSRGB, 0, BT709}
		c := CodeRange{rapid.SampledFrom([]int{8, 10}).Draw(t, "bits"), rapid.Bool().Draw(t, "narrow")}
		light := drawWhiteXY(t, "light")
		lightCCT, err := light.CCTDuv()
		if err != nil {
			t.Fatal(err)
		}
		want, err := moved(lightCCT, 0.002, Mired(rapid.Float64Range(-20, 20).Draw(t, "off")))
		if err != nil {
			t.Skip(err)
		}
		if want.Mired() > 410 && want.Duv > 0.015 {
			t.Skip("green of 2400 K lies at the edge of the spectrum: 20 mired from it a card may be too blue to be read")
		}
		white, err := want.XY()
		if err != nil {
			t.Skip(err)
		}
		signal, err := greyCard(light, white, e, rapid.Float64Range(0.1, 0.3).Draw(t, "luminance"))
		if err != nil {
			t.Fatal(err)
		}
		p := Patch{Signal: signal, Spread: [3]float64{TypedSpread(c.Step()), TypedSpread(c.Step()), TypedSpread(c.Step())}}
		for i, v := range p.Signal {
			code, err := c.Code(v)
			if err != nil {
				t.Fatal(err)
			}
			if p.Signal[i], err = c.Signal(math.Round(code)); err != nil {
				t.Fatal(err)
			}
		}
		s, err := ReadPatch(p, e, light)
		if err != nil {
			t.Fatal(err)
		}
		// Half a code is the most that rounding can do, and at the worst three
		// channels add up: √3 times the sum of squares, and 5 % for the bend.
		most := math.Sqrt(3) * 1.05
		if off := math.Abs(float64(s.White.Mired() - want.Mired())); !(off <= most*float64(s.Uncertainty.Mired)) {
			t.Fatalf("got %v mired off with an uncertainty of %v", off, s.Uncertainty.Mired)
		}
		if off := math.Abs(float64(s.White.Duv - want.Duv)); !(off <= most*float64(s.Uncertainty.Duv)) {
			t.Fatalf("got Duv %v off with an uncertainty of %v", off, s.Uncertainty.Duv)
		}
	})
}

func TestReadPatchSaysHowTheLightLooks(t *testing.T) {
	e := Encoding{TransferSRGB, 0, BT709}
	light := mustXY(t, 3200, 0)
	for _, c := range []struct {
		name   string
		kelvin float64
		warm   bool
		far    bool
	}{
		{"a camera on 5600 is warm and far", 5600, true, true},
		{"a camera on 3400 is warm", 3400, true, false},
		{"a camera on 2900 is cool", 2900, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			signal, err := greyCard(light, mustXY(t, c.kelvin, 0), e, 0.18)
			if err != nil {
				t.Fatal(err)
			}
			s, err := ReadPatch(Patch{Signal: signal}, e, light)
			if err != nil {
				t.Fatal(err)
			}
			if (s.Cast.Mired > 0) != c.warm || (signal[0] > signal[2]) != c.warm || s.Far != c.far {
				t.Errorf("got %+v from %v", s, signal)
			}
			if e := CameraError(s.White, CCTDuv{Kelvin(c.kelvin), 0}); !within(float64(e.Mired), 0, 1e-4) || !within(float64(e.Duv), 0, 1e-7) {
				t.Errorf("camera error: got %v, want none", e)
			}
		})
	}
}

func TestReadPatchRefusesWhatSaysNothing(t *testing.T) {
	e := Encoding{TransferSRGB, 0, BT709}
	grey := [3]float64{0.46, 0.46, 0.46}
	for _, c := range []struct {
		name  string
		p     Patch
		e     Encoding
		light XY
		want  error
	}{
		{"clipped pixels", Patch{Signal: grey, Clipped: 0.02}, e, D65, ErrClipped},
		{"too dark", Patch{Signal: [3]float64{0.04, 0.2, 0.2}}, e, D65, ErrExposure},
		{"too bright", Patch{Signal: [3]float64{0.7, 0.8, 0.91}}, e, D65, ErrExposure},
		{"NaN", Patch{Signal: [3]float64{math.NaN(), 0.2, 0.2}}, e, D65, ErrExposure},
		{"codes taken for signals", Patch{Signal: [3]float64{118, 118, 118}}, e, D65, ErrExposure},
		{"a negative spread", Patch{Signal: grey, Spread: [3]float64{0, -1, 0}}, e, D65, ErrDomain},
		{"a clipped part above 1", Patch{Signal: grey, Clipped: 1.5}, e, D65, ErrDomain},
		{"a saturated patch", Patch{Signal: [3]float64{0.9, 0.06, 0.06}}, e, D65, ErrNotNeutral},
		{"red paint, which has a CCT near 1300 K", Patch{Signal: [3]float64{0.78, 0.24, 0.2}}, e, D65, ErrNotNeutral},
		{"a green screen", Patch{Signal: [3]float64{0.3, 0.6, 0.3}}, e, D65, ErrNotNeutral},
		{"a coloured light", Patch{Signal: grey}, e, XY{0.2, 0.7}, ErrDomain},
		{"an unknown curve", Patch{Signal: grey}, Encoding{9, 0, BT709}, D65, ErrDomain},
		{"no primaries", Patch{Signal: grey}, Encoding{TransferSRGB, 0, Primaries{}}, D65, ErrDomain},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got, err := ReadPatch(c.p, c.e, c.light); !errors.Is(err, c.want) {
				t.Errorf("got %+v and %v, want %v", got, err, c.want)
			}
		})
	}
}

func TestSpreadOfAPatch(t *testing.T) {
	c := CodeRange{10, false}
	if got, err := PatchSpread(0.02, 400, c); err != nil || !within(got, 0.001, 1e-12) {
		t.Errorf("got %v (%v), want 0.02/20", got, err)
	}
	if got, err := PatchSpread(0.002, 1000000, c); err != nil || !within(got, 0.5/1023, 1e-12) {
		t.Errorf("got %v (%v), want half a code", got, err)
	}
	for name, err := range map[string]error{
		"a negative deviation": second(PatchSpread(-1, 9, c)), "no pixels": second(PatchSpread(0.1, 0, c)),
		"codes of no bits": second(PatchSpread(0.1, 9, CodeRange{})), "codes of 40 bits": second(PatchSpread(0.1, 9, CodeRange{40, false})),
	} {
		if !errors.Is(err, ErrDomain) {
			t.Errorf("%s: got %v, want ErrDomain", name, err)
		}
	}
}

func TestTintUnitIsLearntFromTwoSamples(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Dials{Kelvin: KelvinDial{List: []Kelvin{4300}},
			Tint: TintDial{-20, 20, 1, Duv(rapid.Float64Range(0.0002, 0.002).Draw(t, "unit")), rapid.Bool().Draw(t, "plus is green")}}
		a, b := float64(rapid.IntRange(-20, 0).Draw(t, "a")), float64(rapid.IntRange(1, 20).Draw(t, "b"))
		whiteA, err := d.White(Setting{Kelvin: 4300, Tint: a})
		if err != nil {
			t.Fatal(err)
		}
		whiteB, err := d.White(Setting{Kelvin: 4300, Tint: b})
		if err != nil {
			t.Fatal(err)
		}
		unit, plusIsGreen, err := TintUnit(whiteA, a, whiteB, b)
		if err != nil || !within(float64(unit), float64(d.Tint.DuvPerUnit), 1e-12) || plusIsGreen != d.Tint.PlusIsGreen {
			t.Fatalf("got %v, %v, %v, want %v, %v", unit, plusIsGreen, err, d.Tint.DuvPerUnit, d.Tint.PlusIsGreen)
		}
	})
	if _, _, err := TintUnit(CCTDuv{4300, 0}, 3, CCTDuv{4300, 0.01}, 3); !errors.Is(err, ErrDomain) {
		t.Errorf("one tint twice: got %v, want ErrDomain", err)
	}
	if _, _, err := TintUnit(CCTDuv{4300, 0}, 3, CCTDuv{3200, 0.01}, 4); !errors.Is(err, ErrDomain) {
		t.Errorf("another kelvin: got %v, want ErrDomain", err)
	}
}

func FuzzReadPatchIsAnAnswerOrAnError(f *testing.F) {
	f.Add(0.46, 0.46, 0.46, 0.002, 1, 0.4476, 0.4075)
	f.Add(0.9, 0.05, 0.9, 1.0, 4, 0.3127, 0.3290)
	f.Fuzz(func(t *testing.T, r, g, b, spread float64, transfer int, x, y float64) {
		p := Patch{Signal: [3]float64{r, g, b}, Spread: [3]float64{spread, spread, spread}}
		s, err := ReadPatch(p, Encoding{Transfer(transfer), 2.2, BT2020}, XY{x, y})
		if err != nil {
			if !errors.Is(err, ErrDomain) && !errors.Is(err, ErrExposure) && !errors.Is(err, ErrClipped) && !errors.Is(err, ErrNotNeutral) {
				t.Fatal(err)
			}
			return
		}
		if s.White.Check() != nil || !finite(float64(s.Uncertainty.Mired), float64(s.Uncertainty.Duv), float64(s.Cast.Mired)) {
			t.Fatalf("got %+v", s)
		}
	})
}

func TestASpreadIsNeverFinerThanHalfACode(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := CodeRange{rapid.IntRange(8, 16).Draw(t, "bits"), rapid.Bool().Draw(t, "narrow")}
		sd, n := rapid.Float64Range(0, 0.2).Draw(t, "sd"), rapid.IntRange(1, 1000000).Draw(t, "n")
		one, err := PatchSpread(sd, n, c)
		if err != nil {
			t.Fatal(err)
		}
		more, err := PatchSpread(sd, 4*n, c)
		if err != nil {
			t.Fatal(err)
		}
		if half := TypedSpread(c.Step()); !(one >= half && more >= half && more <= one && more >= one/2-1e-15) {
			t.Errorf("%v, sd %v over %d: got %v, and %v over four times as many; half a code is %v", c, sd, n, one, more, half)
		}
	})
}

// Three ways round the same adaptation: light from picture and white, white from
// picture and light, and the picture itself as that of another card.
func TestCorrespondingColoursOfAnIndependentImplementation(t *testing.T) {
	chromaticity := func(t *testing.T, v []float64) XY {
		t.Helper()
		xy, err := XYZ{v[0], v[1], v[2]}.XY()
		if err != nil {
			t.Fatal(err)
		}
		return xy
	}
	for _, row := range checkRows(t, "corresponding-colours.json") {
		t.Run(row.Name, func(t *testing.T) {
			a := Adaptation(row.in[0])
			light, white, display := chromaticity(t, row.in[1:]), chromaticity(t, row.in[4:]), chromaticity(t, row.in[7:])
			picture := chromaticity(t, row.want)
			got, err := LightFrom(picture, white, display, a)
			if err != nil || !within(got.X, light.X, 1e-7) || !within(got.Y, light.Y, 1e-7) {
				t.Errorf("the light: got %v, %v, want %v", got, err, light)
			}
			got, err = EffectiveWhite(picture, light, display, a)
			if err != nil || !within(got.X, white.X, 1e-7) || !within(got.Y, white.Y, 1e-7) {
				t.Errorf("the white: got %v, %v, want %v", got, err, white)
			}
		})
	}
}

func TestGreyCardsOfAnIndependentLibrary(t *testing.T) {
	e := Encoding{TransferSRGB, 0, BT709}
	for _, row := range checkRows(t, "colorjs-grey-card.json") {
		t.Run(row.Name, func(t *testing.T) {
			s, err := ReadPatch(Patch{Signal: [3]float64(row.in[:3])}, e, XY{row.in[3], row.in[4]})
			if err != nil {
				t.Fatal(err)
			}
			white, err := s.White.XY()
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, white.X, white.Y)
		})
	}
}

// A scene-linear card is as bright as its light, and no part of a code range: what a stop
// more of exposure does is no fault of the card.
func TestASceneLinearCardIsJudgedByItsLight(t *testing.T) {
	for _, c := range []struct {
		transfer Transfer
		level    float64
		want     error
	}{
		{TransferLinear, 0.18, nil},
		{TransferLinear, 0.03, nil},
		{TransferLinear, 0.0056, ErrExposure},
		{TransferLinear, 0.0057, nil},
		{TransferLinear, 1.3, nil},
		{TransferLinear, 5.7, nil},
		{TransferLinear, 5.8, ErrExposure},
		{TransferLinear, -0.1, ErrExposure},
		{TransferACEScct, 0.18, nil},
		{TransferACEScct, 0.0056, ErrExposure}, // its signal is 13 % of the code
		{TransferACEScct, 5.7, nil},
		{TransferACEScct, 5.8, ErrExposure}, // 70 %
		{TransferBT1886, 0.0057, nil},       // 12 %
		{TransferBT1886, 0.8, ErrExposure},  // 91 %
	} {
		e := Encoding{c.transfer, 0, BT709}
		signal, err := e.Encode(c.level)
		if err != nil {
			t.Fatal(err)
		}
		_, err = ReadPatch(Patch{Signal: [3]float64{signal, signal, signal}}, e, D65)
		if !errors.Is(err, c.want) || (err == nil) != (c.want == nil) {
			t.Errorf("%v of linear %v: got %v, want %v", c.transfer, c.level, err, c.want)
		}
	}
}
