package colorimetry

import (
	"errors"
	"math"
	"testing"

	"evenwhite/colorimetry/tables"
	"pgregory.net/rapid"
)

// integrated is the Planckian locus by direct summation of Planck's law, the
// definition that the table and its interpolation are measured against.
func integrated(kelvin float64) UV {
	var x, y, z float64
	for i, c := range tables.Observer1931 {
		lambda := float64(360+i) * 1e-9
		m := math.Pow(lambda*1e6, -5) / math.Expm1(1.4388e-2/(lambda*kelvin))
		x, y, z = x+m*c[0], y+m*c[1], z+m*c[2]
	}
	return UV{4 * x / (x + 15*y + 3*z), 6 * y / (x + 15*y + 3*z)}
}

func TestThePlanckianLocusIsThePublishedOne(t *testing.T) {
	for _, row := range checkRows(t, "robertson1968.json") {
		t.Run(row.Name, func(t *testing.T) {
			uv, err := Planckian(Kelvin(1e6 / row.in[0]))
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, uv.U, uv.V)
		})
	}
}

func TestTheLocusTableFollowsTheIntegral(t *testing.T) {
	worst, at := 0.0, 0.0
	for m := 10.0; m <= 1000; m += 0.7 {
		got, err := Planckian(Kelvin(1e6 / m))
		if err != nil {
			t.Fatal(err)
		}
		want := integrated(1e6 / m)
		if d := math.Hypot(got.U-want.U, got.V-want.V); !(d <= worst) {
			worst, at = d, m
		}
	}
	t.Logf("greatest distance in u v %.2g at %.1f mired", worst, at)
	if !within(worst, 0, 1e-12) {
		t.Errorf("got a distance of %v at %v mired, want at most 1e-12", worst, at)
	}
}

// The derivatives of the table are compared with differences of the integral,
// which do not share its formulas.
func TestTheLocusTableHoldsTheSlopeOfTheIntegral(t *testing.T) {
	const h = 0.01
	for i := 1; i < len(tables.Locus); i += 20 {
		m, n := tables.LocusFirst+tables.LocusStep*float64(i), tables.Locus[i]
		a, b, c := integrated(1e6/(m-h)), integrated(1e6/m), integrated(1e6/(m+h))
		if got, want := n[2], (c.U-a.U)/(2*h); !within(got, want, 1e-10) {
			t.Errorf("u′ at %v mired: got %v, want %v", m, got, want)
		}
		if got, want := n[3], (c.V-a.V)/(2*h); !within(got, want, 1e-10) {
			t.Errorf("v′ at %v mired: got %v, want %v", m, got, want)
		}
		if got, want := n[4], (c.U-2*b.U+a.U)/(h*h); !within(got, want, 1e-10) {
			t.Errorf("u″ at %v mired: got %v, want %v", m, got, want)
		}
	}
}

// The range of the sum matters and the step does not. Own computation: sums over
// other ranges, read back as CCT.
func TestTheLocusIsSummedFrom360To830(t *testing.T) {
	cct := func(k Kelvin, from, to, step int) float64 {
		var nm, values []float64
		for w := from; w <= to; w += step {
			nm, values = append(nm, float64(w)), append(values, planck(float64(w), float64(k)))
		}
		s, err := NewSpectrum(nm, values)
		if err != nil {
			t.Fatal(err)
		}
		xy, err := s.XY()
		if err != nil {
			t.Fatal(err)
		}
		c, err := xy.CCTDuv()
		if err != nil {
			t.Fatal(err)
		}
		return float64(c.CCT)
	}
	for _, c := range []struct {
		kelvin          Kelvin
		byRange, byStep float64
	}{{6500, 1, 0.1}, {10000, 5, 0.5}, {25000, 50, 5}} {
		if off := math.Abs(cct(c.kelvin, 360, 830, 5) - float64(c.kelvin)); !(off < c.byStep) {
			t.Errorf("%v K at 5 nm: off by %v K, want below %v", c.kelvin, off, c.byStep)
		}
		if off := math.Abs(cct(c.kelvin, 380, 780, 5) - float64(c.kelvin)); !(off > c.byRange) {
			t.Errorf("%v K from 380 to 780 nm: off by %v K, want above %v", c.kelvin, off, c.byRange)
		}
	}
}

