package glance

import (
	"fmt"
	"math"
	"strings"

	"evenwhite/colorimetry"
	"evenwhite/logbook/figure"
)

const ringCorners = 72

// ring finds, in every direction from a centre, the colour that is so many steps
// away by a measure that grows with the distance. No ring is drawn where one
// direction has none: the centre is too saturated for a picture.
func (l *SetUpPlane) ring(about string, roles []string, steps float64, centre colorimetry.XY,
	measure func(colorimetry.XY) (float64, error)) {
	r := PlaneRing{About: about, Roles: roles, Steps: steps}
	r.Words = fmt.Sprintf("limit of %s: %g steps of %g u'v', counted in the picture",
		strings.Join(roles, ", "), steps, colorimetry.StepUVPrime)
	from := centre.UVPrime()
	for i := range ringCorners {
		angle := 2 * math.Pi * float64(i) / ringCorners
		du, dv := math.Cos(angle), math.Sin(angle)
		far, ok := reach(steps, func(distance float64) (float64, error) {
			xy, err := colorimetry.UVPrime{U: from.U + distance*du, V: from.V + distance*dv}.XY()
			if err != nil {
				return 0, err
			}
			if err := xy.Check(); err != nil {
				return 0, err
			}
			return measure(xy)
		})
		if !ok {
			return
		}
		const decimals = 5
		r.UV = append(r.UV, PlaneSpot{figure.RoundTo(from.U+far*du, decimals), figure.RoundTo(from.V+far*dv, decimals)})
	}
	l.Rings = append(l.Rings, r)
}

// reach halves the way to the distance at which a measure comes to a value.
func reach(want float64, measure func(float64) (float64, error)) (distance float64, ok bool) {
	const first, most = 0.002, 0.5
	low, high := 0.0, first
	for {
		got, err := measure(high)
		if err == nil && got >= want {
			break
		}
		if err != nil || high > most {
			return 0, false
		}
		low, high = high, 2*high
	}
	for range 40 {
		middle := (low + high) / 2
		if got, err := measure(middle); err == nil && got < want {
			low = middle
		} else {
			high = middle
		}
	}
	return high, true
}

// whitesApart is how many steps the pictures of a light on two whites lie apart.
func whitesApart(a, b, light colorimetry.XY) (float64, error) {
	one, err := colorimetry.Picture(light, a, colorimetry.CAT16)
	if err != nil {
		return 0, err
	}
	other, err := colorimetry.Picture(light, b, colorimetry.CAT16)
	if err != nil {
		return 0, err
	}
	return colorimetry.PictureSteps(one, other), nil
}
