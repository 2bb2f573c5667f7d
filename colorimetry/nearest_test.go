package colorimetry

import (
	"errors"
	"math"
	"math/rand/v2"
	"sync"
	"testing"
)

// integral is the locus by direct summation every half mired, from beyond one end
// of the domain to beyond the other.
var integral = sync.OnceValue(func() (points []UV) {
	for m := integralFrom; m <= integralTo; m += integralStep {
		points = append(points, integrated(1e6/m))
	}
	return points
})

const integralFrom, integralTo, integralStep = 5.0, 1200.0, 0.5

func squared(a, b UV) float64 { return (a.U-b.U)*(a.U-b.U) + (a.V-b.V)*(a.V-b.V) }

// trueNearest finds the nearest point by its definition alone: it tries the whole
// locus, then searches around the best point for the least distance to the
// integral by golden section. The distance is flat at its least, which leaves some
// 1e-6 mired. The Duv may lie outside the domain, and so may the CCT.
func trueNearest(c UV) (mired float64, duv Duv) {
	best := 0
	for i, p := range integral() {
		if squared(p, c) < squared(integral()[best], c) {
			best = i
		}
	}
	distance := func(m float64) float64 { return squared(integrated(1e6/m), c) }
	const golden = 0.6180339887498949
	lo := max(integralFrom+integralStep*float64(best-1), 1)
	hi := integralFrom + integralStep*float64(best+1)
	a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
	da, db := distance(a), distance(b)
	for hi-lo > 1e-7 {
		if da < db {
			hi, b, db = b, a, da
			a = hi - golden*(hi-lo)
			da = distance(a)
		} else {
			lo, a, da = a, b, db
			b = lo + golden*(hi-lo)
			db = distance(b)
		}
	}
	mired = (lo + hi) / 2
	// The side: left of the way towards more mired is above.
	at, next := integrated(1e6/mired), integrated(1e6/(mired+0.1))
	side := (next.U-at.U)*(c.V-at.V) - (next.V-at.V)*(c.U-at.U)
	return mired, Duv(math.Copysign(math.Sqrt(distance(mired)), side))
}

// errorsOf are the greatest differences from the nearest point by definition: in
// kelvin up to 10 000 K, relative beyond, and in Duv.
type errorsOf struct{ kelvin, relative, duv float64 }

func (e *errorsOf) add(got CCTDuv, mired float64, duv Duv) {
	want := 1e6 / mired
	off := math.Abs(float64(got.CCT) - want)
	if want <= 10000*(1+1e-9) {
		e.kelvin = max(e.kelvin, off)
	} else {
		e.relative = max(e.relative, off/want)
	}
	e.duv = max(e.duv, math.Abs(float64(got.Duv-duv)))
}

func (e errorsOf) check(t *testing.T, what string) {
	t.Helper()
	t.Logf("%s: off by at most %.2g K to 10 000 K, %.2g relative beyond, Duv %.2g", what, e.kelvin, e.relative, e.duv)
	if !within(e.kelvin, 0, 0.01) {
		t.Errorf("%s: off by %v K, want at most 0.01 to 10 000 K", what, e.kelvin)
	}
	if !within(e.relative, 0, 1e-5) {
		t.Errorf("%s: off by %v relative, want at most 1e-5", what, e.relative)
	}
	if !within(e.duv, 0, 1e-7) {
		t.Errorf("%s: Duv off by %v, want at most 1e-7", what, e.duv)
	}
}

// worstErrors compares the answer for random lights of 1000 to 25 000 K. Green
// below 3780 K can be no light at all; such a draw is not counted.
func worstErrors(t testing.TB, lights int, seed uint64) (e errorsOf) {
	r := rand.New(rand.NewPCG(seed, 0))
	for n := 0; n < lights; {
		given := CCTDuv{Kelvin(1e6 / (40 + 960*r.Float64())), Duv(0.1*r.Float64() - 0.05)}
		xy, err := given.XY()
		if err != nil {
			continue
		}
		n++
		got, err := xy.CCTDuv()
		if err != nil {
			t.Fatalf("seed %d: %v: %v", seed, given, err)
		}
		mired, duv := trueNearest(xy.UV())
		e.add(got, mired, duv)
	}
	return e
}

func TestCCTIsThatOfTheNearestPoint(t *testing.T) {
	t.Parallel()
	worstErrors(t, 800, 1).check(t, "seed 1, 800 lights")
}

// Where a formula goes wrong first: at the ends of the domain, on the locus itself,
// at 0.05 from it, and where the locus bends most.
func TestCCTIsThatOfTheNearestPointAtTheEdges(t *testing.T) {
	var e errorsOf
	n := 0
	for _, k := range []Kelvin{
		1000, 1000.001, 1001, 1667, 2000, 2855.54, 3779, 4999.99, 5000, 5000.01, 5195,
		7000, 9999.99, 10000, 10000.01, 15000, 24999.99, 25000,
	} {
		for _, duv := range []Duv{-0.05, -0.0499999, -0.03, -0.01, -1e-4, -1e-7, 0, 1e-7, 1e-4, 0.01, 0.03, 0.0499999, 0.05} {
			xy, err := CCTDuv{k, duv}.XY()
			if err != nil {
				if k > 3780 || duv < 0 {
					t.Errorf("%v K, Duv %v: %v", k, duv, err)
				}
				continue
			}
			got, err := xy.CCTDuv()
			if err != nil {
				t.Errorf("%v K, Duv %v: %v", k, duv, err)
				continue
			}
			mired, distance := trueNearest(xy.UV())
			e.add(got, mired, distance)
			n++
		}
	}
	if n < 200 {
		t.Errorf("%d lights, want 200 or more", n)
	}
	e.check(t, "the edges")
}

// Chromaticities all over the plane: the definition alone says which of them have a
// CCT, and what it is.
func TestTheDefinitionSaysWhichChromaticitiesHaveACCT(t *testing.T) {
	t.Parallel()
	const points, seed = 800, 2
	r := rand.New(rand.NewPCG(seed, 0))
	var e errorsOf
	inside, outside := 0, 0
	for inside+outside < points {
		c := UV{0.10 + 0.40*r.Float64(), 0.20 + 0.20*r.Float64()}
		xy, err := c.XY()
		if err != nil {
			continue
		}
		mired, duv := trueNearest(c)
		got, err := xy.CCTDuv()
		distance := math.Abs(float64(duv))
		switch {
		case distance < float64(MaxDuv)-1e-7 && mired > 10.0001 && mired < 999.99:
			inside++
			if err != nil {
				t.Errorf("seed %d: %v: got %v, want %v K, Duv %v", seed, c, err, 1e6/mired, duv)
				continue
			}
			e.add(got, mired, duv)
		case distance > float64(MaxDuv)+1e-7 || mired < 9.9999 || mired > 1000.01:
			outside++
			if !errors.Is(err, ErrDomain) {
				t.Errorf("seed %d: %v: got %v, %v, want ErrDomain: it lies at %v K, Duv %v", seed, c, got, err, 1e6/mired, duv)
			}
		}
	}
	if inside < points/4 || outside < points/4 {
		t.Errorf("seed %d: %d with a CCT and %d without, want a quarter of %d at least", seed, inside, outside, points)
	}
	e.check(t, "seed 2, all over the plane")
}
