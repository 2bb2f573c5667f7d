package cameras

import (
	"fmt"
	"strings"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
)

// Footage is how signals stand for light, as far as the log says it.
type Footage struct {
	Encoding colorimetry.Encoding // of which Curve or Gamut may not be known
	Words    string
	Curve    error // why the curve is not known
	Gamut    error // why the primaries are not known
	Log      bool  // a log curve, of which offsets are factors of light
	Stop     float64
	codes    *colorimetry.CodeRange // nil where values are percent, or nobody said
}

var transfers = map[string]colorimetry.Transfer{
	"sRGB": colorimetry.TransferSRGB, "bt1886": colorimetry.TransferBT1886, "linear": colorimetry.TransferLinear,
	"pq": colorimetry.TransferPQ, "hlg": colorimetry.TransferHLG, "acesCct": colorimetry.TransferACEScct, "power": colorimetry.TransferPower,
}

var primarySets = map[string]colorimetry.Primaries{
	"bt709": colorimetry.BT709, "bt2020": colorimetry.BT2020, "p3D65": colorimetry.P3D65,
	"acesAp0": colorimetry.ACES0, "acesAp1": colorimetry.ACES1,
}

// FootageOf reads the members of a sample or a recording mode that say how its signals are
// encoded: encoding, gamma, primaries or four typed chromaticities, bits and range, and the
// code values of one stop.
func FootageOf(v logbook.Value) Footage {
	transfer, _ := v.Member("encoding").Text()
	primaries, _ := v.Member("primaries").Text()
	gamma, _ := v.Member("gamma").Float()
	f := footageOf(transfer, primaries, gamma)
	if typed := v.Member("primariesXY"); typed != "" {
		f.Encoding.Primaries = primariesOf(typed)
		f.Gamut = colorimetry.Encoding{Primaries: f.Encoding.Primaries}.Check()
		f.Words = curveWords(transfer, gamma) + ", typed primaries"
	}
	if bits, ok := v.Member("bits").Float(); ok {
		f.codes = &colorimetry.CodeRange{Bits: int(bits)}
		text, _ := v.Member("range").Text()
		f.codes.Narrow = text == "narrow"
	}
	if stop, ok := v.Member("stopCodes").Float(); ok && f.codes != nil {
		f.Stop = stop * f.codes.Step()
	}
	return f
}

func primariesOf(typed logbook.Value) colorimetry.Primaries {
	at := func(name string) colorimetry.XY {
		return colorimetry.XY{X: logbook.FloatOf(typed.Member(name + "X")), Y: logbook.FloatOf(typed.Member(name + "Y"))}
	}
	return colorimetry.Primaries{R: at("red"), G: at("green"), B: at("blue"), White: at("white")}
}

func footageOf(transfer, primaries string, gamma float64) Footage {
	f := Footage{Words: strings.Trim(curveWords(transfer, gamma)+", "+primaries, ", "), Log: transfer == "log" || transfer == "acesCct"}
	if f.Words == "" {
		f.Words = "not known"
	}
	known := false
	if f.Encoding.Transfer, known = transfers[transfer]; !known {
		f.Curve = fmt.Errorf("%w: the encoding is %q, computed are sRGB, bt1886, linear, pq, hlg, acesCct, power", figure.ErrUnknown, transfer)
	}
	if transfer == "power" {
		if f.Encoding.Gamma = gamma; gamma == 0 {
			f.Curve = fmt.Errorf("%w: the encoding is power, and its gamma is missing, allowed is a number from 1 to 3", figure.ErrUnknown)
		}
	}
	if f.Encoding.Primaries, known = primarySets[primaries]; !known {
		f.Gamut = fmt.Errorf("%w: the primaries are %q, computed are bt709, bt2020, p3D65, acesAp0, acesAp1, or four typed x y",
			figure.ErrUnknown, primaries)
	}
	return f
}

func curveWords(transfer string, gamma float64) string {
	if transfer == "power" {
		return fmt.Sprintf("power %g", gamma)
	}
	return transfer
}

// Known is nil where a colour can be computed from the signals.
func (f Footage) Known() error {
	switch {
	case f.Curve != nil:
		return f.Curve
	case f.Gamut != nil:
		return f.Gamut
	}
	return f.Encoding.Check()
}

// NamedEncoding is the encoding of names; ErrUnknown for one whose curve is not published.
func NamedEncoding(transfer, primaries string, gamma float64) (e colorimetry.Encoding, words string, err error) {
	f := footageOf(transfer, primaries, gamma)
	return f.Encoding, f.Words, f.Known()
}

// ByCodes is the correction to neutral that the codes of a card say by themselves: where equal
// codes are neutral, the red and blue of a grey go to its green. In log footage the offset
// holds from about mid grey up, where the curve is one of stops; in linear light a factor
// holds at any level, and elsewhere a ratio at that of the card.
func (c *Card) ByCodes() Correction {
	out := Correction{To: "neutral"}
	s := c.Patch.Signal
	if c.Patch.Clipped > mostClipped {
		out.Problem = fmt.Sprintf("%g %% of the patch is clipped", 100*c.Patch.Clipped)
		return out
	}
	out.Level = figure.RoundedRGB(s, 4)
	switch {
	case c.Footage.Log:
		out.offset(c.Footage, [3]float64{s[1] - s[0], 0, s[1] - s[2]})
	case !(s[0] > 0 && s[1] > 0 && s[2] > 0):
		out.Problem = "a channel of the patch is black"
	default:
		ratio := figure.RoundedRGB([3]float64{s[1] / s[0], 1, s[1] / s[2]}, 4)
		if out.Takes, out.Ratio = "codeRatio", ratio; c.Footage.Curve == nil && c.Footage.Encoding.Transfer == colorimetry.TransferLinear {
			out.Takes, out.Ratio, out.Gain = "slope", nil, ratio
		}
	}
	return out
}

// mostClipped is what may be clipped of a patch.
const mostClipped = 0.01

// InStops turns factors of light into offsets of log footage whose stop is known, on top of
// others; the level of the grey stays.
func (c *Correction) InStops(f Footage, stops, more [3]float64) {
	for i := range more {
		more[i] += stops[i] * f.Stop
	}
	c.offset(f, more)
}

// offset writes down what is added to each signal, and to each code.
func (c *Correction) offset(f Footage, signal [3]float64) {
	c.Takes, c.Offset = "offset", figure.RoundedRGB(signal, 5)
	if f.codes != nil {
		step := f.codes.Step()
		c.CodeOffset = figure.RoundedRGB([3]float64{signal[0] / step, signal[1] / step, signal[2] / step}, 1)
	}
}
