package figure

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
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
	Method     string       `json:"method"`               // in words
	Records    []logbook.ID `json:"records,omitempty"`    // the readings, clips, samples used
	Confidence string       `json:"confidence"`           // measured, mixed, computed, nominal or label
	AgeMinutes *float64     `json:"ageMinutes,omitempty"` // of the oldest reading used
	Caveats    []string     `json:"caveats,omitempty"`    // in words
}

// ErrUnknown is wrapped by errors about a thing that cannot be computed from
// what is in the log; the text says what is missing.
var ErrUnknown = errors.New("cannot be computed yet")

// RoundTo rounds to so many decimals: the one place where a computed number
// becomes the number that is shown and judged. A verdict on the unrounded value
// could contradict what stands on the screen, and differ between processors.
func RoundTo(value float64, decimals int) float64 {
	scale := math.Pow(10, float64(decimals))
	r := math.Round(value*scale) / scale
	if r == 0 {
		return 0 // never −0
	}
	return r
}

// The decimals that are shown.
const (
	MiredDecimals  = 0
	DuvDecimals    = 4
	StepsDecimals  = 1
	StopsDecimals  = 1
	DeltaDecimals  = 1
	KelvinDecimals = 0
	XyDecimals     = 5
	LuxDecimals    = 1
)

func Rounded(value float64, decimals int) *float64 {
	r := RoundTo(value, decimals)
	return &r
}

// ChromaticityOf puts a colour into the form in which it is shown.
func ChromaticityOf(xy colorimetry.XY) *Chromaticity {
	c := &Chromaticity{X: RoundTo(xy.X, XyDecimals), Y: RoundTo(xy.Y, XyDecimals), XY: xy, Words: "coloured, no CCT"}
	if t, err := xy.CCTDuv(); err == nil {
		c.CCTKelvin, c.Duv = Rounded(float64(t.CCT), KelvinDecimals), Rounded(float64(t.Duv), DuvDecimals)
		c.Words = fmt.Sprintf("%.0f K, Duv %+.4f", *c.CCTKelvin, *c.Duv)
	}
	return c
}

// CCTDuv is the unrounded temperature of a colour; an error where it is coloured.
func (c *Chromaticity) CCTDuv() (colorimetry.CCTDuv, error) { return c.XY.CCTDuv() }

// DomainWords is what an error says beyond that something lies outside a domain.
func DomainWords(err error) string {
	return strings.TrimPrefix(err.Error(), colorimetry.ErrDomain.Error()+": ")
}

// Counted writes a count with its noun: "1 reading", "2 readings".
func Counted(n int, noun string) string {
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

func RoundedRGB(v [3]float64, decimals int) *RGB {
	return &RGB{RoundTo(v[0], decimals), RoundTo(v[1], decimals), RoundTo(v[2], decimals)}
}
