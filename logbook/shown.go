package logbook

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

// floors are the greatest moves of a colour by a floor in x or y. Where a move would leave
// the plane, or what has a CCT, a shorter one stands for it: so coarse a floor is not none.
type floors struct{ kelvin, mired, duv, uv float64 }

func floorsOf(xy colorimetry.XY, floorXY float64) (f floors) {
	here, err := xy.CCTDuv()
	uv := xy.UVPrime()
	for _, d := range [...]colorimetry.XY{{X: floorXY}, {X: -floorXY}, {Y: floorXY}, {Y: -floorXY}} {
		if moved, part := possible(xy, d, colorimetry.XY.Check); part > 0 {
			f.uv = math.Max(f.uv, moved.UVPrime().Distance(uv)/part)
		}
		if err != nil {
			continue
		}
		var t colorimetry.CCTDuv
		if _, part := possible(xy, d, func(moved colorimetry.XY) (err error) { t, err = moved.CCTDuv(); return err }); part > 0 {
			f.kelvin = math.Max(f.kelvin, math.Abs(float64(t.CCT-here.CCT))/part)
			f.mired = math.Max(f.mired, math.Abs(float64(t.Mired()-here.Mired()))/part)
			f.duv = math.Max(f.duv, math.Abs(float64(t.Duv-here.Duv))/part)
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

// carriedDecimals is how many decimals a floor leaves: its first digit, and the
// second where the first is 1 or 2 (common practice, no source). It is negative
// for tens and hundreds, and at most finest.
func carriedDecimals(floor float64, finest int) int {
	if !(floor > 0) {
		return finest
	}
	exponent := math.Floor(math.Log10(floor))
	if floor/math.Pow(10, exponent) < 3 {
		exponent--
	}
	return min(finest, -int(exponent))
}

// shownAs shows a colour that was measured with a floor in x and y; 0: none.
func shownAs(xy colorimetry.XY, floorXY float64) *Shown {
	return shownWithin(xy, floorsOf(xy, floorXY))
}

func shownWithin(xy colorimetry.XY, f floors) *Shown {
	uv := xy.UVPrime()
	const uvDecimals = 4
	places := carriedDecimals(f.uv, uvDecimals)
	s := &Shown{UPrime: roundTo(uv.U, places), VPrime: roundTo(uv.V, places), Words: "coloured, no CCT"}
	t, err := xy.CCTDuv()
	if err != nil {
		return s
	}
	places = carriedDecimals(f.duv, duvDecimals)
	s.CCTKelvin = rounded(float64(t.CCT), carriedDecimals(f.kelvin, kelvinDecimals))
	s.Mired, s.Duv = rounded(float64(t.Mired()), carriedDecimals(f.mired, miredDecimals)), rounded(float64(t.Duv), places)
	s.Words = fmt.Sprintf("%.0f K, Duv %+.*f", *s.CCTKelvin, max(places, 0), *s.Duv)
	if f.mired > 0 {
		s.FloorMired = rounded(f.mired, carriedDecimals(f.mired, miredDecimals+1))
		s.FloorDuv = rounded(f.duv, places)
	}
	return s
}

// carriedAs is a colour that was computed from readings: temperature, Duv and words
// have no more digits than their floor in x and y carries.
func carriedAs(xy colorimetry.XY, floorXY float64) *Chromaticity {
	c, s := chromaticityOf(xy), shownAs(xy, floorXY)
	c.CCTKelvin, c.Duv, c.Words = s.CCTKelvin, s.Duv, s.Words
	return c
}
