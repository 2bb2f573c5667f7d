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

// luxPerFootCandle is exact by the definition of the foot, rounded to the digits
// that are usually printed: 1 fc is 1 lm per square foot.
const luxPerFootCandle = 10.763910

// ColorOf computes the chromaticity of a value of the form measured (also of a
// light's target colour). CC becomes Duv through an ideal filter, good to about
// 30 %. Domain: the value must be complete and the colour possible, else an error
// that names what is wrong.
func ColorOf(measured Value) (colorimetry.XY, error) {
	as, _ := measured.Member("as").Text()
	n := members{of: measured}
	var xy colorimetry.XY
	var err error
	switch as {
	case "cctDuv":
		t := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(n.number("cctKelvin")), Duv: colorimetry.Duv(n.number("duv"))}
		if n.err == nil {
			xy, err = t.XY()
		}
	case "cctCc":
		xy, err = colorOfCC(&n)
	case "xy":
		xy = colorimetry.XY{X: n.number("x"), Y: n.number("y")}
		err = xy.Check()
	case "uvPrime":
		xy, err = colorimetry.UVPrime{U: n.number("u"), V: n.number("v")}.XY()
	case "uv":
		xy, err = colorimetry.UV{U: n.number("u"), V: n.number("v")}.XY()
	case "xyz":
		xy, err = colorimetry.XYZ{X: n.number("x"), Y: n.number("y"), Z: n.number("z")}.XY()
	case "spectrum":
		xy, err = colorOfSpectrum(measured)
	default:
		return xy, fmt.Errorf("%w: measured as %q is not a form this version knows", ErrUnknown, clip(as))
	}
	if n.err != nil {
		return colorimetry.XY{}, n.err
	}
	if err == nil {
		err = xy.Check()
	}
	return xy, err
}

// colorOfCC: a meter that says "the filter needed is green" stands in a magenta
// light, so that the sign turns.
func colorOfCC(n *members) (colorimetry.XY, error) {
	cct, cc := colorimetry.Kelvin(n.number("cctKelvin")), n.number("density")
	if n.err != nil {
		return colorimetry.XY{}, nil
	}
	if color, _ := n.of.Member("color").Text(); color == "magenta" {
		cc = -cc
	}
	if means, _ := n.of.Member("means").Text(); means == "filterNeeded" {
		cc = -cc
	}
	duv, err := colorimetry.CCToDuv(cc, colorimetry.CCTDuv{CCT: cct})
	if err != nil {
		return colorimetry.XY{}, err
	}
	return colorimetry.CCTDuv{CCT: cct, Duv: duv}.XY()
}

func colorOfSpectrum(measured Value) (colorimetry.XY, error) {
	s, err := spectrumOf(measured)
	if err != nil {
		return colorimetry.XY{}, err
	}
	xyz, err := s.XYZ(colorimetry.Observer1931)
	if err != nil {
		return colorimetry.XY{}, err
	}
	return xyz.XY()
}

// spectrumOf reads the spectrum in a value of the form measured; ErrUnknown where
// it has none.
func spectrumOf(measured Value) (colorimetry.Spectrum, error) {
	if as, _ := measured.Member("as").Text(); as != "spectrum" {
		return colorimetry.Spectrum{}, fmt.Errorf("%w: it was measured as %q, allowed is spectrum", ErrUnknown, clip(as))
	}
	numbers := func(name string) (all []float64) {
		for v := range measured.Member(name).Items() {
			f, _ := v.Float()
			all = append(all, f)
		}
		return all
	}
	return colorimetry.NewSpectrum(numbers("wavelengthsNm"), numbers("values"))
}

// members reads numbers of an object; the first that is missing sets err.
type members struct {
	of  Value
	err error
}

func (m *members) number(name string) float64 {
	f, ok := m.of.Member(name).Float()
	if !ok && m.err == nil {
		m.err = fmt.Errorf("%w: %s is missing", ErrUnknown, name)
	}
	return f
}

// IlluminanceOf converts a value of the field illuminance to lux.
func IlluminanceOf(illuminance Value) (lux float64, ok bool) {
	lux, ok = illuminance.Member("value").Float()
	if unit, _ := illuminance.Member("unit").Text(); unit == "footCandle" {
		lux *= luxPerFootCandle
	}
	return lux, ok
}

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
