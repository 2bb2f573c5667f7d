package colorimetry

import (
	"fmt"
	"math"
)

// Gel is a colour filter on a light, or a stack of them.
type Gel struct {
	// Shift is what the gel adds to the mireds of the light: + is warmer.
	Shift Mired
	// CC is the strength of the green (+) or magenta (−) part: 30 is a density
	// of 0.30 in its band, sold as "full plus green" or "full minus green".
	CC float64
	// Loss is the light that the gel takes away.
	Loss Stops
}

// maxCC is the strongest green or magenta part of a stack: two gels of CC 60.
const maxCC = 120

// Stack returns the one gel that several on top of each other make: mireds, CC
// and stops all add (common practice, no source), so the order does not matter.
// A stack of none is clear.
func Stack(gels ...Gel) Gel {
	var s Gel
	for _, g := range gels {
		s.Shift += g.Shift
		s.CC += g.CC
		s.Loss += g.Loss
	}
	return s
}

// Pull is which way a gel takes a light: Warmth +1 warmer, -1 cooler, Green +1 greener, -1
// more magenta, 0 neither.
type Pull struct{ Warmth, Green int }

// Opposes reports whether two gels on one light undo each other: one is there to warm and
// the other to cool, or one for green and the other for magenta.
func (p Pull) Opposes(q Pull) bool { return p.Warmth*q.Warmth < 0 || p.Green*q.Green < 0 }

// A full gel shifts by 131 mired or has CC 30, about 4 mired for each CC. What a gel does
// by less than a quarter of its other part comes along with it: a full blue that is a
// little green is not there for green. A quarter is a choice of this program.
const (
	miredPerCC = 4
	aPart      = 0.25
)

// Pull says which way a gel takes a light by its values.
func (g Gel) Pull() (p Pull) {
	shift, cc := math.Abs(float64(g.Shift)), math.Abs(g.CC)*miredPerCC
	if g.Shift != 0 && shift >= aPart*cc {
		p.Warmth = int(math.Copysign(1, float64(g.Shift)))
	}
	if g.CC != 0 && cc >= aPart*shift {
		p.Green = int(math.Copysign(1, g.CC))
	}
	return p
}

// Through returns the light behind a gel: its mireds moved by Shift, its Duv by
// CCToDuv at the new temperature. Domain: light and result in the domain of
// CCTDuv, CC from −120 to +120; else ErrDomain. The shift is the nominal one:
// +131 gives +108 to +114 on common white LED lamps, so that the result wants a
// meter.
func Through(light CCTDuv, g Gel) (CCTDuv, error) {
	if err := light.Check(); err != nil {
		return CCTDuv{}, fmt.Errorf("the light: %w", err)
	}
	k, err := (light.Mired() + g.Shift).Kelvin()
	if err != nil {
		return CCTDuv{}, fmt.Errorf("the light behind the gel: %w", err)
	}
	out := CCTDuv{k, light.Duv}
	if g.CC != 0 && checkCCT(k) == nil {
		duv, err := CCToDuv(g.CC, out)
		if err != nil {
			return CCTDuv{}, err
		}
		out.Duv += duv
	}
	if err := out.Check(); err != nil {
		return CCTDuv{}, fmt.Errorf("the light behind the gel: %w", err)
	}
	return out, nil
}

// CCToDuv returns how far CC green (+) or magenta (−) moves the Duv of a light
// of the given CCT; the light's own Duv is not used. It is the model of a filter on
// a black body that has a density of n/100 for CC n: magenta in the green band, green
// in the blue and the red band. Real gels keep to it within about 30 %; what the model
// does to the mireds is left out, because it says nothing about a gel. Domain:
// CC from −120 to +120, a CCT of 1000 to 100 000 K, and a filtered light that
// still has a CCT; else ErrDomain.
func CCToDuv(cc float64, light CCTDuv) (Duv, error) {
	if err := checkCC(cc); err != nil {
		return 0, err
	}
	if err := checkCCT(light.CCT); err != nil {
		return 0, err
	}
	if cc == 0 {
		return 0, nil
	}
	return ccDuv(cc, 1e6/float64(light.CCT), func(node int) (Duv, error) { return ccModel(cc, ccMired(node)) })
}

// DuvToCC is the inverse of CCToDuv, to 1e-9 in CC. Domain: a Duv that some CC
// from −120 to +120 reaches on this light, else ErrDomain.
func DuvToCC(duv Duv, light CCTDuv) (float64, error) {
	if err := checkCCT(light.CCT); err != nil {
		return 0, err
	}
	if !(duv >= -2*MaxDuv && duv <= 2*MaxDuv) {
		return 0, domainError("change of Duv", float64(duv), "-0.1 to 0.1")
	}
	if duv == 0 {
		return 0, nil
	}
	// Duv rises with CC until the light has no CCT any more, so that an error
	// says "too strong".
	sign := math.Copysign(1, float64(duv))
	lo, hi := 0.0, float64(maxCC)
	for hi-lo > 1e-11*(1+lo) {
		mid := (lo + hi) / 2
		got, err := CCToDuv(sign*mid, light)
		if err == nil && sign*float64(got) < sign*float64(duv) {
			lo = mid
		} else {
			hi = mid
		}
	}
	got, err := CCToDuv(sign*lo, light)
	if err != nil || math.Abs(float64(got-duv)) > 1e-9 {
		return 0, domainError("change of Duv by CC", float64(duv),
			fmt.Sprintf("up to %.4f on a light of %.0f K", float64(got), float64(light.CCT)))
	}
	return sign * lo, nil
}

func checkCC(cc float64) error {
	if !(cc >= -maxCC && cc <= maxCC) {
		return domainError("CC", cc, "-120 (magenta) to 120 (green)")
	}
	return nil
}

func lightOf(c XYZ) (CCTDuv, error) {
	xy, err := c.XY()
	if err != nil {
		return CCTDuv{}, err
	}
	return xy.CCTDuv()
}
