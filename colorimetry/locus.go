package colorimetry

import (
	"math"

	"evenwhite/colorimetry/tables"
)

// Locus says on which line a white lies that is known by its temperature alone.
// The zero value is BlackBody.
type Locus int

const (
	// BlackBody is the Planckian locus, where Duv is 0.
	BlackBody Locus = iota
	// Daylight is the CIE daylight locus, at a Duv of about +0.003.
	Daylight
	// Blend follows the black body up to 4000 K and daylight from 5000 K on; in
	// between it goes straight from one to the other in u v, by mired. The two
	// ends are common practice, no source.
	Blend
)

// SecondRadiation is the second radiation constant c2 in m·K that every
// temperature here refers to [ITS90]. Older tables used 1.4380e-2 and
// 1.4350e-2: a temperature T of theirs is T·1.4388/1.4380 here.
const SecondRadiation = 1.4388e-2

const (
	minCCT, maxCCT           = 1000, 100000
	minDaylight, maxDaylight = 4000, 25000
	blendBlackBody           = 4000
	blendDaylight            = 5000
)

// Planckian returns the chromaticity of a black body. Domain: 1000 to 100 000 K,
// else ErrDomain. It is read from a table of the integral of Planck's law over
// 360 to 830 nm; the range matters: 380 to 780 nm would be 2 K off at 6500 K.
// Within 1e-12 of the integral [CIE15].
func Planckian(k Kelvin) (UV, error) {
	if err := checkCCT(k); err != nil {
		return UV{}, err
	}
	p := locusAt(1e6 / float64(k))
	return UV{p.u, p.v}, nil
}

// DaylightXY returns the point of the daylight locus. Domain: 4000 to 25 000 K,
// else ErrDomain. The CCT of that point is k to within a few kelvin only: k is
// the argument of the CIE polynomial [CIE15].
func DaylightXY(k Kelvin) (XY, error) {
	if !(k >= minDaylight && k <= maxDaylight) {
		return XY{}, domainError("daylight temperature in kelvin", float64(k), "4000 to 25000")
	}
	i := 1e3 / float64(k)
	x := 0.244063 + i*(0.09911+i*(2.9678-i*4.6070))
	if k > 7000 {
		x = 0.237040 + i*(0.24748+i*(1.9018-i*2.0064))
	}
	return XY{x, -0.275 + x*(2.870-3*x)}, nil
}

// Nominal returns the white that a temperature alone stands for. Domain: that of
// Planckian or DaylightXY; Blend takes 1000 to 25 000 K.
func Nominal(k Kelvin, l Locus) (XY, error) {
	switch {
	case l == BlackBody || l == Blend && k <= blendBlackBody:
		uv, err := Planckian(k)
		if err != nil {
			return XY{}, err
		}
		return uv.XY()
	case l == Daylight || l == Blend && k >= blendDaylight:
		return DaylightXY(k)
	case l == Blend && k > blendBlackBody:
		return blended(k)
	case l == Blend:
		return XY{}, checkCCT(k)
	}
	return XY{}, domainError("locus", float64(l), "0 (black body), 1 (daylight) or 2 (blend)")
}

func blended(k Kelvin) (XY, error) {
	cold, err := Planckian(blendBlackBody)
	if err != nil {
		return XY{}, err
	}
	hot, err := DaylightXY(blendDaylight)
	if err != nil {
		return XY{}, err
	}
	const span = 1e6/blendBlackBody - 1e6/blendDaylight
	t, end := (1e6/blendBlackBody-1e6/float64(k))/span, hot.UV()
	return UV{cold.U + t*(end.U-cold.U), cold.V + t*(end.V-cold.V)}.XY()
}

func checkCCT(k Kelvin) error {
	if !(k >= minCCT && k <= maxCCT) {
		return domainError("CCT in kelvin", float64(k), "1000 to 100000")
	}
	return nil
}

// locusPoint is a point of the Planckian locus with its first and second
// derivative by mired.
type locusPoint struct{ u, v, u1, v1, u2, v2 float64 }

// normal returns the unit normal that points above the locus. u rises with mired
// all along it, so that the normal never tips over.
func (p locusPoint) normal() (nu, nv float64) {
	l := math.Sqrt(p.u1*p.u1 + p.v1*p.v1)
	return -p.v1 / l, p.u1 / l
}

// span is one step of the locus: a polynomial of degree five in the fraction of
// the step for u and for v, which meets value, slope and curvature at both ends.
type span struct{ u, v [6]float64 }

var spans = buildSpans()

func buildSpans() (s [len(tables.Locus) - 1]span) {
	for i := range s {
		a, b := tables.Locus[i], tables.Locus[i+1]
		s[i] = span{quintic(a[0], a[2], a[4], b[0], b[2], b[4]), quintic(a[1], a[3], a[5], b[1], b[3], b[5])}
	}
	return s
}

// quintic solves the Hermite conditions at 0 and at 1 for slopes and curvatures
// by mired.
func quintic(p, p1, p2, q, q1, q2 float64) [6]float64 {
	const h = tables.LocusStep
	p1, q1, p2, q2 = p1*h, q1*h, p2*h*h/2, q2*h*h/2
	d := q - p
	return [6]float64{
		p, p1, p2,
		10*d - 6*p1 - 4*q1 - 3*p2 + q2,
		-15*d + 8*p1 + 7*q1 + 3*p2 - 2*q2,
		6*d - 3*(p1+q1) - p2 + q2,
	}
}

// locusAt evaluates the locus; beyond the table it continues the last step.
func locusAt(mired float64) locusPoint {
	const h = tables.LocusStep
	t := (mired - tables.LocusFirst) / h
	i := min(max(int(t), 0), len(spans)-1)
	s := &spans[i]
	t -= float64(i)
	u, u1, u2 := polynomial(&s.u, t)
	v, v1, v2 := polynomial(&s.v, t)
	return locusPoint{u, v, u1 / h, v1 / h, u2 / (h * h), v2 / (h * h)}
}

// polynomial returns the value and the first two derivatives.
func polynomial(a *[6]float64, t float64) (p, p1, p2 float64) {
	p = a[0] + t*(a[1]+t*(a[2]+t*(a[3]+t*(a[4]+t*a[5]))))
	p1 = a[1] + t*(2*a[2]+t*(3*a[3]+t*(4*a[4]+t*5*a[5])))
	p2 = 2*a[2] + t*(6*a[3]+t*(12*a[4]+t*20*a[5]))
	return p, p1, p2
}
