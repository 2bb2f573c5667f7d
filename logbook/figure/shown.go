package figure

import (
	"fmt"
	"math"

	"evenwhite/colorimetry"
)

// A Shown is a colour with no more digits than what it was measured with carries:
// u' v' to 0.0001 at the finest, CCT to 1 K, mired to 1, Duv to 0.0001. What has no
// floor, a nominal white say, is shown at the finest.
type Shown struct {
	UPrime    float64  `json:"uPrime"` // CIE 1976
	VPrime    float64  `json:"vPrime"`
	CCTKelvin *float64 `json:"cctKelvin,omitempty"` // absent: coloured, no CCT
	Mired     *float64 `json:"mired,omitempty"`
	Duv       *float64 `json:"duv,omitempty"`
	// FloorMired and FloorDuv are how far the floor of the meter, or the spread of grey
	// cards, moves the two.
	FloorMired *float64 `json:"floorMired,omitempty"`
	FloorDuv   *float64 `json:"floorDuv,omitempty"`
	Words      string   `json:"words"` // "5560 K, Duv +0.0030"
}

// Floors are the greatest moves of a colour by a floor in x or y. Where a move would leave
// the plane, or what has a CCT, a shorter one stands for it: so coarse a floor is not none.
type Floors struct{ Kelvin, Mired, Duv, UV float64 }

func FloorsOf(xy colorimetry.XY, floorXY float64) (f Floors) {
	here, err := xy.CCTDuv()
	uv := xy.UVPrime()
	for _, d := range [...]colorimetry.XY{{X: floorXY}, {X: -floorXY}, {Y: floorXY}, {Y: -floorXY}} {
		if moved, part := possible(xy, d, colorimetry.XY.Check); part > 0 {
			f.UV = math.Max(f.UV, moved.UVPrime().Distance(uv)/part)
		}
		if err != nil {
			continue
		}
		var t colorimetry.CCTDuv
		if _, part := possible(xy, d, func(moved colorimetry.XY) (err error) { t, err = moved.CCTDuv(); return err }); part > 0 {
			f.Kelvin = math.Max(f.Kelvin, math.Abs(float64(t.CCT-here.CCT))/part)
			f.Mired = math.Max(f.Mired, math.Abs(float64(t.Mired()-here.Mired()))/part)
			f.Duv = math.Max(f.Duv, math.Abs(float64(t.Duv-here.Duv))/part)
		}
	}
	return f
}

// possible is the longest of a move, its half, its quarter and so on that is no error, and
// what part of the move it is; 0: none.
func possible(xy, move colorimetry.XY, check func(colorimetry.XY) error) (moved colorimetry.XY, part float64) {
	for part = 1; part >= 1.0/64; part /= 2 {
		moved = colorimetry.XY{X: xy.X + part*move.X, Y: xy.Y + part*move.Y}
		if check(moved) == nil {
			return moved, part
		}
	}
	return xy, 0
}

// CarriedDecimals is how many decimals a floor leaves: its first digit, and the
// second where the first is 1 or 2 (common practice, no source). It is negative
// for tens and hundreds, and at most finest.
func CarriedDecimals(floor float64, finest int) int {
	if !(floor > 0) {
		return finest
	}
	exponent := math.Floor(math.Log10(floor))
	if floor/math.Pow(10, exponent) < 3 {
		exponent--
	}
	return min(finest, -int(exponent))
}

// ShownAs shows a colour that was measured with a floor in x and y; 0: none.
func ShownAs(xy colorimetry.XY, floorXY float64) *Shown {
	return ShownWithin(xy, FloorsOf(xy, floorXY))
}

func ShownWithin(xy colorimetry.XY, f Floors) *Shown {
	uv := xy.UVPrime()
	const uvDecimals = 4
	places := CarriedDecimals(f.UV, uvDecimals)
	s := &Shown{UPrime: RoundTo(uv.U, places), VPrime: RoundTo(uv.V, places), Words: "coloured, no CCT"}
	t, err := xy.CCTDuv()
	if err != nil {
		return s
	}
	places = CarriedDecimals(f.Duv, DuvDecimals)
	s.CCTKelvin = Rounded(float64(t.CCT), CarriedDecimals(f.Kelvin, KelvinDecimals))
	s.Mired, s.Duv = Rounded(float64(t.Mired()), CarriedDecimals(f.Mired, MiredDecimals)), Rounded(float64(t.Duv), places)
	s.Words = fmt.Sprintf("%.0f K, Duv %+.*f", *s.CCTKelvin, max(places, 0), *s.Duv)
	if f.Mired > 0 {
		s.FloorMired = Rounded(f.Mired, CarriedDecimals(f.Mired, MiredDecimals+1))
		s.FloorDuv = Rounded(f.Duv, places)
	}
	return s
}

// CarriedAs is a colour that was computed from readings: temperature, Duv and words
// have no more digits than their floor in x and y carries.
func CarriedAs(xy colorimetry.XY, floorXY float64) *Chromaticity {
	c, s := ChromaticityOf(xy), ShownAs(xy, floorXY)
	c.CCTKelvin, c.Duv, c.Words = s.CCTKelvin, s.Duv, s.Words
	return c
}
