package figure

import (
	"fmt"
	"strings"

	"evenwhite/colorimetry"
)

// CastDifference is the colour cast of a light in a white, as it is shown.
// Steps are counted between the picture of the light and neutral.
func CastDifference(light, white colorimetry.XY) Difference {
	var d Difference
	if w, err := white.CCTDuv(); err == nil {
		if l, err := light.CCTDuv(); err == nil {
			d.SetCast(colorimetry.CastOf(l, w))
		}
	}
	p, err := colorimetry.Picture(light, white, colorimetry.CAT16)
	if err == nil {
		d.Steps = Rounded(colorimetry.StepsFromNeutral(p), StepsDecimals)
	} else {
		// Too saturated for a picture: the distance of the lights themselves.
		d.Steps = Rounded(light.UVPrime().Distance(white.UVPrime())/colorimetry.StepUVPrime, StepsDecimals)
	}
	d.Words = d.InWords()
	return d
}

// PictureDifference is how a picture on white b differs from one on white a,
// both of one light; of no light: without steps.
func PictureDifference(b, a colorimetry.CCTDuv, light *Chromaticity) Difference {
	var d Difference
	d.SetCast(colorimetry.PictureDifference(b, a))
	if light != nil {
		if steps, err := stepsBetween(b, a, light.XY); err == nil {
			d.Steps = Rounded(steps, StepsDecimals)
		}
	}
	d.Words = d.InWords()
	return d
}

func stepsBetween(b, a colorimetry.CCTDuv, light colorimetry.XY) (float64, error) {
	var pictures [2]colorimetry.XYZ
	for i, white := range [...]colorimetry.CCTDuv{b, a} {
		xy, err := white.XY()
		if err != nil {
			return 0, err
		}
		if pictures[i], err = colorimetry.Picture(light, xy, colorimetry.CAT16); err != nil {
			return 0, err
		}
	}
	return colorimetry.PictureSteps(pictures[0], pictures[1]), nil
}

func (d *Difference) SetCast(c colorimetry.Cast) {
	d.Mired, d.Duv = Rounded(float64(c.Mired), MiredDecimals), Rounded(float64(c.Duv), DuvDecimals)
}

// InWords writes a difference as the picture shows it.
func (d *Difference) InWords() string {
	var parts []string
	if d.Mired == nil {
		parts = append(parts, "coloured, no CCT")
		if d.Steps != nil {
			parts = append(parts, fmt.Sprintf("%g steps away", *d.Steps))
		}
		return strings.Join(parts, ", ")
	}
	switch m := *d.Mired; {
	case m > 0:
		parts = append(parts, fmt.Sprintf("%g mired warmer", m))
	case m < 0:
		parts = append(parts, fmt.Sprintf("%g mired cooler", -m))
	}
	switch v := *d.Duv; {
	case v > 0:
		parts = append(parts, fmt.Sprintf("Duv %.4f greener", v))
	case v < 0:
		parts = append(parts, fmt.Sprintf("Duv %.4f more magenta", -v))
	}
	if len(parts) == 0 {
		return "no difference"
	}
	return strings.Join(parts, ", ")
}

// Size is the difference as the value of a deviation.
func (d Difference) Size() *Size { return &Size{Mired: d.Mired, Duv: d.Duv, Steps: d.Steps} }

// Carry rounds a difference to the digits that its spread leaves.
func (d *Difference) Carry(spread colorimetry.Cast) {
	if d.Mired != nil {
		d.Mired = Rounded(*d.Mired, CarriedDecimals(float64(spread.Mired), MiredDecimals))
	}
	if d.Duv != nil {
		d.Duv = Rounded(*d.Duv, CarriedDecimals(float64(spread.Duv), DuvDecimals))
	}
}

// ColorDifference compares two colours of light as such, in u'v': a white to see
// them in says nothing about a colour that is meant.
func ColorDifference(light, target colorimetry.XY) Difference {
	var d Difference
	if a, err := light.CCTDuv(); err == nil {
		if t, err := target.CCTDuv(); err == nil {
			d.SetCast(colorimetry.CastOf(a, t))
		}
	}
	d.Steps = Rounded(light.UVPrime().Distance(target.UVPrime())/colorimetry.StepUVPrime, StepsDecimals)
	d.Words = d.InWords()
	return d
}
