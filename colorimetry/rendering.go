package colorimetry

import (
	"fmt"
	"math"
)

// midGrey is the reflectance of the grey patch that differences are stated on:
// L* = 50 exactly.
const midGrey = (66.0 / 116) * (66.0 / 116) * (66.0 / 116)

// SwatchGrey is the reflectance that swatches show: a light grey that leaves
// room above it, because a grey at full white has nowhere to be warm in.
const SwatchGrey = 0.4

// Picture returns what a camera on a white makes of a grey in a light, as seen
// on a display of white D65 and scaled to Y = 1 (exposure is no matter of
// white): the light adapted from the camera's white to the display's [CIE248].
// Domain: checked chromaticities, a white that can be adapted to, and a result
// that still has a luminance (a saturated blue seen on a tungsten white may
// have none); else ErrDomain.
func Picture(light, white XY, a Adaptation) (XYZ, error) {
	if err := light.Check(); err != nil {
		return XYZ{}, fmt.Errorf("the light: %w", err)
	}
	p, err := a.Adapt(light.XYZ(1), white, D65)
	if err != nil {
		return XYZ{}, err
	}
	out := XYZ{p.X / p.Y, 1, p.Z / p.Y}
	if !(p.Y > 0) || !(out.X+15+3*out.Z > 0) || !finite(out.X, out.Z) {
		return XYZ{}, domainError("the luminance of the light in the picture", p.Y, "above 0 (the light is too saturated for this white)")
	}
	return out, nil
}

// UVPrime returns the CIE 1976 chromaticity. It assumes a result of Picture,
// whose X or Z may be negative.
func (c XYZ) UVPrime() UVPrime {
	d := c.X + 15*c.Y + 3*c.Z
	return UVPrime{4 * c.X / d, 9 * c.Y / d}
}

// PictureSteps is the distance between two pictures in steps of StepUVPrime. It
// is counted in the picture because equal mired are nearly equal steps there, and not in
// the plane of the light: on the black body 8 mired are 3.4 to 3.8 steps from 2300 to 8000 K,
// most at 4300 K towards cooler, and above that less, 2.8 at 15 000 K. It assumes results of
// Picture.
func PictureSteps(a, b XYZ) float64 { return a.UVPrime().Distance(b.UVPrime()) / StepUVPrime }

// StepsFromNeutral is the distance of a picture from the neutral of the display
// in steps of StepUVPrime. It assumes a result of Picture.
func StepsFromNeutral(p XYZ) float64 { return p.UVPrime().Distance(D65.UVPrime()) / StepUVPrime }

// GreyDifference is ΔE00 between the same mid grey (L* 50) in two pictures. It
// assumes results of Picture.
func GreyDifference(a, b XYZ) float64 {
	white := D65.XYZ(1)
	return ciede2000(labOf(a.scaled(midGrey), white), labOf(b.scaled(midGrey), white))
}

func (c XYZ) scaled(f float64) XYZ { return XYZ{c.X * f, c.Y * f, c.Z * f} }

// Swatch is a colour to show, in sRGB code values [IEC61966-2-1]. Clipped says
// that the picture was outside sRGB and that the swatch is paler than it.
type Swatch struct {
	R, G, B uint8
	Clipped bool
}

var srgbFromXYZ = mustXYZ(BT709).inverse()

// Preview returns a light grey (40 %) of the picture for a screen. Outside sRGB
// it goes towards the neutral of the same luminance until it fits, so that the
// hue stays; clipping the channels one by one would turn a strong orange into
// yellow. It assumes a result of Picture.
func Preview(p XYZ) Swatch {
	y := SwatchGrey * p.Y
	linear := srgbFromXYZ.apply(p.scaled(SwatchGrey))
	keep := 1.0
	for _, v := range [...]float64{linear.X, linear.Y, linear.Z} {
		switch {
		case v > 1:
			keep = math.Min(keep, (1-y)/(v-y))
		case v < 0:
			keep = math.Min(keep, y/(y-v))
		}
	}
	code := func(v float64) uint8 {
		return uint8(math.Round(255 * encodeSRGB(min(max(y+keep*(v-y), 0), 1))))
	}
	return Swatch{code(linear.X), code(linear.Y), code(linear.Z), keep < 1}
}

// encodeSRGB is the standard's curve from linear to encoded, both 0 to 1.
func encodeSRGB(v float64) float64 {
	if v <= 0.0031308 {
		return 12.92 * v
	}
	return 1.055*math.Pow(v, 1/2.4) - 0.055
}
