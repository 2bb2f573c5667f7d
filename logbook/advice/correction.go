package advice

import (
	"fmt"
	"math"
	"slices"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// ClipCorrections are what to do to the footage of one clip: to intent, so that a
// grey in the reference light shows the intended cast and no more, and to neutral,
// which takes a deliberate cast away too.
type ClipCorrections struct {
	Clip           logbook.ID           `json:"clip"`
	Camera         logbook.ID           `json:"camera"`
	Body           logbook.ID           `json:"body"`
	WhiteInFootage string               `json:"whiteInFootage,omitempty"` // baked, storedBeside or free; absent: not in the log
	Encoding       string               `json:"encoding"`                 // transfer and primaries
	Basis          string               `json:"basis"`                    // card, predicted or label
	BasisWords     string               `json:"basisWords"`               // card in the clip, card on this setting, cards elsewhere, or label
	SpreadMired    *float64             `json:"spreadMired,omitempty"`    // of the cards; absent where it rests on none, or on codes alone
	SpreadDuv      *float64             `json:"spreadDuv,omitempty"`
	Words          string               `json:"words"`
	Light          *figure.Chromaticity `json:"light,omitempty"` // of the clip, as its row has it
	White          *figure.Chromaticity `json:"white,omitempty"` // that the camera had
	Aim            *figure.Chromaticity `json:"aim,omitempty"`   // that it should have had
	IntendedCast   figure.IntendedCast  `json:"intendedCast"`
	ToIntent       cameras.Correction   `json:"toIntent"`
	ToNeutral      cameras.Correction   `json:"toNeutral"`
	CameraError    *cameras.Error       `json:"cameraError,omitempty"` // counted in
	Origin         figure.Origin        `json:"origin"`
}

// correcting is what the corrections of one clip are worked out from.
type correcting struct {
	s          *setup.SetUp
	clip, body logbook.View
	set        cameras.Setting
	light      *figure.Chromaticity // of the clip; on the card where that is not known
	lit        *figure.Chromaticity // in which the grey is whose signals are corrected
	white      *colorimetry.CCTDuv
	footage    cameras.Footage      // as the recording mode has it
	encoding   colorimetry.Encoding // in which factors are worked out
	noGains    string               // why there are none
	codes      *cameras.Card        // of which only the codes are known
	signal     [3]float64
	off        colorimetry.Cast // of the body's white from its label
	out        ClipCorrections
}

// Correct works from a grey card in the clip, else from what cards taught about the body, else
// from its label. Light, white and error are those of the clip's row in the colour log. Errors
// wrap ErrNoRecord, or, where nothing can be said at all, figure.ErrUnknown or
// colorimetry.ErrDomain. When it is asked changes nothing.
func Correct(b *logbook.Book, clip logbook.ID, _ logbook.Millis) (ClipCorrections, error) {
	v, err := logbook.FindRecord(b, kinds.Clip, "record", clip)
	if err != nil {
		return ClipCorrections{}, err
	}
	setUp, _ := b.RecordOf(kinds.SetUp, v.Ref("setUp"))
	if !setUp.Known() {
		return ClipCorrections{}, fmt.Errorf("%w: the clip has no set-up", figure.ErrUnknown)
	}
	return CorrectIn(setup.NewReader(b).ReadForRows(setUp), v)
}

// CorrectIn is Correct of a clip of a set-up that was read for rows.
func CorrectIn(s *setup.SetUp, v logbook.View) (ClipCorrections, error) {
	c, err := correct(s, v)
	return c.out, err
}

func correct(s *setup.SetUp, v logbook.View) (*correcting, error) {
	c := &correcting{s: s, clip: v, set: cameras.ClipSetting(v)}
	c.body, _ = s.Book().RecordOf(kinds.Body, v.Ref("body"))
	p := c.s.PeriodOf(v)
	aim := c.s.Aim(p, v.Ref("camera"))
	c.out = ClipCorrections{Clip: v.ID, Camera: v.Ref("camera"), Body: c.body.ID, Aim: aim.Aim, IntendedCast: aim.IntendedCast}
	mode := cameras.ModeOf(v.Text("recordingMode"), c.body)
	c.out.WhiteInFootage = cameras.WhiteInMode(c.body, mode)
	c.findLight()
	if err := c.grey(mode); err != nil {
		return &correcting{}, err
	}
	if len(v.Keys("changes")) > 0 {
		c.caveat("the white was changed while it rolled: this is for its beginning")
	}
	c.toIntent(aim)
	c.toNeutral()
	c.write()
	return c, nil
}

func (c *correcting) caveat(words string) {
	c.out.Origin.Caveats = append(c.out.Origin.Caveats, words)
}

// findLight takes the light of the clip.
func (c *correcting) findLight() {
	light := c.s.LightAtClip(c.clip)
	if c.light = light.Color; c.light != nil && !light.Measured {
		c.caveat("the light was not measured then: the white in force was taken for it")
	}
	c.lit = c.light
}

// grey finds the signals of a grey in the footage: of a card in it, else predicted from the
// light and the white.
func (c *correcting) grey(mode string) error {
	had := c.s.WhiteAtClip(c.clip, c.body, c.set)
	if had.Err == nil {
		c.white = &had.White
	}
	if c.out.CameraError = had.Learnt; had.Learnt != nil {
		c.off = had.Learnt.Cast
		c.spread(had.Learnt.SpreadMired, had.Learnt.SpreadDuv)
	}
	c.footage = cameras.FootageOf(c.body.Value("recordingModes/" + mode))
	shot, inClip := c.s.CardOfClip(c.clip, c.body, c.set)
	codes, codesInClip := c.s.CodedCardOfClip(c.clip, c.body, c.set)
	switch {
	case shot != nil && (inClip || had.Err != nil && !codesInClip):
		c.fromCard(shot, inClip)
		return nil
	case codes != nil && (codesInClip || had.Err != nil):
		c.fromCodes(codes, codesInClip)
		return nil
	case had.Err != nil:
		return fmt.Errorf("there is no card on this setting, and no label: %w", had.Err)
	case c.light == nil:
		return fmt.Errorf("%w: there is neither a card in this clip nor a light that was measured", figure.ErrUnknown)
	}
	c.out.Basis, c.out.BasisWords = "label", cameras.FromLabel
	c.out.Origin.Method, c.out.Origin.Confidence = "the picture of a grey as the label of the setting predicts it", "label"
	c.out.Origin.Caveats = append(c.out.Origin.Caveats, had.Caveats...)
	if had.Learnt != nil {
		c.out.Basis, c.out.BasisWords = "predicted", cameras.CardsElsewhere
		if slices.ContainsFunc(c.s.ShotCards(), func(card *cameras.Card) bool { // the newest may be too poor to count
			return card.Body.ID == c.body.ID && card.Set.Key() == c.set.Key() && slices.Contains(had.Learnt.Samples, card.View.ID)
		}) {
			c.out.BasisWords = cameras.CardOnSetting
		}
		c.out.Origin.Method, c.out.Origin.Confidence = "the picture of a grey as cards of other shots predict it", "computed"
		c.out.Origin.Records = had.Learnt.Samples
	}
	return c.predict(shot, codes)
}

// fromCard takes the signals of a card. The grey in it was lit so that the white of the clip
// makes them of it; without that white, its light says the white.
func (c *correcting) fromCard(shot *cameras.Card, inClip bool) {
	c.out.Basis, c.encoding, c.signal, c.out.Encoding = "card", shot.Encoding, shot.Patch.Signal, shot.EncodingWords
	c.out.Origin.Method, c.out.Origin.Confidence, c.out.Origin.Records = "the grey card", "measured", []logbook.ID{shot.View.ID}
	c.out.Origin.Caveats = append(c.out.Origin.Caveats, shot.Warnings...)
	c.ofCard(inClip)
	if c.white == nil {
		c.whiteBy(shot)
		return
	}
	xy, err := shot.LightBehind(*c.white)
	if err != nil {
		c.caveat(err.Error())
		return
	}
	c.lit = figure.ChromaticityOf(xy)
	if c.light == nil {
		c.light = c.lit
		return
	}
	apart := figure.CastDifference(xy, c.light.XY)
	if _, beyond := c.s.Limits().Exceeded(apart); beyond {
		c.caveat("the light on the card is " + apart.Words + " than that of the clip: the correction is that of the card")
	}
}

// fromCodes takes the codes of a card of which nobody can tell the light: they go to neutral by
// themselves, and to the intent by as many stops as light and aim say.
func (c *correcting) fromCodes(codes *cameras.Card, inClip bool) {
	c.codes, c.out.Basis, c.out.Encoding = codes, "card", codes.EncodingWords
	c.out.Origin.Method, c.out.Origin.Confidence, c.out.Origin.Records = "the codes of the grey card", "measured", []logbook.ID{codes.View.ID}
	c.out.Origin.Caveats = append(c.out.Origin.Caveats, codes.Warnings...)
	c.ofCard(inClip)
	if codes.Footage.Log {
		c.caveat("the offsets hold from about mid grey up, where the log curve is one of stops")
	}
	c.unitsOf(codes.Footage)
}

// unitsOf settles in which primaries factors of light are worked out.
func (c *correcting) unitsOf(f cameras.Footage) {
	c.encoding = colorimetry.Encoding{Transfer: colorimetry.TransferLinear, Primaries: f.Encoding.Primaries}
	switch {
	case f.Gamut != nil && c.footage.Gamut == nil:
		c.encoding.Primaries = c.footage.Encoding.Primaries
	case f.Gamut != nil:
		c.noGains = "the primaries of the footage are not known"
	}
}

// whiteBy finds the white of a setting that has no label by a card and the light on it.
func (c *correcting) whiteBy(shot *cameras.Card) {
	if light, err := shot.Light(c.s.Book(), c.s.KnownAt(c.clip)); err == nil {
		c.lit = figure.ChromaticityOf(light)
	} else if c.light != nil {
		c.caveat("the light on the card is not known: that of the set-up was taken for it")
	}
	if c.light == nil {
		c.light = c.lit
	}
	if c.lit == nil {
		return
	}
	s, err := colorimetry.ReadPatch(shot.Patch, shot.Encoding, c.lit.XY)
	if err != nil {
		c.caveat(err.Error())
		return
	}
	c.white = &s.White
	c.spread(figure.RoundTo(math.Abs(float64(s.Uncertainty.Mired)), 1), figure.RoundTo(float64(s.Uncertainty.Duv), figure.DuvDecimals))
}

// assumedSignal is where a grey is taken to lie in footage that shows none.
const assumedSignal = 0.42

// predict makes the signals of a grey in the light, on the white, encoded as the mode says, else
// as a card on the setting was. Where the primaries are not known, nobody can: factors that were
// worked out in others would be wrong.
func (c *correcting) predict(shot, codes *cameras.Card) error {
	c.out.Encoding = c.footage.Words
	switch {
	case c.footage.Known() == nil:
		c.encoding = c.footage.Encoding
	case shot != nil:
		c.encoding, c.out.Encoding = shot.Encoding, shot.EncodingWords
		c.caveat("the encoding was taken from a card on this setting, for the recording mode does not say it")
	case codes != nil:
		c.fromCodes(codes, false)
		return nil
	default:
		if c.unitsOf(c.footage); c.noGains != "" {
			return nil
		}
		c.caveat("the curve of the recording mode is not known or not published: factors are for linear light")
	}
	grey := assumedSignal
	if c.encoding.Transfer == colorimetry.TransferLinear || c.encoding.Transfer == colorimetry.TransferACEScct {
		var err error
		if grey, err = c.encoding.Encode(0.18); err != nil {
			return err
		}
	}
	xy, err := c.white.XY()
	if err != nil {
		return err
	}
	picture, err := cameras.PictureXY(c.light.XY, xy)
	if err != nil {
		return err
	}
	// The signals of the picture are those of a neutral grey, corrected to it.
	neutral := [3]float64{grey, grey, grey}
	to, err := c.encoding.Correct(neutral, picture)
	if err != nil {
		return err
	}
	for i := range neutral {
		c.signal[i] = neutral[i] * to.Ratio[i]
	}
	return nil
}

func (c *correcting) toIntent(aim setup.Aim) {
	c.out.ToIntent = cameras.Correction{To: "intent"}
	switch {
	case aim.Aim == nil:
		c.out.ToIntent.Problem = aim.Problem
		return
	case c.lit == nil:
		c.out.ToIntent.Problem = "the light is not known"
		return
	}
	target, err := cameras.PictureXY(c.lit.XY, aim.Aim.XY)
	if err != nil {
		c.out.ToIntent.Problem = err.Error()
		return
	}
	if c.codes != nil {
		c.out.ToIntent = c.codesTo(target)
	} else {
		c.out.ToIntent = c.correct(target, "intent")
	}
	if want, err := aim.Aim.CCTDuv(); err == nil && c.white != nil {
		d := figure.PictureDifference(*c.white, want, c.s.PeriodOf(c.clip).Reference)
		c.out.ToIntent.Cast = &d
	}
	c.enter(&c.out.ToIntent, aim.Aim)
}

func (c *correcting) toNeutral() {
	if c.codes != nil {
		c.out.ToNeutral = c.codes.ByCodes()
	} else {
		c.out.ToNeutral = c.correct(colorimetry.D65, "neutral")
	}
	if c.light != nil && c.white != nil {
		if white, err := c.white.XY(); err == nil {
			d := figure.CastDifference(c.light.XY, white)
			c.out.ToNeutral.Cast = &d
		}
	}
	if c.lit != nil {
		c.enter(&c.out.ToNeutral, c.lit)
	}
}

// correct gives no slopes to log footage of an unknown curve: they would be wrong there.
func (c *correcting) correct(target colorimetry.XY, to string) cameras.Correction {
	if c.noGains != "" {
		return cameras.Correction{To: to, Problem: c.noGains}
	}
	out := cameras.Correct(c.encoding, c.signal, target, to)
	if c.footage.Known() != nil && c.footage.Log && out.Takes == "slope" {
		if out.Takes = "stops"; c.footage.Stop > 0 {
			out.InStops(c.footage, stopsOf(out), [3]float64{})
		}
	}
	return out
}

func stopsOf(c cameras.Correction) [3]float64 { return [3]float64{c.Stops.R, c.Stops.G, c.Stops.B} }

// codesTo takes the codes of a card to neutral, and from there to a target.
func (c *correcting) codesTo(target colorimetry.XY) cameras.Correction {
	neutral := c.codes.ByCodes()
	failed := func(why string) cameras.Correction { return cameras.Correction{To: "intent", Problem: why} }
	switch {
	case neutral.Problem != "":
		return failed(neutral.Problem)
	case c.noGains != "":
		return failed(c.noGains)
	case neutral.Offset == nil:
		return failed("the curve of the footage is not known")
	case !(c.footage.Stop > 0):
		return failed("what one stop is in its codes is not known")
	}
	const grey = 0.18
	out := cameras.Correct(c.encoding, [3]float64{grey, grey, grey}, target, "intent")
	if out.Problem != "" {
		return out
	}
	stops := stopsOf(out)
	out.Gain, out.Stops, out.Level = nil, nil, neutral.Level
	units := c.codes.Footage
	units.Stop = c.footage.Stop
	out.InStops(units, stops, [3]float64{neutral.Offset.R, neutral.Offset.G, neutral.Offset.B})
	return out
}

// enter finds what to type as white, in the units of the camera, where the footage lets
// it be changed.
func (c *correcting) enter(to *cameras.Correction, white *figure.Chromaticity) {
	if c.out.WhiteInFootage != "free" && c.out.WhiteInFootage != "storedBeside" {
		return
	}
	want, err := white.CCTDuv()
	if err != nil {
		return
	}
	best, _, caveats, err := c.s.Memo().WhatToDialWith(c.body, want, c.lit.XY, c.off)
	if err != nil {
		c.caveat("what to enter as white: " + err.Error())
		return
	}
	to.Takes, to.Setting, to.Problem = "kelvin", &best, ""
	if to.To == "intent" {
		c.out.Origin.Caveats = append(c.out.Origin.Caveats, caveats...)
	}
}

// write puts down the light, the white and the sentence.
func (c *correcting) write() {
	if c.light != nil {
		c.out.Light = c.light
	}
	if c.white != nil {
		if xy, err := c.white.XY(); err == nil {
			c.out.White = figure.ChromaticityOf(xy)
		}
	}
	from := map[string]string{
		"card": "from a grey card", "predicted": "predicted from cards of other shots", "label": "from the label alone, unconfirmed",
	}[c.out.Basis]
	c.out.Words = from + ": to intent " + c.out.ToIntent.InWords() + "; to neutral " + c.out.ToNeutral.InWords()
	if c.out.Basis != "card" && c.codes == nil && c.out.ToIntent.Ratio != nil {
		c.caveat("the level of the grey is assumed, and the ratios are exact there only")
	}
}
