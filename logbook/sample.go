package logbook

import (
	"fmt"
	"math"
	"strings"

	"evenwhite/colorimetry"
)

// card is a sample with what is read from it.
type card struct {
	view          View
	body          View
	camera, setUp ID
	at            Millis
	mode, glass   string
	set           setting
	patch         colorimetry.Patch
	encoding      colorimetry.Encoding
	words         string         // of the encoding
	reading       *Measurement   // the light on the card; nil where it was not measured
	family        string         // of the lamps that made that light
	picture       colorimetry.XY // of the patch on a display
	warnings      []string
}

var transfers = map[string]colorimetry.Transfer{
	"sRGB": colorimetry.TransferSRGB, "bt1886": colorimetry.TransferBT1886, "linear": colorimetry.TransferLinear,
	"pq": colorimetry.TransferPQ, "hlg": colorimetry.TransferHLG, "acesCct": colorimetry.TransferACEScct, "power": colorimetry.TransferPower,
}

var primarySets = map[string]colorimetry.Primaries{
	"bt709": colorimetry.BT709, "bt2020": colorimetry.BT2020, "p3D65": colorimetry.P3D65, "acesAp0": colorimetry.ACES0, "acesAp1": colorimetry.ACES1,
}

// encodingOf reads the members encoding, gamma and primaries of a sample or
// recording mode, and names them; ErrUnknown for those whose curve is not published
// or whose parameters the log does not hold.
func encodingOf(v Value) (e colorimetry.Encoding, words string, err error) {
	transfer, _ := v.Member("encoding").Text()
	primaries, _ := v.Member("primaries").Text()
	gamma, _ := v.Member("gamma").Float()
	return namedEncoding(transfer, primaries, gamma)
}

func namedEncoding(transfer, primaries string, gamma float64) (e colorimetry.Encoding, words string, err error) {
	words = transfer + ", " + primaries
	if transfer == "power" {
		words = fmt.Sprintf("power %g, %s", gamma, primaries)
		e.Gamma = gamma
	}
	ok := false
	if e.Transfer, ok = transfers[transfer]; !ok {
		return e, words, fmt.Errorf("%w: the encoding is %q, computed are sRGB, bt1886, linear, pq, hlg, acesCct, power", ErrUnknown, transfer)
	}
	if e.Primaries, ok = primarySets[primaries]; !ok {
		return e, words, fmt.Errorf("%w: the primaries are %q, computed are bt709, bt2020, p3D65, acesAp0, acesAp1", ErrUnknown, primaries)
	}
	if transfer == "power" && gamma == 0 {
		return e, words, fmt.Errorf("%w: the encoding is power, and its gamma is missing, allowed is a number from 1 to 3", ErrUnknown)
	}
	return e, words, e.Check()
}

// cardOf reads a sample. The error says what of it cannot be used; what it was
// shot with is filled in all the same.
func cardOf(b *Book, v View) (*card, error) {
	c := &card{view: v, camera: v.Ref("camera"), setUp: v.Ref("setUp"), at: v.CreatedAt(), mode: v.Text("recordingMode"), glass: v.Text("glass")}
	c.body, _ = b.RecordOf(KindBody, v.Ref("body"))
	if clip, ok := b.RecordOf(KindClip, v.Ref("clip")); ok {
		c.at = clipTime(clip)
		c.fromClip(clip)
	}
	if t, ok := v.Time("takenAt"); ok {
		c.at = t
	}
	c.mode = modeOf(c.mode, c.body)
	s := v.Value("settings")
	c.set = settingOf(s.Member("whiteMode"), s.Member("kelvin"), s.Member("tint"), s.Member("amberBlue"), s.Member("preset"))
	if id, ok := v.Value("light").Member("reading").ID(); ok {
		if reading, ok := b.RecordOf(KindReading, id); ok {
			c.reading = MeasurementOf(b, reading)
			c.family = familyOfReading(b, c.reading)
		}
	}
	return c, c.readPatch()
}

