package colorimetry

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

// fillPatch adds the pixels of a patch: codeAt gives the codes of each.
func fillPatch(e Encoding, c CodeRange, width, height int, codeAt func(x, y int) [3]float64) (PatchReading, error) {
	p, err := NewPatchPixels(e, c, width, height)
	if err != nil {
		return PatchReading{}, err
	}
	for y := range height {
		for x := range width {
			if err := p.Add(x, y, codeAt(x, y)); err != nil {
				return PatchReading{}, err
			}
		}
	}
	return p.Read()
}

func even(code ...float64) func(x, y int) [3]float64 {
	return func(int, int) [3]float64 { return [3]float64(code) }
}

func TestPatchIsAveragedInLinearLight(t *testing.T) {
	e, c := Encoding{Transfer: TransferPower, Gamma: 2, Primaries: BT709}, CodeRange{16, false}
	// Half the pixels at a signal of 0.2, half at 0.6: linear 0.04 and 0.36, mean 0.2.
	got, err := fillPatch(e, c, 16, 16, func(x, _ int) [3]float64 {
		v := 0.2 * 65535
		if x%2 == 1 {
			v = 0.6 * 65535
		}
		return [3]float64{v, v, v}
	})
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range got.Signal {
		if want := math.Sqrt(0.2); !within(v, want, 1e-9) {
			t.Errorf("channel %d: got %v, want %v (the mean of the signals is 0.4)", i, v, want)
		}
	}
	// The deviation of two values 0.4 apart is 0.2·√(n/(n−1)); no cell differs.
	if want := 0.2 * math.Sqrt(256.0/255); !within(got.Deviation[0], want, 1e-9) || !within(got.Noise[0], 0.2*math.Sqrt(256.0/240), 1e-9) {
		t.Errorf("deviation and noise: got %v and %v, want %v", got.Deviation[0], got.Noise[0], want)
	}
	if !within(got.Unevenness, 0, 1e-12) || !within(got.UnevenSteps, 0, 1e-9) {
		t.Errorf("unevenness: got %v and %v steps, want none", got.Unevenness, got.UnevenSteps)
	}
	if want := got.Deviation[0] / 16; !within(got.Spread[0], want, 1e-12) || got.Pixels != 256 {
		t.Errorf("spread of the mean: got %v over %d pixels, want sd/√256 = %v", got.Spread[0], got.Pixels, want)
	}
}

func TestPatchTellsUnevennessFromNoise(t *testing.T) {
	e, c := Encoding{TransferLinear, 0, BT709}, CodeRange{16, false}
	t.Run("a ramp of light has no noise", func(t *testing.T) {
		got, err := fillPatch(e, c, 64, 64, func(x, _ int) [3]float64 {
			v := 20000 + 100*float64(x/16) // 4 steps of 100 codes
			return [3]float64{v, v, v}
		})
		if err != nil {
			t.Fatal(err)
		}
		if want := 300.0 / 20150; !within(got.Unevenness, want, 1e-9) || !within(got.Noise[1], 0, 1e-12) || !within(got.UnevenSteps, 0, 1e-6) {
			t.Errorf("got %v, noise %v, %v steps; want %v and none", got.Unevenness, got.Noise, got.UnevenSteps, want)
		}
	})
	t.Run("a lamp of another colour from the side is seen in the colour", func(t *testing.T) {
		got, err := fillPatch(e, c, 64, 64, func(x, _ int) [3]float64 { return [3]float64{20000 + 30*float64(x), 20000, 20000 - 30*float64(x)} })
		if err != nil {
			t.Fatal(err)
		}
		if !(got.UnevenSteps > 2) {
			t.Errorf("got %v steps, want above 2", got.UnevenSteps)
		}
	})
	t.Run("noise alone leaves the cells alike", func(t *testing.T) {
		random := rand.New(rand.NewPCG(7, 11))
		got, err := fillPatch(e, c, 128, 128, func(int, int) [3]float64 {
			return [3]float64{20000 + 500*random.NormFloat64(), 20000 + 500*random.NormFloat64(), 20000 + 500*random.NormFloat64()}
		})
		if err != nil {
			t.Fatal(err)
		}
		// 1024 pixels a cell: 500/√1024 = 16 codes of 20 000, 0.08 %; the widest of 16 within 6 of these.
		if !(got.Unevenness < 6*0.00078) || !within(got.Noise[0]*65535, 500, 15) {
			t.Errorf("got %v, noise %v codes; want below 0.5 %% and about 500", got.Unevenness, got.Noise[0]*65535)
		}
	})
}

