package colorimetry

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestCCTAndDuvOfTheNominalCentres(t *testing.T) {
	for _, row := range checkRows(t, "ansi-c78-377.json") {
		t.Run(row.Name, func(t *testing.T) {
			c, err := XY{row.in[0], row.in[1]}.CCTDuv()
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, float64(c.CCT), float64(c.Duv))
		})
	}
}

func TestCCTAndDuvOfTheWorkedExample(t *testing.T) {
	for _, row := range checkRows(t, "ohno2014.json") {
		t.Run(row.Name, func(t *testing.T) {
			xy, err := UV{row.in[0], row.in[1]}.XY()
			if err != nil {
				t.Fatal(err)
			}
			c, err := xy.CCTDuv()
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, float64(c.CCT), float64(c.Duv))
			// And back, to the digits that are printed.
			back, err := CCTDuv{Kelvin(row.want[0]), Duv(row.want[1])}.XY()
			if uv := back.UV(); err != nil || !within(uv.U, row.in[0], 5e-6) || !within(uv.V, row.in[1], 5e-6) {
				t.Errorf("back: got %v (%v), want %v", uv, err, row.in)
			}
		})
	}
}

// McCamy 1992 from memory. It is a cross-check of the order of size between 4000
// and 7000 K near the locus, and a trap above 15 000 K.
func TestMcCamysFormulaIsOnlyACrossCheck(t *testing.T) {
	for _, c := range []struct {
		kelvin      Kelvin
		least, most float64
	}{{4000, 0, 40}, {5000, 0, 40}, {6500, 0, 40}, {25000, 1000, 20000}} {
		uv, err := Planckian(c.kelvin)
		if err != nil {
			t.Fatal(err)
		}
		xy, err := uv.XY()
		if err != nil {
			t.Fatal(err)
		}
		got, err := xy.CCTDuv()
		if err != nil {
			t.Fatal(err)
		}
		n := (xy.X - 0.3320) / (0.1858 - xy.Y)
		mccamy := 449*n*n*n + 3525*n*n + 6823.3*n + 5520.33
		if d := math.Abs(mccamy - float64(got.CCT)); !(d >= c.least && d <= c.most) {
			t.Errorf("%v K: got %v, McCamy says %v, want %v to %v K between them", c.kelvin, got.CCT, mccamy, c.least, c.most)
		}
	}
}

// Green lights end where no blue is left: the greatest Duv is named, and is one.
func TestTheGreenestLightOfATemperature(t *testing.T) {
	_, err := CCTDuv{1850, 0.012}.XY()
	if !errors.Is(err, ErrDomain) || !strings.Contains(err.Error(), "Duv at 1850 K is 0.012, allowed is at most 0.0082: no light is greener") {
		t.Errorf("got %v", err)
	}
	for k := Kelvin(1000); k <= 6000; k += 50 {
		most := MaxDuv
		if _, err := (CCTDuv{k, MaxDuv}).XY(); err != nil {
			_, after, _ := strings.Cut(err.Error(), "at most ")
			text, _, _ := strings.Cut(after, ":")
			f, parsed := strconv.ParseFloat(text, 64)
			if parsed != nil {
				t.Fatalf("%v K: got %v", k, err)
			}
			most = Duv(f)
			if xy, err := (CCTDuv{k, most + 0.0001}).XY(); err == nil {
				t.Errorf("%v K: Duv %v above the greatest is %v", k, most+0.0001, xy)
			}
		}
		if xy, err := (CCTDuv{k, most}).XY(); err != nil || xy.Check() != nil {
			t.Errorf("%v K: the greatest Duv, %v, is no light: %v", k, most, err)
		}
	}
}

// drawLight draws a light of the whole domain. Green below 3780 K can lie outside
// the plane of chromaticities; such a draw is turned into magenta.
func drawLight(t *rapid.T) (CCTDuv, XY) {
	m := rapid.Float64Range(10.000001, 1000).Draw(t, "mired")
	c := CCTDuv{Kelvin(1e6 / m), Duv(rapid.Float64Range(-0.05, 0.05).Draw(t, "duv"))}
	xy, err := c.XY()
	if err == nil {
		return c, xy
	}
	if c.CCT > 3780 || c.Duv < 0 || !errors.Is(err, ErrDomain) {
		t.Fatalf("%v: %v", c, err)
	}
	c.Duv = -c.Duv
	if xy, err = c.XY(); err != nil {
		t.Fatalf("%v: %v", c, err)
	}
	return c, xy
}

func TestCCTDuvRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want, xy := drawLight(t)
		got, err := xy.CCTDuv()
		if err != nil {
			t.Fatalf("%v: %v", want, err)
		}
		if !within(float64(got.Mired()), float64(want.Mired()), 1e-8) || !within(float64(got.Duv), float64(want.Duv), 1e-12) {
			t.Fatalf("got %v, want %v", got, want)
		}
	})
}

func TestDuvIsPlusAboveTheLocus(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, xy := drawLight(t)
		on, err := Planckian(c.CCT)
		if err != nil {
			t.Fatal(err)
		}
		if above := xy.UV().V > on.V; math.Abs(float64(c.Duv)) > 1e-12 && above != (c.Duv > 0) {
			t.Errorf("%v: above the locus is %v", c, above)
		}
	})
}

