package cameras

import (
	"fmt"
	"math"

	"evenwhite/colorimetry"
	"evenwhite/logbook/figure"
)

// StillQuery is how the pixels of a still are to be read. Transfer, primaries and
// range are those of the footage, in the words of a sample; nothing in a file says
// them reliably.
type StillQuery struct {
	Encoding  string // transfer
	Gamma     float64
	Primaries string
	Range     string // full or narrow
	Bits      int    // per channel, of the file
	// X, Y, Width and Height are the patch, in pixels of the file from its upper
	// left corner.
	X, Y, Width, Height int
}

// StillReading is what a patch of a still says, in the form in which a sample stores
// it.
type StillReading struct {
	Format string      `json:"format"` // PNG, JPEG or TIFF
	Width  int         `json:"width"`  // of the picture, in pixels
	Height int         `json:"height"`
	Sample StillSample `json:"sample"` // members of a new sample
	// SpreadOfMean is the uncertainty of the codes in Sample: sd/√n, at least half a
	// code.
	SpreadOfMean figure.RGB `json:"spreadOfMean"`
	Noise        figure.RGB `json:"noise"` // standard deviation from pixel to pixel, in codes
	// UnevenPercent is the luminance of the brightest of 16 cells minus that of the
	// darkest, in percent of the mean; UnevenSteps how far the colour of a cell lies
	// from the mean at most, in steps of 0.0011 u'v'.
	UnevenPercent float64       `json:"unevenPercent"`
	UnevenSteps   float64       `json:"unevenSteps"`
	Picture       *figure.Shown `json:"picture"` // of the patch on the display
	ToNeutral     Correction    `json:"toNeutral"`
	Method        string        `json:"method"`             // in words
	Warnings      []string      `json:"warnings,omitempty"` // what makes it worth less
	signal        [3]float64
}

// Signal is the mean of the patch, 0 to 1.
func (t StillReading) Signal() [3]float64 { return t.signal }

// StillSample are the members that a still gives a sample.
type StillSample struct {
	RGB            StillRGB `json:"rgb"`
	AreaPixels     int      `json:"areaPixels"`
	SpreadPercent  float64  `json:"spreadPercent"` // of the channel with the most
	ClippedPercent float64  `json:"clippedPercent"`
}

// StillRGB is the value of a sample's field rgb.
type StillRGB struct {
	As        string  `json:"as"` // "codeValues"
	R         float64 `json:"r"`
	G         float64 `json:"g"`
	B         float64 `json:"b"`
	Bits      int     `json:"bits"`
	Range     string  `json:"range"`
	Encoding  string  `json:"encoding"`
	Gamma     float64 `json:"gamma,omitempty"`
	Primaries string  `json:"primaries"`
}

// codeDecimals are those of a mean code: half a code is its least spread.
const codeDecimals = 1

// A StillPatch takes in the pixels of a still's patch.
type StillPatch struct {
	asked    StillQuery
	codes    colorimetry.CodeRange
	encoding colorimetry.Encoding
	pixels   *colorimetry.PatchPixels
}

// NewStillPatch begins a patch. Errors wrap ErrUnknown for an encoding or
// primaries that are not computed, colorimetry.ErrPatchSize or
// colorimetry.ErrDomain.
func NewStillPatch(a StillQuery) (*StillPatch, error) {
	p := &StillPatch{asked: a, codes: colorimetry.CodeRange{Bits: a.Bits, Narrow: a.Range == "narrow"}}
	var err error
	if p.encoding, _, err = NamedEncoding(a.Encoding, a.Primaries, a.Gamma); err != nil {
		return nil, err
	}
	p.pixels, err = colorimetry.NewPatchPixels(p.encoding, p.codes, a.Width, a.Height)
	return p, err
}

// Add takes in the codes of a pixel, by its place in the patch. Errors wrap
// colorimetry.ErrDomain.
func (p *StillPatch) Add(x, y int, code [3]float64) error { return p.pixels.Add(x, y, code) }

// Primaries are those that were asked for.
func (p *StillPatch) Primaries() colorimetry.Primaries { return p.encoding.Primaries }

