package logbook

import (
	"fmt"
	"strings"

	"evenwhite/colorimetry"
)

// castDifference is the colour cast of a light in a white, as it is shown.
// Steps are counted between the picture of the light and neutral.
func castDifference(light, white colorimetry.XY) Difference {
	var d Difference
	if w, err := white.CCTDuv(); err == nil {
		if l, err := light.CCTDuv(); err == nil {
			d.setCast(colorimetry.CastOf(l, w))
		}
	}
	p, err := colorimetry.Picture(light, white, colorimetry.CAT16)
	if err == nil {
		d.Steps = rounded(colorimetry.StepsFromNeutral(p), stepsDecimals)
	} else {
		// Too saturated for a picture: the distance of the lights themselves.
		d.Steps = rounded(light.UVPrime().Distance(white.UVPrime())/colorimetry.StepUVPrime, stepsDecimals)
	}
	d.Words = d.words()
	return d
}

// pictureDifference is how a picture on white b differs from one on white a,
// both of one light; of no light: without steps.
func pictureDifference(b, a colorimetry.CCTDuv, light *Chromaticity) Difference {
	var d Difference
	d.setCast(colorimetry.PictureDifference(b, a))
	if light != nil {
		if steps, err := stepsBetween(b, a, light.XY); err == nil {
			d.Steps = rounded(steps, stepsDecimals)
		}
	}
	d.Words = d.words()
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

func (d *Difference) setCast(c colorimetry.Cast) {
	d.Mired, d.Duv = rounded(float64(c.Mired), miredDecimals), rounded(float64(c.Duv), duvDecimals)
}

// words writes a difference as the picture shows it.
func (d *Difference) words() string {
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

// size is the difference as the value of a deviation.
func (d Difference) size() *Size { return &Size{Mired: d.Mired, Duv: d.Duv, Steps: d.Steps} }

// carry rounds a difference to the digits that its spread leaves.
func (d *Difference) carry(spread colorimetry.Cast) {
	if d.Mired != nil {
		d.Mired = rounded(*d.Mired, carriedDecimals(float64(spread.Mired), miredDecimals))
	}
	if d.Duv != nil {
		d.Duv = rounded(*d.Duv, carriedDecimals(float64(spread.Duv), duvDecimals))
	}
}

// colorDifference compares two colours of light as such, in u'v': a white to see
// them in says nothing about a colour that is meant.
func colorDifference(light, target colorimetry.XY) Difference {
	var d Difference
	if a, err := light.CCTDuv(); err == nil {
		if t, err := target.CCTDuv(); err == nil {
			d.setCast(colorimetry.CastOf(a, t))
		}
	}
	d.Steps = rounded(light.UVPrime().Distance(target.UVPrime())/colorimetry.StepUVPrime, stepsDecimals)
	d.Words = d.words()
	return d
}
