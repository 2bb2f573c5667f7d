package colorimetry

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func mustXY(t testing.TB, kelvin, duv float64) XY {
	t.Helper()
	xy, err := CCTDuv{Kelvin(kelvin), Duv(duv)}.XY()
	if err != nil {
		t.Fatal(err)
	}
	return xy
}

func mustPicture(t testing.TB, light, white XY) XYZ {
	t.Helper()
	p, err := Picture(light, white, CAT16)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func warmer(kelvin, mired float64) float64 { return 1e6 / (1e6/kelvin + mired) }

func TestEqualShiftsAreEqualStepsInThePicture(t *testing.T) {
	for _, row := range checkRows(t, "picture.json") {
		t.Run(row.Name, func(t *testing.T) {
			k, shift := row.in[0], row.in[1]
			white := mustXY(t, k, 0)
			p := mustPicture(t, mustXY(t, warmer(k, shift), 0), white)
			row.compare(t, StepsFromNeutral(p))
			if got, want := PictureSteps(p, mustPicture(t, white, white)), StepsFromNeutral(p); !within(got, want, 1e-9) {
				t.Errorf("against the picture of the white itself: got %v steps, want %v", got, want)
			}
		})
	}
}

// The rows that end on the display's white are pictures.
func TestPictureAgreesWithAnIndependentProgram(t *testing.T) {
	pictures := 0
	for _, row := range checkRows(t, "colorjs-adaptation.json") {
		v := row.in
		if (XY{v[6], v[7]}) != D65 {
			continue
		}
		pictures++
		t.Run(row.Name, func(t *testing.T) {
			light, err := XYZ{v[1], v[2], v[3]}.XY()
			if err != nil {
				t.Fatal(err)
			}
			got, err := Picture(light, XY{v[4], v[5]}, Adaptation(v[0]))
			if err != nil {
				t.Fatal(err)
			}
			// The quotients cost the last of the twelve printed digits.
			if y := row.want[1]; !near(got.scaled(y), XYZ{row.want[0], y, row.want[2]}, 1e-10) {
				t.Errorf("got %v, want %v over %v", got, row.want, y)
			}
		})
	}
	if pictures != 12 {
		t.Errorf("%d pictures, want 12", pictures)
	}
}

func TestTintShowsMoreUnderTungsten(t *testing.T) {
	for _, row := range checkRows(t, "tint.json") {
		t.Run(row.Name, func(t *testing.T) {
			light := mustXY(t, row.in[0], 0)
			duv := func(p XYZ) float64 {
				c, err := lightOf(p)
				if err != nil {
					t.Fatal(err)
				}
				return float64(c.Duv)
			}
			const unit = 0.001
			before := duv(mustPicture(t, light, light))
			after := duv(mustPicture(t, light, mustXY(t, row.in[0], unit)))
			row.compare(t, (after-before)/unit)
		})
	}
}

func TestAboutFiveMiredAreJustNoticeable(t *testing.T) {
	for _, row := range checkRows(t, "noticeable.json") {
		t.Run(row.Name, func(t *testing.T) {
			white := mustXY(t, row.in[0], 0)
			neutral := mustPicture(t, white, white)
			lo, hi := 0.0, 20.0
			for hi-lo > 1e-6 {
				mid := (lo + hi) / 2
				if GreyDifference(mustPicture(t, mustXY(t, warmer(row.in[0], mid), 0), white), neutral) < 1 {
					lo = mid
				} else {
					hi = mid
				}
			}
			row.compare(t, lo)
		})
	}
}

func TestPictureOfTheWhiteItselfIsNeutral(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		white := drawWhiteXY(t, "white")
		a := rapid.SampledFrom([]Adaptation{CAT16, CAT02, Bradford}).Draw(t, "adaptation")
		p, err := Picture(white, white, a)
		if err != nil {
			t.Fatal(err)
		}
		if got := StepsFromNeutral(p); !within(got, 0, 1e-8) {
			t.Fatalf("got %v steps from neutral, want 0", got)
		}
		if s := Preview(p); s.R != s.G || s.G != s.B || s.Clipped {
			t.Fatalf("swatch: got %+v, want a grey", s)
		}
	})
}