// Reading says what the patch says. A patch that is refused is an error: it wraps
// colorimetry.ErrClipped, ErrExposure or ErrNotNeutral, and says the reason.
func (p *StillPatch) Reading() (StillReading, error) {
	r, err := p.pixels.Read()
	if err != nil {
		return StillReading{}, err
	}
	rgb := StillRGB{
		As: "codeValues", Bits: p.asked.Bits, Range: p.asked.Range,
		Encoding: p.asked.Encoding, Gamma: p.asked.Gamma, Primaries: p.asked.Primaries,
	}
	for i, to := range [...]*float64{&rgb.R, &rgb.G, &rgb.B} {
		code, err := p.codes.Code(r.Signal[i])
		if err != nil {
			return StillReading{}, err
		}
		*to = figure.RoundTo(code, codeDecimals)
	}
	t := StillReading{signal: r.Signal,
		Sample:       StillSample{RGB: rgb, AreaPixels: r.Pixels, SpreadPercent: figure.RoundTo(100*max(r.Deviation[0], r.Deviation[1], r.Deviation[2]), 3), ClippedPercent: figure.RoundTo(100*r.Clipped, 3)},
		SpreadOfMean: *figure.RoundedRGB(p.inCodes(r.Spread), 2), Noise: *figure.RoundedRGB(p.inCodes(r.Noise), 2),
		UnevenPercent: figure.RoundTo(100*r.Unevenness, 1), UnevenSteps: figure.RoundTo(r.UnevenSteps, figure.StepsDecimals),
		Picture: figure.ShownWithin(r.Picture, p.moves(r)), ToNeutral: Correct(p.encoding, r.Signal, colorimetry.D65, "neutral"),
		Method: fmt.Sprintf("%d by %d pixels from %d, %d averaged in linear light", p.asked.Width, p.asked.Height, p.asked.X, p.asked.Y),
	}
	t.warn()
	return t, nil
}

// moves is how far the spread of the channels moves the picture, added as squares.
func (p *StillPatch) moves(r colorimetry.PatchReading) (f figure.Floors) {
	here, err := r.Picture.CCTDuv()
	if err != nil {
		return f // not reached: a picture without a CCT is not near neutral, and was refused
	}
	for i, spread := range r.Spread {
		signal := r.Signal
		signal[i] += spread
		moved, err := p.encoding.Chromaticity(signal)
		if err != nil {
			continue
		}
		f.UV = math.Hypot(f.UV, moved.UVPrime().Distance(r.Picture.UVPrime()))
		if t, err := moved.CCTDuv(); err == nil {
			f.Kelvin = math.Hypot(f.Kelvin, float64(t.CCT-here.CCT))
			f.Mired = math.Hypot(f.Mired, float64(t.Mired()-here.Mired()))
			f.Duv = math.Hypot(f.Duv, float64(t.Duv-here.Duv))
		}
	}
	return f
}

func (p *StillPatch) inCodes(signal [3]float64) [3]float64 {
	for i := range signal {
		signal[i] /= p.codes.Step()
	}
	return signal
}

// warn: the limits are common practice, no source. Two steps of colour is half of
// what cameras may differ by.
func (t *StillReading) warn() {
	const unevenPercent, unevenSteps, noisyPercent = 15, 2, 5
	if t.UnevenPercent > unevenPercent {
		t.Warnings = append(t.Warnings, fmt.Sprintf("the patch is unevenly lit, or something else is in it: "+
			"its cells differ by %g %% in linear light", t.UnevenPercent))
	}
	if t.UnevenSteps > unevenSteps {
		t.Warnings = append(t.Warnings, fmt.Sprintf("the colour is uneven: a cell lies %g steps from the mean", t.UnevenSteps))
	}
	if t.Sample.SpreadPercent > noisyPercent {
		t.Warnings = append(t.Warnings, fmt.Sprintf("the pixels spread by %g %%", t.Sample.SpreadPercent))
	}
	if t.Sample.ClippedPercent > 0 {
		t.Warnings = append(t.Warnings, fmt.Sprintf("%g %% of the patch is clipped", t.Sample.ClippedPercent))
	}
}