// The standard's polynomial and its components are two roads to the same light;
// the illuminants' y differ by 1e-4 between them.
func TestDaylightLocusAndSpectrumAgree(t *testing.T) {
	for k := Kelvin(4000); k <= 25000; k += 250 {
		locus, err := DaylightXY(k)
		if err != nil {
			t.Fatal(err)
		}
		s, err := DaylightSpectrum(k)
		if err != nil {
			t.Fatal(err)
		}
		xy, err := s.XY()
		if err != nil {
			t.Fatal(err)
		}
		if !within(xy.X, locus.X, 2e-4) || !within(xy.Y, locus.Y, 3e-4) {
			t.Errorf("%v K: got %v by spectrum, want %v as on the locus", k, xy, locus)
		}
	}
}

func TestDaylightLiesAboveTheBlackBody(t *testing.T) {
	for _, k := range []Kelvin{5000, 5600, 6504} {
		xy, err := Nominal(k, Daylight)
		if err != nil {
			t.Fatal(err)
		}
		c, err := xy.CCTDuv()
		if err != nil {
			t.Fatal(err)
		}
		if !within(float64(c.Duv), 0.0032, 0.00015) {
			t.Errorf("%v K: got Duv %v, want 0.0031 to 0.0033", k, c.Duv)
		}
		if !within(float64(c.CCT), float64(k), 2) {
			t.Errorf("%v K: got CCT %v, want within 2 K", k, c.CCT)
		}
	}
}

func TestBlendJoinsBlackBodyAndDaylight(t *testing.T) {
	for _, c := range []struct {
		kelvin Kelvin
		same   Locus
	}{{3200, BlackBody}, {4000, BlackBody}, {5000, Daylight}, {5600, Daylight}} {
		got, err := Nominal(c.kelvin, Blend)
		if err != nil {
			t.Fatal(err)
		}
		want, err := Nominal(c.kelvin, c.same)
		if err != nil {
			t.Fatal(err)
		}
		if got != want {
			t.Errorf("%v K: got %v, want %v", c.kelvin, got, want)
		}
	}
	last := math.Inf(1)
	for k := Kelvin(3900); k <= 5100; k += 5 {
		xy, err := Nominal(k, Blend)
		if err != nil {
			t.Fatal(err)
		}
		if !(xy.X < last && last-xy.X < 0.002 || math.IsInf(last, 1)) {
			t.Errorf("%v K: x jumps from %v to %v", k, last, xy.X)
		}
		last = xy.X
	}
	middle, err := Nominal(Kelvin(1e6/225.0), Blend)
	if err != nil {
		t.Fatal(err)
	}
	c, err := middle.CCTDuv()
	if err != nil {
		t.Fatal(err)
	}
	if !(c.Duv > 0.0005 && c.Duv < 0.0025) {
		t.Errorf("half way by mired: got Duv %v, want one between the two ends", c.Duv)
	}
}

func TestLociRefuseWhatLiesOutside(t *testing.T) {
	for _, k := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1, 0, 999, 100001} {
		if _, err := Planckian(Kelvin(k)); !errors.Is(err, ErrDomain) {
			t.Errorf("Planckian(%v): got %v, want ErrDomain", k, err)
		}
		if _, err := PlanckianSpectrum(Kelvin(k)); !errors.Is(err, ErrDomain) {
			t.Errorf("PlanckianSpectrum(%v): got %v, want ErrDomain", k, err)
		}
		for _, l := range []Locus{BlackBody, Daylight, Blend, -1, 3} {
			if _, err := Nominal(Kelvin(k), l); !errors.Is(err, ErrDomain) {
				t.Errorf("Nominal(%v, %v): got %v, want ErrDomain", k, l, err)
			}
		}
	}
	for _, k := range []float64{math.NaN(), 3999, 25001} {
		if _, err := DaylightXY(Kelvin(k)); !errors.Is(err, ErrDomain) {
			t.Errorf("DaylightXY(%v): got %v, want ErrDomain", k, err)
		}
		if _, err := DaylightSpectrum(Kelvin(k)); !errors.Is(err, ErrDomain) {
			t.Errorf("DaylightSpectrum(%v): got %v, want ErrDomain", k, err)
		}
	}
	if _, err := Nominal(5600, Locus(3)); !errors.Is(err, ErrDomain) {
		t.Errorf("an unknown locus: got %v, want ErrDomain", err)
	}
}

