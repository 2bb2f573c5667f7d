package cameras

import (
	"fmt"
	"math"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// SampleColor is what a grey card in a camera's picture says.
type SampleColor struct {
	Sample        logbook.ID `json:"sample"`
	Body          logbook.ID `json:"body,omitzero"`
	Camera        logbook.ID `json:"camera,omitzero"`
	Setting       Dialled    `json:"setting"`
	RecordingMode string     `json:"recordingMode,omitempty"`
	Glass         string     `json:"glass,omitempty"`
	LampFamily    string     `json:"lampFamily,omitempty"`
	Encoding      string     `json:"encoding"` // transfer and primaries
	// Picture is the colour of the card on the display, D65 being neutral.
	Picture     *figure.Chromaticity `json:"picture,omitempty"`
	Light       *figure.Chromaticity `json:"light,omitempty"`
	LightMethod string               `json:"lightMethod"` // in words
	// White is the light that the camera would have rendered neutral.
	White *figure.Chromaticity `json:"white,omitempty"`
	// Uncertainty is that of White by the digits or the noise of the patch alone;
	// White, Error and Cast are shown no finer.
	Uncertainty *figure.Difference `json:"uncertainty,omitempty"`
	// FloorMired is how far the floor of the meter moves White and Error, alike for
	// all cameras that were measured in the same light.
	FloorMired *float64 `json:"floorMired,omitempty"`
	// Error is how far White lies from the label of the setting, as a light: mired +
	// when it is warmer.
	Error     *figure.Difference `json:"error,omitempty"`
	Cast      *figure.Difference `json:"cast,omitempty"`   // of the light in the picture
	Learnt    *Error             `json:"learnt,omitempty"` // what all cards of this body say, for this light and setting
	ToNeutral *Correction        `json:"toNeutral,omitempty"`
	Warnings  []string           `json:"warnings,omitempty"`
	Problem   string             `json:"problem,omitempty"` // why there is no white
}

// ColorOfSample says what a sample means. Errors wrap ErrNoRecord. A patch that is
// refused is no error: the answer says why.
func ColorOfSample(b *logbook.Book, sample logbook.ID, now logbook.Millis) (SampleColor, error) {
	v, err := logbook.FindRecord(b, kinds.Sample, "record", sample)
	if err != nil {
		return SampleColor{}, err
	}
	c, err := cardOf(b, v)
	out := SampleColor{Sample: v.ID, Body: c.Body.ID, Camera: b.Resolve(c.Camera), Setting: c.Set.InDialled(b, c.Body),
		RecordingMode: c.mode, Glass: c.glass, LampFamily: c.family, Encoding: c.EncodingWords, Warnings: c.Warnings}
	if err != nil {
		out.Problem = err.Error()
		if c.coded && c.Footage.Known() != nil {
			correction := c.ByCodes()
			out.ToNeutral = &correction
		}
		return out, nil
	}
	out.Picture = figure.ChromaticityOf(c.picture)
	correction := Correct(c.Encoding, c.Patch.Signal, colorimetry.D65, "neutral")
	out.ToNeutral = &correction
	if err := out.read(b, c, now); err != nil {
		out.Problem = err.Error()
	}
	return out, nil
}

// read fills in what needs the light on the card.
func (out *SampleColor) read(b *logbook.Book, c *Card, now logbook.Millis) error {
	light, method, err := c.lightOrInferred(b)
	out.LightMethod = method
	if err != nil {
		return err
	}
	out.Light = figure.ChromaticityOf(light)
	s, err := colorimetry.ReadPatch(c.Patch, c.Encoding, light)
	if err != nil {
		return err
	}
	white, err := s.White.XY()
	if err != nil {
		return err
	}
	if c.Reading != nil {
		out.FloorMired = figure.Rounded(c.Reading.FloorMired(), 1)
	}
	out.White = whiteCarried(s, white)
	cast := figure.CastDifference(light, white)
	cast.Carry(s.Uncertainty)
	cast.Words = cast.InWords()
	out.Cast = &cast
	out.Uncertainty = &figure.Difference{
		Mired: figure.Rounded(float64(s.Uncertainty.Mired), 1), Duv: figure.Rounded(float64(s.Uncertainty.Duv), figure.DuvDecimals),
	}
	out.Uncertainty.Words = fmt.Sprintf("± %g mired, ± %.4f Duv", *out.Uncertainty.Mired, *out.Uncertainty.Duv)
	if s.Far {
		out.Warnings = append(out.Warnings, "the card is strongly coloured: its light is more than 60 mired from the camera's white")
	}
	label, err := c.Label()
	if err != nil {
		out.Warnings = append(out.Warnings, err.Error())
		return nil
	}
	off := figure.Difference{}
	off.SetCast(colorimetry.CameraError(s.White, label))
	off.Carry(s.Uncertainty)
	off.Words = errorWords(off)
	if *off.Mired != 0 || *off.Duv != 0 {
		off.Words += ", " + out.Uncertainty.Words
	}
	out.Error = &off
	t, err := light.CCTDuv()
	if err != nil {
		return err
	}
	ask := ErrorQuery{Mode: c.mode, Glass: c.glass, Family: c.family, Light: t, Label: label, At: now, Inferred: true}
	if e, ok := ErrorByCards(b, c.Body, ask); ok {
		out.Learnt = &e
	}
	return nil
}

// lightOrInferred is the light on a card with how it is known, in words.
func (c *Card) lightOrInferred(b *logbook.Book) (light colorimetry.XY, method string, err error) {
	if c.Reading != nil {
		light, err = c.Light(b, Known{})
		return light, "measured", err
	}
	lights, from, _, err := c.inferLights(b, Known{})
	if err != nil {
		return light, "not known", err
	}
	light = lights[0].xy
	camera, _ := b.RecordOf(kinds.Camera, from.Camera)
	return light, fmt.Sprintf("inferred from the card of camera %s and its white", camera.Text("letter")), nil
}

// whiteCarried shows a camera's white with the digits that the patch carries. A
// mired is worth about 0.0005 in x or y, a Duv at most twice itself.
func whiteCarried(s colorimetry.Sample, white colorimetry.XY) *figure.Chromaticity {
	c := figure.ChromaticityOf(white)
	kelvin := float64(s.White.CCT) * float64(s.White.CCT) / 1e6 * float64(s.Uncertainty.Mired)
	xy := figure.CarriedDecimals(math.Hypot(0.0005*float64(s.Uncertainty.Mired), 2*float64(s.Uncertainty.Duv)), figure.XyDecimals)
	c.X, c.Y = figure.RoundTo(white.X, xy), figure.RoundTo(white.Y, xy)
	duv := figure.CarriedDecimals(float64(s.Uncertainty.Duv), figure.DuvDecimals)
	c.CCTKelvin = figure.Rounded(float64(s.White.CCT), figure.CarriedDecimals(kelvin, figure.KelvinDecimals))
	c.Duv = figure.Rounded(float64(s.White.Duv), duv)
	c.Words = fmt.Sprintf("%.0f K, Duv %+.*f", *c.CCTKelvin, max(duv, 0), *c.Duv)
	return c
}

// errorWords says which way a camera's white lies from its label: of a light, not
// of the picture, which goes the other way.
func errorWords(d figure.Difference) string {
	if *d.Mired == 0 && *d.Duv == 0 {
		return "the white is that of the label"
	}
	return fmt.Sprintf("the white lies %+g mired and %+g Duv from the label", *d.Mired, *d.Duv)
}