func TestPatchOfNoisyPixelsGivesBackTheWhiteWithinItsSpread(t *testing.T) {
	const seed = 20261125
	random := rand.New(rand.NewPCG(seed, 1))
	var square, worst float64
	const trials = 60
	for range trials {
		c := CodeRange{[]int{8, 10, 16}[random.IntN(3)], random.IntN(2) == 1}
		e := Encoding{[]Transfer{TransferSRGB, TransferBT1886, TransferACEScct, TransferHLG}[random.IntN(4)], 0,
			[]Primaries{BT709, BT2020, P3D65}[random.IntN(3)]}
		light := CCTDuv{Kelvin(1e6 / (150 + 230*random.Float64())), 0.002}
		want := CCTDuv{Kelvin(1e6 / (float64(light.Mired()) + 40*random.Float64() - 20)), 0}
		lightXY, whiteXY := mustXY(t, float64(light.CCT), float64(light.Duv)), mustXY(t, float64(want.CCT), 0)
		signal, err := greyCard(lightXY, whiteXY, e, 0.2)
		if err != nil {
			t.Fatal(err)
		}
		var linear [3]float64
		for i, v := range signal {
			if linear[i], err = e.Decode(v); err != nil {
				t.Fatal(err)
			}
		}
		read, err := fillPatch(e, c, 40, 40, func(int, int) (code [3]float64) {
			for i, l := range linear {
				v, err := e.Encode(l * (1 + 0.04*random.NormFloat64()))
				if err != nil {
					t.Fatal(err)
				}
				if code[i], err = c.Code(v); err != nil {
					t.Fatal(err)
				}
				code[i] = math.Round(code[i])
			}
			return code
		})
		if err != nil {
			t.Fatal(err)
		}
		s, err := ReadPatch(read.Patch, e, lightXY)
		if err != nil {
			t.Fatal(err)
		}
		off := math.Abs(float64(s.White.Mired()-want.Mired())) / float64(s.Uncertainty.Mired)
		square, worst = square+off*off/trials, max(worst, off)
	}
	t.Logf("seed %d: off by %.2f spreads in the mean, %.2f at most", seed, math.Sqrt(square), worst)
	if worst > 4 || math.Sqrt(square) > 1.3 {
		t.Errorf("seed %d: off by %.2f spreads in the mean, %.2f at most; want at most 1.3 and 4", seed, math.Sqrt(square), worst)
	}
}

func TestPatchesThatAreRefused(t *testing.T) {
	e, c := Encoding{TransferSRGB, 0, BT709}, CodeRange{8, false}
	spots := func(every int, spot float64) func(x, y int) [3]float64 {
		return func(x, y int) [3]float64 {
			if (y*32+x)%every == 0 {
				return [3]float64{spot, 118, 118}
			}
			return [3]float64{118, 118, 118}
		}
	}
	for _, row := range []struct {
		name string
		at   func(x, y int) [3]float64
		want error
	}{
		{"every 50th pixel has a channel at its upper end", spots(50, 255), ErrClipped},
		{"every 50th pixel has a channel at black", spots(50, 0), ErrClipped},
		{"within 1 % of the end is clipped as well", spots(50, 253), ErrClipped},
		{"every 200th pixel is allowed", spots(200, 255), nil},
		{"too dark", even(10, 10, 10), ErrExposure},
		{"too bright", even(235, 235, 235), ErrExposure},
		{"a red wall", even(200, 60, 50), ErrNotNeutral},
		{"a leaf", even(70, 130, 60), ErrNotNeutral},
		{"a code beyond its bits", even(118, 300, 118), ErrDomain},
		{"no number", even(118, math.NaN(), 118), ErrDomain},
	} {
		t.Run(row.name, func(t *testing.T) {
			if got, err := fillPatch(e, c, 32, 32, row.at); !errors.Is(err, row.want) {
				t.Errorf("got %+v and %v, want %v", got, err, row.want)
			}
		})
	}
	for name, err := range map[string]error{
		"7 pixels wide":    second(NewPatchPixels(e, c, 7, 100)),
		"0 pixels high":    second(NewPatchPixels(e, c, 9, 0)),
		"a whole sky":      second(NewPatchPixels(e, c, 4096, 1025)),
		"a huge width":     second(NewPatchPixels(e, c, math.MaxInt, 8)),
		"pixels missing":   second(must(NewPatchPixels(e, c, 8, 8)).Read()),
		"sizes of 1 below": second(NewPatchPixels(e, c, -1, -1)),
	} {
		if !errors.Is(err, ErrPatchSize) {
			t.Errorf("%s: got %v, want ErrPatchSize", name, err)
		}
	}
	if err := must(NewPatchPixels(e, c, 8, 8)).Add(8, 0, [3]float64{1, 1, 1}); !errors.Is(err, ErrDomain) {
		t.Errorf("a pixel outside: got %v, want ErrDomain", err)
	}
	if err := second(NewPatchPixels(e, CodeRange{20, false}, 8, 8)); !errors.Is(err, ErrDomain) {
		t.Errorf("20 bits: got %v, want ErrDomain", err)
	}
}