func TestPreviewLooksTheWayTheCastSays(t *testing.T) {
	white := mustXY(t, 4300, 0)
	for _, c := range []struct {
		name  string
		light XY
		holds func(Swatch) bool
	}{
		{"a warmer light is more red than blue", mustXY(t, 3200, 0), func(s Swatch) bool { return s.R > s.G && s.G > s.B }},
		{"a cooler light is more blue than red", mustXY(t, 6500, 0), func(s Swatch) bool { return s.B > s.G && s.G > s.R }},
		{"a greener light is greenest in green", mustXY(t, 4300, 0.02), func(s Swatch) bool { return s.G > s.R && s.G > s.B }},
		{"a magenta light is least in green", mustXY(t, 4300, -0.02), func(s Swatch) bool { return s.G < s.R && s.G < s.B }},
		{"a candle on a daylight white is clipped and still orange", mustXY(t, 1500, 0), func(s Swatch) bool { return s.Clipped && s.R == 255 && s.R > s.G && s.G > s.B }},
		{"a small cast is not clipped", mustXY(t, 4000, 0), func(s Swatch) bool { return !s.Clipped }},
	} {
		t.Run(c.name, func(t *testing.T) {
			if s := Preview(mustPicture(t, c.light, white)); !c.holds(s) {
				t.Errorf("got %+v", s)
			}
		})
	}
}

func TestPreviewOfNeutralIsTheStandardsCode(t *testing.T) {
	// IEC 61966-2-1: 1.055·0.4^(1/2.4) − 0.055 = 0.66519, times 255 is 169.6.
	if s := Preview(D65.XYZ(1)); s != (Swatch{R: 170, G: 170, B: 170}) {
		t.Errorf("got %+v, want 170 170 170", s)
	}
}

func TestPreviewKeepsTheLuminanceWhenItClips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		white, light := drawWhiteXY(t, "white"), drawWhiteXY(t, "light")
		p, err := Picture(light, white, CAT16)
		if err != nil {
			t.Fatal(err)
		}
		s := Preview(p)
		m := mustXYZ(BT709)
		y := m.apply(XYZ{decoded(s.R), decoded(s.G), decoded(s.B)}).Y
		// Rounding to codes moves the luminance by half a code of each channel.
		if !within(y, SwatchGrey, 0.005) {
			t.Fatalf("got a luminance of %v from %+v, want %v", y, s, SwatchGrey)
		}
	})
}

// decoded inverts the curve of IEC 61966-2-1 independently of the program.
func decoded(code uint8) float64 {
	v := float64(code) / 255
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

func TestPictureRefusesWhatHasNone(t *testing.T) {
	for name, err := range map[string]error{
		"a light that is no chromaticity": second(Picture(XY{}, D65, CAT16)),
		"a white that is no chromaticity": second(Picture(D65, XY{0.9, 0.2}, CAT16)),
		"a violet on a tungsten white":    second(Picture(XY{0.17, 0.005}, mustXY(t, 3200, 0), CAT16)),
	} {
		t.Run(name, func(t *testing.T) {
			if !errors.Is(err, ErrDomain) {
				t.Errorf("got %v, want ErrDomain", err)
			}
		})
	}
}

func TestPictureOfColouredLampsExists(t *testing.T) {
	for name, light := range map[string]XY{"blue": {0.14, 0.04}, "red": {0.70, 0.30}, "green": {0.17, 0.72}} {
		t.Run(name, func(t *testing.T) {
			if s := Preview(mustPicture(t, light, mustXY(t, 3200, 0))); !s.Clipped {
				t.Errorf("got %+v, want it clipped", s)
			}
		})
	}
}

func FuzzPictureIsANumberOrAnError(f *testing.F) {
	f.Add(0.3127, 0.3290, 0.4476, 0.4075, 0)
	f.Add(0.17, 0.005, 0.6, 0.39, 1)
	f.Add(math.NaN(), 0.3, 0.3, math.Inf(1), 7)
	f.Fuzz(func(t *testing.T, lx, ly, wx, wy float64, a int) {
		p, err := Picture(XY{lx, ly}, XY{wx, wy}, Adaptation(a))
		if err != nil {
			if !errors.Is(err, ErrDomain) {
				t.Fatal(err)
			}
			return
		}
		if !finite(StepsFromNeutral(p), GreyDifference(p, D65.XYZ(1))) || p.Y != 1 {
			t.Fatalf("light %v %v on %v %v: got %v, %v steps", lx, ly, wx, wy, p, StepsFromNeutral(p))
		}
		Preview(p)
	})
}

func TestPrimariesGiveThePublishedMatrix(t *testing.T) {
	m := mustXYZ(BT709)
	for _, row := range checkRows(t, "bt709-matrix.json") {
		t.Run(row.Name, func(t *testing.T) {
			c := m.apply(XYZ{row.in[0], row.in[1], row.in[2]})
			row.compare(t, c.X, c.Y, c.Z)
		})
	}
}

func TestPrimariesGiveThePublishedWeightsOfLuminance(t *testing.T) {
	for _, row := range checkRows(t, "luminance-weights.json") {
		t.Run(row.Name, func(t *testing.T) {
			m, err := []Primaries{BT709, BT2020}[int(row.in[0])].toXYZ()
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, m.apply(XYZ{row.in[1], row.in[2], row.in[3]}).Y)
		})
	}
}

