package cameras

import (
	"fmt"
	"math"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
)

// Correction brings footage to a target at unchanged luminance. Which of its forms
// is used depends on the footage: Takes says it.
type Correction struct {
	To string `json:"to"` // intent or neutral
	// Takes is kelvin (a white that is free to change), slope (linear), offset (log),
	// stops (a log of which one stop is not known in codes: Stops times that is the
	// offset) or codeRatio (display-encoded, baked).
	Takes   string `json:"takes,omitempty"`
	Problem string `json:"problem,omitempty"` // why there is none
	// Cast is what it takes off: how the picture lies from what it is to be.
	Cast *figure.Difference `json:"cast,omitempty"`
	// Setting is what to enter as white where it is free to change.
	Setting *Dialled    `json:"setting,omitempty"`
	Gain    *figure.RGB `json:"gain,omitempty"`  // factor of each linear channel: the slope of a CDL
	Stops   *figure.RGB `json:"stops,omitempty"` // log2 of it: times the code of one stop, the offset in any log encoding
	// Offset is what is added to each signal, and CodeOffset to each code value of the file,
	// where its bits are known. In log footage by a card it holds from about mid grey up.
	Offset     *figure.RGB `json:"offset,omitempty"`
	CodeOffset *figure.RGB `json:"codeOffset,omitempty"`
	// Ratio is target over sample code, exact at the level of the grey and nowhere
	// else.
	Ratio *figure.RGB `json:"ratio,omitempty"`
	Level *figure.RGB `json:"level,omitempty"` // the signals of that grey, 0 to 1
	// LeftBelow is what the ratio leaves of a grey two stops below that one, in picture steps.
	LeftBelow *float64 `json:"leftBelow,omitempty"`
	// LiftsHighlights says that a channel rises by more than 10 %: clipped
	// highlights take on a colour.
	LiftsHighlights bool `json:"liftsHighlights"`
}

// InWords names the form that the footage takes.
func (c Correction) InWords() string {
	rgb := func(v *figure.RGB) string { return fmt.Sprintf("R %.4g G %.4g B %.4g", v.R, v.G, v.B) }
	switch {
	case c.Problem != "" && c.Cast != nil:
		return "none: " + c.Problem + "; the picture is " + c.Cast.Words
	case c.Problem != "":
		return "none: " + c.Problem
	case c.Takes == "kelvin":
		return "enter " + c.Setting.Words
	case c.Takes == "slope":
		return "slopes " + rgb(c.Gain) + c.lifts()
	case c.Takes == "offset" && c.CodeOffset != nil:
		return "offsets in codes " + rgb(c.CodeOffset) + c.lifts()
	case c.Takes == "offset":
		return "offsets " + rgb(c.Offset) + c.lifts()
	case c.Takes == "stops":
		return "offsets of " + rgb(c.Stops) + " stops, each times the code of one stop" + c.lifts()
	}
	return "code ratios " + rgb(c.Ratio) + c.lifts()
}

// lifts warns of what a gain does to highlights that hold no colour any more.
func (c Correction) lifts() string {
	if c.LiftsHighlights {
		return " (colours highlights that are clipped)"
	}
	return ""
}

// Correct computes the forms of a correction of a grey with these signals.
func Correct(e colorimetry.Encoding, signal [3]float64, target colorimetry.XY, to string) Correction {
	out := Correction{To: to}
	c, err := e.Correct(signal, target)
	if err != nil {
		out.Problem = err.Error()
		return out
	}
	out.Gain, out.Level, out.LiftsHighlights = figure.RoundedRGB(c.Gain, 4), figure.RoundedRGB(signal, 4), c.LiftsHighlights
	out.Stops = figure.RoundedRGB([3]float64{math.Log2(c.Gain[0]), math.Log2(c.Gain[1]), math.Log2(c.Gain[2])}, 4)
	switch e.Transfer {
	case colorimetry.TransferLinear:
		out.Takes = "slope"
	case colorimetry.TransferACEScct:
		out.Takes, out.Offset = "offset", figure.RoundedRGB(c.Offset, 5)
	default:
		out.Takes, out.Ratio = "codeRatio", figure.RoundedRGB(c.Ratio, 4)
		if left, err := LeftAt(e, signal, c.Ratio, target, 0.25); err == nil {
			out.LeftBelow = figure.Rounded(left, 1)
		}
	}
	return out
}

// LeftAt is how far code ratios leave a grey from the target, in steps, where the light is another
// than the one that they were worked out for by a factor.
func LeftAt(e colorimetry.Encoding, signal, ratio [3]float64, target colorimetry.XY, factor float64) (steps float64, err error) {
	for i := range signal {
		linear, err := e.Decode(signal[i])
		if err != nil {
			return 0, err
		}
		if signal[i], err = e.Encode(linear * factor); err != nil {
			return 0, err
		}
		signal[i] *= ratio[i]
	}
	xy, err := e.Chromaticity(signal)
	if err != nil {
		return 0, err
	}
	if xy, err = Displayed(xy, e); err != nil {
		return 0, err
	}
	return xy.UVPrime().Distance(target.UVPrime()) / colorimetry.StepUVPrime, nil
}

// Displayed is a colour of footage on a display, whose white is D65.
func Displayed(xy colorimetry.XY, e colorimetry.Encoding) (colorimetry.XY, error) {
	shown, err := colorimetry.CAT16.Adapt(xy.XYZ(1), e.Primaries.White, colorimetry.D65)
	if err != nil {
		return colorimetry.XY{}, err
	}
	return shown.XY()
}

// WhiteInMode is what happens to the white in the footage of a body's mode; ""
// where the log does not say.
func WhiteInMode(body logbook.View, mode string) string {
	text, _ := body.Value("recordingModes/" + mode).Member("white").Text()
	return text
}

func PictureXY(light, white colorimetry.XY) (colorimetry.XY, error) {
	p, err := colorimetry.Picture(light, white, colorimetry.CAT16)
	if err != nil {
		return colorimetry.XY{}, err
	}
	return p.XY()
}