func must(p *PatchPixels, err error) *PatchPixels {
	if err != nil {
		panic(err)
	}
	return p
}

// The white of a camera is found to 0.1 mired wherever the numbers that were
// typed or averaged carry it: 16 bits, or percent with three decimals.
func TestEffectiveWhiteToATenthOfAMired(t *testing.T) {
	worst, worstDuv := 0.0, 0.0
	rapid.Check(t, func(t *rapid.T) {
		e := Encoding{
			rapid.SampledFrom([]Transfer{TransferLinear, TransferSRGB, TransferBT1886, TransferPower, TransferPQ, TransferHLG, TransferACEScct}).Draw(t, "transfer"),
			rapid.Float64Range(1.8, 2.8).Draw(t, "gamma"),
			rapid.SampledFrom([]Primaries{BT709, BT2020, P3D65, ACES0, ACES1}).Draw(t, "primaries"),
		}
		grey := 0.2
		if e.Transfer == TransferPQ {
			grey = 0.003 // 30 cd/m²: 0.2 would be 2000
		}
		want := CCTDuv{Kelvin(1e6 / rapid.Float64Range(50, 500).Draw(t, "white mired")),
			Duv(rapid.Float64Range(-0.02, 0.02).Draw(t, "white Duv"))}
		light := CCTDuv{Kelvin(1e6 / max(float64(want.Mired())+rapid.Float64Range(-10, 10).Draw(t, "light"), 12)),
			want.Duv + Duv(rapid.Float64Range(-0.002, 0.002).Draw(t, "light Duv"))}
		whiteXY, err := want.XY()
		if err != nil {
			t.Skip(err) // green of 2000 to 2400 K lies outside the spectrum locus
		}
		lightXY, err := light.XY()
		if err != nil {
			t.Skip(err)
		}
		signal, err := greyCard(lightXY, whiteXY, e, grey)
		if err != nil {
			t.Fatal(err)
		}
		steps := []float64{100000, 65535, 56064} // percent with 3 decimals; 16 bits full and narrow, as steps in the signal
		step := rapid.SampledFrom(steps).Draw(t, "steps")
		p := Patch{}
		for i, v := range signal {
			p.Signal[i] = math.Round(v*step) / step
			p.Spread[i] = TypedSpread(1 / step)
		}
		s, err := ReadPatch(p, e, lightXY)
		if err != nil {
			t.Fatalf("white %v, light %v, signals %v: %v", want, light, signal, err)
		}
		mired, duv := math.Abs(float64(s.White.Mired()-want.Mired())), math.Abs(float64(s.White.Duv-want.Duv))
		worst, worstDuv = max(worst, mired), max(worstDuv, duv)
		if !(mired <= 0.1 && duv <= 0.0001) {
			t.Fatalf("white %v, light %v: got %v, off by %v mired and %v", want, light, s.White, mired, duv)
		}
	})
	t.Logf("at most %.4f mired and %.6f Duv off", worst, worstDuv)
}

// One pixel instead of another leaves a cell without light, of which there is no
// mean.
func TestAPatchWithAnEmptyCellIsRefused(t *testing.T) {
	p, err := NewPatchPixels(Encoding{TransferSRGB, 0, BT709}, CodeRange{8, false}, 8, 8)
	if err != nil {
		t.Fatal(err)
	}
	for range 64 {
		if err := p.Add(0, 0, [3]float64{118, 118, 118}); err != nil {
			t.Fatal(err)
		}
	}
	if got, err := p.Read(); !errors.Is(err, ErrPatchSize) {
		t.Errorf("got %+v, %v, want ErrPatchSize", got, err)
	}
}

// A hundred certified measurements as a patch of 10 by 10 pixels: 299 is code 0,
// 300 code 2000 of 4095.
func TestPatchHasTheCertifiedMeanAndDeviation(t *testing.T) {
	const codes = 2000.0
	e, c := Encoding{TransferLinear, 0, BT709}, CodeRange{12, false}
	for _, row := range checkRows(t, "nist-michelson.json") {
		t.Run(row.Name, func(t *testing.T) {
			got, err := fillPatch(e, c, 10, 10, func(x, y int) [3]float64 {
				v := codes * (row.in[10*y+x] - 299)
				return [3]float64{v, v, v}
			})
			if err != nil {
				t.Fatal(err)
			}
			for i := range got.Signal {
				row.compare(t, 299+got.Signal[i]*4095/codes, got.Deviation[i]*4095/codes)
				if want := row.want[1] / 10; !within(got.Spread[i]*4095/codes, want, 1e-11) {
					t.Errorf("channel %d: got a spread of the mean of %v, want a tenth of the deviation, %v", i, got.Spread[i]*4095/codes, want)
				}
			}
		})
	}
}
