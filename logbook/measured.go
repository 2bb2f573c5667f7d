package logbook

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"evenwhite/colorimetry"
)

// A Chromaticity is a computed colour as it is shown: x and y rounded to five
// decimals, CCT to 1 K and Duv to 0.0001. A coloured light has no CCT and says so
// in Words.
type Chromaticity struct {
	X         float64  `json:"x"`
	Y         float64  `json:"y"`
	CCTKelvin *float64 `json:"cctKelvin,omitempty"`
	Duv       *float64 `json:"duv,omitempty"`
	Words     string   `json:"words"` // "5600 K, Duv +0.0021" or "coloured, no CCT"
	// XY is the unrounded value, for computing on.
	XY colorimetry.XY `json:"-"`
}

// A Difference is how one thing lies from another in the picture: mired +
// warmer, Duv + greener. Mired and Duv are absent where one of the two is
// coloured and has no CCT; steps of 0.0011 u'v' are counted in the picture and
// absent where no picture can be computed.
type Difference struct {
	Mired *float64 `json:"mired,omitempty"`
	Duv   *float64 `json:"duv,omitempty"`
	Steps *float64 `json:"steps,omitempty"`
	Words string   `json:"words"` // "38 mired cooler, 0.0031 greener"
}

// An Origin says where a computed number comes from.
type Origin struct {
	Method     string   `json:"method"`               // in words
	Records    []ID     `json:"records,omitempty"`    // the readings, clips, samples used
	Confidence string   `json:"confidence"`           // measured, mixed, computed, nominal or label
	AgeMinutes *float64 `json:"ageMinutes,omitempty"` // of the oldest reading used
	Caveats    []string `json:"caveats,omitempty"`    // in words
}

// ErrUnknown is wrapped by errors about a thing that cannot be computed from
// what is in the log; the text says what is missing.
var ErrUnknown = errors.New("cannot be computed yet")

// roundTo rounds to so many decimals: the one place where a computed number
// becomes the number that is shown and judged. A verdict on the unrounded value
// could contradict what stands on the screen, and differ between processors.
func roundTo(value float64, decimals int) float64 {
	scale := math.Pow(10, float64(decimals))
	r := math.Round(value*scale) / scale
	if r == 0 {
		return 0 // never −0
	}
	return r
}

// The decimals that are shown.
const (
	miredDecimals  = 0
	duvDecimals    = 4
	stepsDecimals  = 1
	stopsDecimals  = 1
	deltaDecimals  = 1
	kelvinDecimals = 0
	xyDecimals     = 5
	luxDecimals    = 1
)

func rounded(value float64, decimals int) *float64 {
	r := roundTo(value, decimals)
	return &r
}

// chromaticityOf puts a colour into the form in which it is shown.
func chromaticityOf(xy colorimetry.XY) *Chromaticity {
	c := &Chromaticity{X: roundTo(xy.X, xyDecimals), Y: roundTo(xy.Y, xyDecimals), XY: xy, Words: "coloured, no CCT"}
	if t, err := xy.CCTDuv(); err == nil {
		c.CCTKelvin, c.Duv = rounded(float64(t.CCT), kelvinDecimals), rounded(float64(t.Duv), duvDecimals)
		c.Words = fmt.Sprintf("%.0f K, Duv %+.4f", *c.CCTKelvin, *c.Duv)
	}
	return c
}

// cctDuv is the unrounded temperature of a colour; an error where it is coloured.
func (c *Chromaticity) cctDuv() (colorimetry.CCTDuv, error) { return c.XY.CCTDuv() }

// domainWords is what an error says beyond that something lies outside a domain.
func domainWords(err error) string {
	return strings.TrimPrefix(err.Error(), colorimetry.ErrDomain.Error()+": ")
}

// counted writes a count with its noun: "1 reading", "2 readings".
func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// RGB is one number for each channel.
type RGB struct {
	R float64 `json:"r"`
	G float64 `json:"g"`
	B float64 `json:"b"`
}

func roundedRGB(v [3]float64, decimals int) *RGB {
	return &RGB{roundTo(v[0], decimals), roundTo(v[1], decimals), roundTo(v[2], decimals)}
}