func (c *card) fromClip(clip View) {
	if c.camera.IsZero() {
		c.camera = clip.Ref("camera")
	}
	if c.setUp.IsZero() {
		c.setUp = clip.Ref("setUp")
	}
	if c.mode == "" {
		c.mode = clip.Text("recordingMode")
	}
	if c.glass == "" {
		c.glass = glassOf(clip.Text("lens"), clip.Text("filters"))
	}
}

// modeOf is the recording mode: the body's only one where none is said.
func modeOf(mode string, body View) string {
	if mode == "" && body.Known() {
		if keys := body.Keys("recordingModes"); len(keys) == 1 {
			return keys[0]
		}
	}
	return mode
}

func glassOf(lens, filters string) string {
	return strings.Trim(lens+", "+filters, ", ")
}

// readPatch decodes the patch.
func (c *card) readPatch() (err error) {
	v := c.view
	rgb := v.Value("rgb")
	if c.encoding, c.words, err = encodingOf(rgb); err != nil {
		return err
	}
	codes := colorimetry.CodeRange{Bits: int(floatOf(rgb.Member("bits")))}
	if text, _ := rgb.Member("range").Text(); text == "narrow" {
		codes.Narrow = true
	}
	as, _ := rgb.Member("as").Text()
	sd, _ := v.Number("spreadPercent")
	pixels, ok := v.Number("areaPixels")
	if !ok {
		pixels = 1
	}
	for i, name := range [...]string{"r", "g", "b"} {
		typed := rgb.Member(name)
		signal, step := floatOf(typed)/100, typedStep(typed)/100
		if as == "codeValues" {
			if signal, err = codes.Signal(floatOf(typed)); err != nil {
				return err
			}
			step = codes.Step()
		}
		c.patch.Signal[i] = signal
		c.patch.Spread[i] = math.Max(colorimetry.TypedSpread(step), sd/100/math.Sqrt(pixels))
	}
	clipped, _ := v.Number("clippedPercent")
	c.patch.Clipped = clipped / 100
	c.warn(sd, clipped)
	c.picture, err = c.encoding.Chromaticity(c.patch.Signal)
	return err
}

// warn notes what makes a sample worth less: common practice, no source.
func (c *card) warn(sd, clipped float64) {
	const uneven = 5
	if c.view.Text("readAt") == "monitorWithLook" {
		c.warnings = append(c.warnings, "it was read on a monitor with a look: the look is in it")
	}
	if c.view.Text("patch") == "paper" {
		c.warnings = append(c.warnings, "paper is not neutral: brighteners make it blue")
	}
	if sd > uneven {
		c.warnings = append(c.warnings, fmt.Sprintf("the patch is uneven: a spread of %g %%", sd))
	}
	if clipped > 0 {
		c.warnings = append(c.warnings, fmt.Sprintf("%g %% of the patch is clipped", clipped))
	}
	if Withdrawn(c.view) {
		c.warnings = append(c.warnings, "the sample was withdrawn")
	}
}

// typedStep is the step of a number's last digit as it was typed.
func typedStep(v Value) float64 {
	text, _ := v.Number()
	text, _, _ = strings.Cut(strings.ToLower(text), "e")
	_, decimals, _ := strings.Cut(text, ".")
	return math.Pow(10, -float64(len(decimals)))
}

// label is the white of the setting that the card was shot on; only kelvin and
// presets have one that does not rest on a card itself.
func (c *card) label() (colorimetry.CCTDuv, error) {
	if !c.set.onDial() {
		return colorimetry.CCTDuv{}, fmt.Errorf("%w: %s has no label", ErrUnknown, c.set.words(c.body))
	}
	white, _, err := c.set.dialWhite(c.body)
	return white, err
}

// cardsOf are the samples of a set-up that count and can be read, by time.
func cardsOf(b *Book, setUp ID) (all []*card) {
	seen := map[ID]bool{}
	note := func(views []View) {
		for _, v := range views {
			if seen[v.ID] || Withdrawn(v) {
				continue
			}
			seen[v.ID] = true
			if c, err := cardOf(b, v); err == nil {
				all = append(all, c)
			}
		}
	}
	note(b.Referring(KindSample, "setUp", setUp))
	for _, clip := range b.Referring(KindClip, "setUp", setUp) {
		note(b.Referring(KindSample, "clip", clip.ID))
	}
	sortCards(all)
	return all
}
