package cameras

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// Card is a sample with what is read from it.
type Card struct {
	View          logbook.View
	Body          logbook.View
	Camera, setUp logbook.ID
	At            logbook.Millis
	Date          string // of the day of its set-up; "" where it belongs to none
	mode, glass   string
	Set           Setting
	Patch         colorimetry.Patch
	Footage       Footage
	Encoding      colorimetry.Encoding // of Footage
	EncodingWords string
	Reading       *lighting.Reading                       // the light on the card; nil where it was not measured
	family        string                                  // of the lamps that made that light
	picture       colorimetry.XY                          // of the patch on a display
	coded         bool                                    // its signals are there, be they light that is known or not
	read          *colorimetry.Sample                     // what it says in the measured light, where that was worked out before
	labelled      func(*Card) (colorimetry.CCTDuv, error) // of a walk; nil: it was read for one question
	Warnings      []string
}

// cardOf reads a sample. The error says what of it cannot be used; what it was
// shot with is filled in all the same.
func cardOf(b *logbook.Book, v logbook.View) (*Card, error) {
	c := &Card{View: v, Camera: v.Ref("camera"), setUp: v.Ref("setUp"), At: ShotAt(b, v),
		mode: v.Text("recordingMode"), glass: v.Text("glass")}
	c.Body, _ = b.RecordOf(kinds.Body, v.Ref("body"))
	if clip, ok := b.RecordOf(kinds.Clip, v.Ref("clip")); ok {
		c.fromClip(clip)
	}
	c.Date = lighting.DateOf(b, c.setUp)
	c.mode = ModeOf(c.mode, c.Body)
	s := v.Value("settings")
	c.Set = SettingOf(s.Member("whiteMode"), s.Member("kelvin"), s.Member("tint"), s.Member("amberBlue"), s.Member("preset"))
	c.Set.On = c.Date
	if id, ok := v.Value("light").Member("reading").ID(); ok {
		if reading, ok := b.RecordOf(kinds.Reading, id); ok {
			c.Reading = lighting.Read(b, reading)
			c.family = lighting.FamilyOfReading(b, c.Reading)
		}
	}
	return c, c.readPatch()
}

func (c *Card) fromClip(clip logbook.View) {
	if c.Camera.IsZero() {
		c.Camera = clip.Ref("camera")
	}
	if c.setUp.IsZero() {
		c.setUp = clip.Ref("setUp")
	}
	if c.mode == "" {
		c.mode = clip.Text("recordingMode")
	}
	if c.glass == "" {
		c.glass = GlassOf(clip.Text("lens"), clip.Text("filters"))
	}
}

// ModeOf is the recording mode: the body's only one where none is said.
func ModeOf(mode string, body logbook.View) string {
	if mode == "" && body.Known() {
		if keys := body.Keys("recordingModes"); len(keys) == 1 {
			return keys[0]
		}
	}
	return mode
}

func GlassOf(lens, filters string) string {
	return strings.Trim(lens+", "+filters, ", ")
}

// readPatch decodes the patch.
func (c *Card) readPatch() (err error) {
	v := c.View
	rgb := v.Value("rgb")
	c.Footage = FootageOf(rgb)
	c.Encoding, c.EncodingWords = c.Footage.Encoding, c.Footage.Words
	codes := colorimetry.CodeRange{Bits: int(logbook.FloatOf(rgb.Member("bits")))}
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
		signal, step := logbook.FloatOf(typed)/100, typedStep(typed)/100
		if as == "codeValues" {
			if signal, err = codes.Signal(logbook.FloatOf(typed)); err != nil {
				return err
			}
			step = codes.Step()
		}
		c.Patch.Signal[i] = signal
		c.Patch.Spread[i] = math.Max(colorimetry.TypedSpread(step), sd/100/math.Sqrt(pixels))
	}
	clipped, _ := v.Number("clippedPercent")
	c.Patch.Clipped = clipped / 100
	c.warn(sd, clipped)
	c.coded = true
	if err = c.Footage.Known(); err != nil {
		return err
	}
	c.picture, err = c.Encoding.Chromaticity(c.Patch.Signal)
	return err
}

