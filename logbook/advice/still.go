package advice

import (
	"fmt"
	"math"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// StillCheck holds a frame of a clip against what the log says of it: the colour of a neutral patch in the
// frame, on a display, against that of a grey as the clip's correction has it.
type StillCheck struct {
	Clip logbook.ID           `json:"clip"`
	Said *figure.Chromaticity `json:"said,omitempty"` // the picture of a grey in the clip, by the log
	// Basis is what that rests on: card in the clip, card on this setting, cards elsewhere, or label.
	Basis       string               `json:"basis,omitempty"`
	SpreadMired *float64             `json:"spreadMired,omitempty"` // of the cards behind it
	Encoding    string               `json:"encoding,omitempty"`    // of the clip, by the log
	Seen        cameras.StillReading `json:"seen"`
	// Off is how the frame lies from what was said: mired + warmer, Duv + greener, steps of 0.0011 u'v'.
	Off *figure.Difference `json:"off,omitempty"`
	// StopsAbove is how much lighter the patch is than the grey that the log worked with.
	StopsAbove *float64 `json:"stopsAbove,omitempty"`
	Words      string   `json:"words"`
	MayDiffer  []string `json:"mayDiffer,omitempty"` // why the two may differ
	Problem    string   `json:"problem,omitempty"`   // why the log says nothing of a grey in the clip
}

// CheckStill holds what a still of a clip says against what the log does. Errors wrap ErrNoRecord, or those of
// an encoding that is not computed. That the log says nothing of a grey in the clip is no error.
func CheckStill(b *logbook.Book, clip logbook.ID, asked cameras.StillQuery, seen cameras.StillReading) (StillCheck, error) {
	v, err := logbook.FindRecord(b, kinds.Clip, "record", clip)
	if err != nil {
		return StillCheck{}, err
	}
	out := StillCheck{Clip: v.ID, Seen: seen}
	e, words, err := cameras.NamedEncoding(asked.Encoding, asked.Primaries, asked.Gamma)
	if err != nil {
		return out, err
	}
	c, said, err := greyIn(b, v)
	if err != nil {
		out.Problem = err.Error()
		out.Words = "the log says nothing of a grey in this clip: " + out.Problem
		return out, nil
	}
	xy, err := shownBy(e, seen.Signal())
	if err != nil {
		return out, err
	}
	off := figure.CastDifference(xy, said)
	off.Steps = figure.Rounded(xy.UVPrime().Distance(said.UVPrime())/colorimetry.StepUVPrime, figure.StepsDecimals)
	off.Words = off.InWords()
	out.Off, out.Said = &off, figure.ChromaticityOf(said)
	out.Basis, out.SpreadMired, out.Encoding = c.out.BasisWords, c.out.SpreadMired, c.out.Encoding
	out.Words = fmt.Sprintf("by the log a grey is %s here (%s); the frame shows %s: %s, %.1f steps", out.Said.Words, out.Basis,
		figure.ChromaticityOf(xy).Words, off.Words, *off.Steps)
	c.mayDiffer(&out, e, words)
	return out, nil
}

// greyIn is the picture of the grey that the correction of a clip is worked out for, on a display.
func greyIn(b *logbook.Book, clip logbook.View) (c *correcting, said colorimetry.XY, err error) {
	setUp, _ := b.RecordOf(kinds.SetUp, clip.Ref("setUp"))
	if !setUp.Known() {
		return nil, said, fmt.Errorf("%w: the clip has no set-up", figure.ErrUnknown)
	}
	c, err = correct(setup.NewReader(b).ReadForRows(setUp), clip)
	switch {
	case err != nil:
		return nil, said, err
	case c.codes != nil:
		return nil, said, fmt.Errorf("%w: of the footage only the codes of a card are known, not the colour that they stand for",
			figure.ErrUnknown)
	case c.noGains != "":
		return nil, said, fmt.Errorf("%w: %s", figure.ErrUnknown, c.noGains)
	}
	said, err = shownBy(c.encoding, c.signal)
	return c, said, err
}

// shownBy is the colour of signals on a display.
func shownBy(e colorimetry.Encoding, signal [3]float64) (colorimetry.XY, error) {
	xy, err := e.Chromaticity(signal)
	if err != nil {
		return xy, err
	}
	return cameras.Displayed(xy, e)
}

// mayDiffer says why the two may differ.
func (c *correcting) mayDiffer(out *StillCheck, e colorimetry.Encoding, words string) {
	add := func(format string, with ...any) { out.MayDiffer = append(out.MayDiffer, fmt.Sprintf(format, with...)) }
	if words != out.Encoding {
		add("the frame was read as %s, the log has the clip as %s: a frame that was developed, converted or given a look shows another colour",
			words, out.Encoding)
	}
	c.byLevel(out, e, add)
	if out.Seen.Format == "JPEG" {
		add("it is a JPEG: 8 bits, and colour at a coarser grid than light")
	}
	switch out.Basis {
	case cameras.FromLabel:
		add("the log goes by the label of the camera's setting alone")
	case cameras.CardsElsewhere, cameras.CardOnSetting:
		add("the log goes by cards of other shots")
	}
	if c.light == nil || !c.s.LightAtClip(c.clip).Measured {
		add("the light was not measured at the clip")
	}
	if len(c.clip.Keys("changes")) > 0 {
		add("the white was changed while it rolled: the log says its beginning")
	}
}

// byLevel compares how light the two greys are.
func (c *correcting) byLevel(out *StillCheck, e colorimetry.Encoding, add func(string, ...any)) {
	seen, err := luminanceOf(e, out.Seen.Signal())
	said, err2 := luminanceOf(c.encoding, c.signal)
	if err != nil || err2 != nil || !(seen > 0 && said > 0) {
		return
	}
	out.StopsAbove = figure.Rounded(math.Log2(seen/said), 1)
	lies := fmt.Sprintf("%.1f stops above", *out.StopsAbove)
	if *out.StopsAbove < 0 {
		lies = fmt.Sprintf("%.1f stops below", -*out.StopsAbove)
	}
	if left, err := c.leftAt(seen / said); err == nil && left >= 0.1 {
		add("the patch lies %s the grey that the log worked with: there the code ratios of its correction leave %.1f steps", lies, left)
	} else if math.Abs(*out.StopsAbove) >= 1 {
		add("the patch lies %s the grey that the log worked with: a look bends colours by level", lies)
	}
}

func luminanceOf(e colorimetry.Encoding, signal [3]float64) (float64, error) {
	rgb, err := e.Linear(signal)
	if err != nil {
		return 0, err
	}
	return (rgb[0] + rgb[1] + rgb[2]) / 3, nil
}

// leftAt is what the code ratios to neutral leave of a grey whose light is another by a factor.
func (c *correcting) leftAt(factor float64) (float64, error) {
	ratio := c.out.ToNeutral.Ratio
	if ratio == nil {
		return 0, nil
	}
	return cameras.LeftAt(c.encoding, c.signal, [3]float64{ratio.R, ratio.G, ratio.B}, colorimetry.D65, factor)
}