func TestPrimariesGiveThePublishedMatrixOfACES(t *testing.T) {
	inverse, ap1 := mustXYZ(ACES0).inverse(), mustXYZ(ACES1)
	for _, row := range checkRows(t, "aces-matrix.json") {
		t.Run(row.Name, func(t *testing.T) {
			got := inverse.apply(ap1.apply(XYZ{row.in[0], row.in[1], row.in[2]}))
			row.compare(t, got.X, got.Y, got.Z)
		})
	}
}

func TestThePreviewStartsFromThePublishedMatrix(t *testing.T) {
	for _, row := range checkRows(t, "srgb-inverse.json") {
		t.Run(row.Name, func(t *testing.T) {
			got := srgbFromXYZ.apply(XYZ{row.in[0], row.in[1], row.in[2]})
			row.compare(t, got.X, got.Y, got.Z)
		})
	}
}

// Equal signals are white in every set; one channel alone is its primary.
func TestChromaticityOfSignalsIsThatOfThePrimaries(t *testing.T) {
	for _, p := range []Primaries{BT709, BT2020, P3D65, ACES1} {
		got, err := Encoding{TransferLinear, 0, p}.Chromaticity([3]float64{0.4, 0.4, 0.4})
		if err != nil || !within(got.X, p.White.X, 1e-12) || !within(got.Y, p.White.Y, 1e-12) {
			t.Errorf("white of %v: got %v (%v)", p, got, err)
		}
	}
	// Pure primaries, of which some lie on the edge of the plane.
	for _, p := range []Primaries{BT709, BT2020, P3D65, ACES1} {
		for i, want := range []XY{p.R, p.G, p.B} {
			var signal [3]float64
			signal[i] = 0.7
			got, err := Encoding{TransferSRGB, 0, p}.Chromaticity(signal)
			if want.X+want.Y > 1 { // the red of AP1 is no colour of light
				if !errors.Is(err, ErrDomain) {
					t.Errorf("%v of %v: got %v, %v, want ErrDomain", signal, p, got, err)
				}
				continue
			}
			if err != nil || !within(got.X, want.X, 1e-12) || !within(got.Y, want.Y, 1e-12) {
				t.Errorf("%v of %v: got %v (%v), want %v", signal, p, got, err, want)
			}
		}
	}
}

// Whichever way two pictures differ is measured alike from both, and further away
// is more.
func TestPicturesDifferAlikeBothWays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		white := drawWhite.Draw(t, "white")
		of := func(shift float64) XYZ {
			k, err := (white.Mired() + Mired(shift)).Kelvin()
			if err != nil {
				t.Fatal(err)
			}
			light, err := CCTDuv{k, white.Duv}.XY()
			if err != nil {
				t.Fatal(err)
			}
			on, err := white.XY()
			if err != nil {
				t.Fatal(err)
			}
			p, err := Picture(light, on, CAT16)
			if err != nil {
				t.Fatal(err)
			}
			return p
		}
		near, far := rapid.Float64Range(1, 20).Draw(t, "near"), rapid.Float64Range(22, 40).Draw(t, "far")
		a, b, c := of(0), of(near), of(far)
		for name, distance := range map[string]func(XYZ, XYZ) float64{"PictureSteps": PictureSteps, "GreyDifference": GreyDifference} {
			if there, back := distance(a, b), distance(b, a); !within(there, back, 1e-9) || distance(a, a) != 0 {
				t.Errorf("%s: got %v one way and %v the other", name, there, back)
			}
			if !(distance(a, c) > distance(a, b)) {
				t.Errorf("%s: %v mired are %v, and %v are %v", name, near, distance(a, b), far, distance(a, c))
			}
		}
		if got, want := StepsFromNeutral(b), PictureSteps(b, a); !within(got, want, 1e-6) {
			t.Errorf("from neutral: got %v, want %v as from the picture of the white", got, want)
		}
	})
}
