package colorimetry

import "math"

// StepUVPrime is the radius in u'v' of what is counted here as one step of
// colour difference between lights; 1.1 thousandths, the size of the circle
// that is recommended in place of one MacAdam ellipse [CIETN001].
const StepUVPrime = 0.0011

// lab is a CIE 1976 L*a*b* colour [CIE15]. L runs from 0 (black) to 100 (the
// white it refers to).
type lab struct{ L, A, B float64 }

// labOf converts tristimulus values to L*a*b* [CIE15]; c and white are in the same
// scale, and the white has X, Y and Z above 0.
func labOf(c, white XYZ) lab {
	fx, fy, fz := labCurve(c.X/white.X), labCurve(c.Y/white.Y), labCurve(c.Z/white.Z)
	return lab{116*fy - 16, 500 * (fx - fy), 200 * (fy - fz)}
}

// labCurve is the cube root with the straight piece below (6/29)³. The limits
// are the exact fractions: the rounded 0.008856 and 903.3 leave a jump.
func labCurve(t float64) float64 {
	const d = 6.0 / 29
	if t > d*d*d {
		return math.Cbrt(t)
	}
	return t/(3*d*d) + 4.0/29
}

// ciede2000 is the colour difference ΔE00 with kL = kC = kH = 1 [CIE142]. It is
// symmetric, and 0 for equal colours. Opposite hues have no mean hue: there the
// formula jumps, and the last bit of the hue angles decides the side (pair 14
// of [SHARMA2005]).
func ciede2000(a, b lab) float64 {
	mean := (math.Hypot(a.A, a.B) + math.Hypot(b.A, b.B)) / 2
	g := 0.5 * (1 - chromaWeight(mean))
	c1, h1 := chromaHue(a.A*(1+g), a.B)
	c2, h2 := chromaHue(b.A*(1+g), b.B)

	dL, dC := b.L-a.L, c2-c1
	dh, hMean := hueStep(c1, h1, c2, h2)
	dH := 2 * math.Sqrt(c1*c2) * sinDegrees(dh/2)

	lMean, cMean := (a.L+b.L)/2, (c1+c2)/2
	t := 1 - 0.17*cosDegrees(hMean-30) + 0.24*cosDegrees(2*hMean) +
		0.32*cosDegrees(3*hMean+6) - 0.20*cosDegrees(4*hMean-63)
	l50 := (lMean - 50) * (lMean - 50)
	sL := 1 + 0.015*l50/math.Sqrt(20+l50)
	sC := 1 + 0.045*cMean
	sH := 1 + 0.015*cMean*t
	blue := (hMean - 275) / 25
	rT := -2 * chromaWeight(cMean) * sinDegrees(60*math.Exp(-blue*blue))

	l, c, h := dL/sL, dC/sC, dH/sH
	// The sum can fall a rounding below 0 for nearly equal colours.
	return math.Sqrt(math.Max(0, l*l+c*c+h*h+rT*c*h))
}

// chromaWeight is √(c⁷/(c⁷+25⁷)), written so that a large chroma does not
// overflow.
func chromaWeight(c float64) float64 {
	r := 25 / c
	return math.Sqrt(1 / (1 + r*r*r*r*r*r*r))
}

// chromaHue returns the chroma and the hue angle in degrees, 0 ≤ h < 360.
func chromaHue(a, b float64) (c, h float64) {
	if a == 0 && b == 0 {
		return 0, 0
	}
	h = math.Atan2(b, a) * 180 / math.Pi
	if h < 0 {
		h += 360
	}
	return math.Hypot(a, b), h
}

// hueStep returns the hue difference the short way round and the mean hue, in
// degrees. A grey has no hue: the other colour's hue is then the mean.
func hueStep(c1, h1, c2, h2 float64) (difference, mean float64) {
	if c1*c2 == 0 {
		return 0, h1 + h2
	}
	d, sum := h2-h1, h1+h2
	switch {
	case math.Abs(d) <= 180:
		return d, sum / 2
	case sum < 360:
		mean = (sum + 360) / 2
	default:
		mean = (sum - 360) / 2
	}
	if d > 0 {
		return d - 360, mean
	}
	return d + 360, mean
}

func sinDegrees(d float64) float64 { return math.Sin(d * math.Pi / 180) }
func cosDegrees(d float64) float64 { return math.Cos(d * math.Pi / 180) }

// Distance is the Euclidean distance in u'v' [CIE15].
func (c UVPrime) Distance(other UVPrime) float64 {
	return math.Hypot(c.U-other.U, c.V-other.V)
}