func TestHotterBlackBodiesHaveSmallerU(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(1000, 100000).Draw(t, "a")
		b := rapid.Float64Range(1000, 100000).Draw(t, "b")
		cold, hot := min(a, b), max(a, b)
		if hot-cold < 1e-6*hot {
			return
		}
		p, err := Planckian(Kelvin(cold))
		if err != nil {
			t.Fatal(err)
		}
		q, err := Planckian(Kelvin(hot))
		if err != nil {
			t.Fatal(err)
		}
		if !(p.U > q.U) {
			t.Errorf("got u %v at %v K and %v at %v K, want it to fall", p.U, cold, q.U, hot)
		}
	})
}

// The printed table was summed over 360 to 780 nm only, and so is this. Over the
// range of this package u at 1000 K is 0.44801.
func TestTheBlackBodyOfAnIndependentImplementation(t *testing.T) {
	for _, row := range checkRows(t, "planckian-360-780.json") {
		t.Run(row.Name, func(t *testing.T) {
			var c XYZ
			for nm := 360; nm <= 780; nm++ {
				power, observer := planck(float64(nm), row.in[0]), tables.Observer1931[nm-360]
				c = XYZ{c.X + power*observer[0], c.Y + power*observer[1], c.Z + power*observer[2]}
			}
			uv := c.UVPrime().UV()
			row.compare(t, uv.U, uv.V)
		})
	}
}

// The daylight locus is rounded so that its y is up to 1e-4 off the illuminants' own.
// At the nominal temperature itself it would be up to 1e-4 further [CIE15].
func TestTheDaylightLocusPassesTheIlluminants(t *testing.T) {
	nominal := map[string]Kelvin{"D50": 5000, "D55": 5500, "D65": 6500, "D75": 7500}
	passed := 0
	for _, row := range checkRows(t, "cie15-illuminants.json") {
		k, is := nominal[row.Name]
		if !is {
			continue
		}
		passed++
		xy, err := DaylightXY(k * 1.4388 / 1.4380)
		if err != nil {
			t.Fatal(err)
		}
		if !within(xy.X, row.want[0], 2e-5) || !within(xy.Y, row.want[1], 1.1e-4) {
			t.Errorf("%s: got %v, want %v", row.Name, xy, row.want)
		}
		light, err := xy.CCTDuv()
		if err != nil {
			t.Fatal(err)
		}
		if !(math.Abs(float64(light.CCT-k)) > 2) {
			t.Errorf("%s: got a CCT of %v, want it some kelvin off the nominal %v", row.Name, light.CCT, k)
		}
	}
	if passed != 4 {
		t.Errorf("%d illuminants, want 4", passed)
	}
}

func TestNominalWhitesAreThePublishedOnes(t *testing.T) {
	for _, row := range checkRows(t, "cie15-illuminants.json") {
		nominal := map[string]struct {
			k Kelvin
			l Locus
		}{
			"A": {2848 * 1.4388 / 1.435, BlackBody}, "D50": {5000 * 1.4388 / 1.438, Daylight},
			"D55": {5500 * 1.4388 / 1.438, Blend}, "D65": {6500 * 1.4388 / 1.438, Daylight},
		}
		n, is := nominal[row.Name]
		if !is {
			continue
		}
		t.Run(row.Name, func(t *testing.T) {
			xy, err := Nominal(n.k, n.l)
			// The printed y is that of the spectrum, which the locus misses by 1e-4.
			if err != nil || !within(xy.X, row.want[0], 2e-5) || !within(xy.Y, row.want[1], 1.1e-4) {
				t.Errorf("got %v, %v, want %v", xy, err, row.want)
			}
		})
	}
}