// warn notes what makes a sample worth less: common practice, no source.
func (c *Card) warn(sd, clipped float64) {
	const uneven = 5
	if c.View.Text("readAt") == "monitorWithLook" {
		c.Warnings = append(c.Warnings, "it was read on a monitor with a look: the look is in it")
	}
	if c.View.Text("patch") == "paper" {
		c.Warnings = append(c.Warnings, "paper is not neutral: brighteners make it blue")
	}
	if sd > uneven {
		c.Warnings = append(c.Warnings, fmt.Sprintf("the patch is uneven: a spread of %g %%", sd))
	}
	if clipped > 0 {
		c.Warnings = append(c.Warnings, fmt.Sprintf("%g %% of the patch is clipped", clipped))
	}
	if lighting.Withdrawn(c.View) {
		c.Warnings = append(c.Warnings, "the sample was withdrawn")
	}
}

// typedStep is the step of a number's last digit as it was typed.
func typedStep(v logbook.Value) float64 {
	text, _ := v.Number()
	text, _, _ = strings.Cut(strings.ToLower(text), "e")
	_, decimals, _ := strings.Cut(text, ".")
	return math.Pow(10, -float64(len(decimals)))
}

// Label is the white of the setting that the card was shot on; only kelvin and
// presets have one that does not rest on a card itself.
func (c *Card) Label() (colorimetry.CCTDuv, error) {
	if !c.Set.OnDial() {
		return colorimetry.CCTDuv{}, fmt.Errorf("%w: %s has no label", figure.ErrUnknown, c.Set.InWords(c.Body))
	}
	if c.labelled != nil {
		return c.labelled(c)
	}
	white, _, err := c.Set.dialWhite(c.Body)
	return white, err
}

// SetUpOf is the set-up that a sample was shot in: its own, else that of its clip.
func SetUpOf(b *logbook.Book, sample logbook.View) logbook.ID {
	if id := sample.Ref("setUp"); !id.IsZero() {
		return id
	}
	clip, _ := b.RecordOf(kinds.Clip, sample.Ref("clip"))
	if !clip.Known() {
		return logbook.ID{}
	}
	return clip.Ref("setUp")
}

// NextDate is the first date after another on which a body shot a card that counts; "" where
// there is none.
func NextDate(b *logbook.Book, body logbook.View, after string) (next string) {
	for _, v := range b.Referring(kinds.Sample, "body", body.ID) {
		if lighting.Withdrawn(v) {
			continue
		}
		if date := lighting.DateOf(b, SetUpOf(b, v)); date > after && (next == "" || date < next) {
			next = date
		}
	}
	return next
}

// ShotIn are the samples of a set-up that count, by time: those that can be read, and those of which only
// the codes are known: of a curve that is not published, or of primaries that nobody typed.
func ShotIn(b *logbook.Book, setUp logbook.ID) (read, coded []*Card) {
	read = shotIn(b, setUp, Known{}, func(c *Card, err error) bool {
		if err != nil && c.coded && c.Footage.Known() != nil {
			coded = append(coded, c)
		}
		return err == nil
	})
	byTime(coded)
	return read, coded
}

func cardsOf(b *logbook.Book, setUp logbook.ID, known Known) []*Card {
	return shotIn(b, setUp, known, func(c *Card, err error) bool { return err == nil && known.counts(c) })
}

func shotIn(b *logbook.Book, setUp logbook.ID, known Known, pass func(*Card, error) bool) (all []*Card) {
	seen := map[logbook.ID]bool{}
	note := func(views []logbook.View) {
		for _, v := range views {
			if seen[v.ID] {
				continue
			}
			seen[v.ID] = true
			if c, err := known.card(b, v); pass(c, err) {
				all = append(all, c)
			}
		}
	}
	note(known.samples(b, "setUp", setUp))
	for _, clip := range b.Referring(kinds.Clip, "setUp", setUp) {
		note(known.samples(b, "clip", clip.ID))
	}
	byTime(all)
	return all
}

func byTime(cards []*Card) {
	sort.SliceStable(cards, func(i, j int) bool { return cards[i].At < cards[j].At })
}

// ShotAt is when a card was shot.
func ShotAt(b *logbook.Book, sample logbook.View) logbook.Millis {
	if t, ok := lighting.InstantOf(sample, "takenAt"); ok {
		return t
	}
	if clip, ok := b.RecordOf(kinds.Clip, sample.Ref("clip")); ok {
		return lighting.ClipTime(clip)
	}
	return sample.CreatedAt()
}