func TestTheEndsOfTheDomainBelongToIt(t *testing.T) {
	for _, c := range []CCTDuv{{1000, 0}, {1000, -0.05}, {100000, 0.05}, {100000, -0.05}, {100000, 0}, {3800, 0.05}} {
		xy, err := c.XY()
		if err != nil {
			t.Errorf("%v: %v", c, err)
			continue
		}
		got, err := xy.CCTDuv()
		if err != nil || !within(float64(got.CCT), float64(c.CCT), 1e-4) || !within(float64(got.Duv), float64(c.Duv), 1e-12) {
			t.Errorf("got %v, %v, want %v", got, err, c)
		}
	}
}

func TestColoursWithoutCCTAreRefused(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name string
		xy   XY
	}{
		{"a saturated red", XY{0.68, 0.31}}, {"a saturated green", XY{0.2, 0.7}}, {"a saturated blue", XY{0.15, 0.05}},
		{"magenta", XY{0.38, 0.2}}, {"just above Duv 0.05", XY{0.33, 0.46}}, {"beyond 100 000 K", XY{0.239, 0.233}},
		{"below 1000 K", XY{0.67, 0.3299}},
		{"x of 0", XY{0, 0.3}}, {"x + y above 1", XY{0.6, 0.6}}, {"NaN", XY{nan, 0.3}}, {"infinity", XY{0.3, inf}}, {"minus", XY{-0.1, 0.3}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got, err := c.xy.CCTDuv(); !errors.Is(err, ErrDomain) {
				t.Errorf("got %v, %v, want ErrDomain", got, err)
			}
		})
	}
	for _, c := range []CCTDuv{{999, 0}, {100001, 0}, {5000, 0.0501}, {5000, -0.0501}, {Kelvin(nan), 0}, {5000, Duv(nan)}, {1000, 0.05}} {
		if got, err := c.XY(); !errors.Is(err, ErrDomain) {
			t.Errorf("%v: got %v, %v, want ErrDomain", c, got, err)
		}
	}
}

func FuzzCCTDuv(f *testing.F) {
	for _, s := range [][2]float64{{0.3127, 0.329}, {0.45, 0.41}, {0.15, 0.05}, {1e-300, 1e-300}, {math.NaN(), 0.3}, {0.24, 0.235}} {
		f.Add(s[0], s[1])
	}
	f.Fuzz(func(t *testing.T, x, y float64) {
		got, err := XY{x, y}.CCTDuv()
		if err != nil {
			if !errors.Is(err, ErrDomain) {
				t.Fatalf("got %v, want ErrDomain", err)
			}
			return
		}
		if err := got.Check(); err != nil {
			t.Fatalf("x %v, y %v: %v", x, y, err)
		}
		back, err := got.XY()
		if err != nil || !within(back.X, x, 1e-8) || !within(back.Y, y, 1e-8) {
			t.Fatalf("x %v, y %v became %v, %v", x, y, back, err)
		}
	})
}

func TestCCTOfTheIlluminants(t *testing.T) {
	spectra := illuminants(t)
	for _, row := range checkRows(t, "cie15-cct.json") {
		t.Run(row.Name, func(t *testing.T) {
			xy, err := spectra[row.Name].XY()
			if err != nil {
				t.Fatal(err)
			}
			c, err := xy.CCTDuv()
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, float64(c.CCT))
		})
	}
}

// Why no screen shows more digits than it should, and why limits are not in kelvin.
func TestADigitAndAStepAreWorthMoreKelvinTheHotter(t *testing.T) {
	for _, row := range checkRows(t, "digits.json") {
		t.Run(row.Name, func(t *testing.T) {
			k := Kelvin(row.in[0])
			xy := mustXY(t, row.in[0], 0)
			digit := 0.0
			for _, moved := range []XY{{xy.X + 1e-4, xy.Y}, {xy.X - 1e-4, xy.Y}, {xy.X, xy.Y + 1e-4}, {xy.X, xy.Y - 1e-4}} {
				c, err := moved.CCTDuv()
				if err != nil {
					t.Fatal(err)
				}
				digit = max(digit, math.Abs(float64(c.CCT-k)))
			}
			from := xy.UVPrime()
			lo, hi := row.in[0], 1.2*row.in[0]
			for hi-lo > 1e-6 {
				if mid := (lo + hi) / 2; mustXY(t, mid, 0).UVPrime().Distance(from) < StepUVPrime {
					lo = mid
				} else {
					hi = mid
				}
			}
			row.compare(t, digit, lo-row.in[0], 1e6/row.in[0]-1e6/lo)
		})
	}
}

// Robertson's table read backwards: his point of a black body has his mireds. Half
// a unit of its fifth digit is up to 0.08 mired along the locus; at 10 mired that
// passes the end of the domain.
func TestMiredsOfThePublishedLocus(t *testing.T) {
	for _, row := range checkRows(t, "robertson1968.json") {
		if row.in[0] == 10 {
			continue
		}
		t.Run(row.Name, func(t *testing.T) {
			xy, err := UV{row.want[0], row.want[1]}.XY()
			if err != nil {
				t.Fatal(err)
			}
			c, err := xy.CCTDuv()
			if err != nil {
				t.Fatal(err)
			}
			if got := float64(c.Mired()); !within(got, row.in[0], 0.08) || !within(float64(c.Duv), 0, 1e-5) {
				t.Errorf("got %v mired, Duv %v, want %v on the locus", got, c.Duv, row.in[0])
			}
		})
	}
}
