package colorimetry

import (
	"errors"
	"fmt"
	"math"
)

// Patch is a neutral patch (grey card) in one camera's picture.
type Patch struct {
	// Signal is the mean of R, G and B as signals (CodeRange.Signal, or percent
	// divided by 100).
	Signal [3]float64
	// Spread is the standard uncertainty of each mean, as a signal: TypedSpread or
	// PatchSpread.
	Spread [3]float64
	// Clipped is the part of the patch's pixels, 0 to 1, with a channel at its
	// end.
	Clipped float64
}

// What a sample must keep to. Where the signal says how much light there was, and goes
// far above white, the level is judged: five stops around mid grey, a choice of this program.
const (
	lowestMean, highestMean   = 0.05, 0.90
	lowestLevel, highestLevel = 0.18 / 32, 0.18 * 32
	mostClipped               = 0.01
	farMired                  = 60
	mostMired, mostDuv        = 200, 0.04
)

var (
	// ErrClipped refuses a patch of which more than 1 % is clipped.
	ErrClipped = errors.New("the patch is clipped")
	// ErrExposure refuses a patch with a channel outside 5 to 90 %; of linear and ACEScct,
	// beyond five stops from a linear 0.18.
	ErrExposure = errors.New("the patch is too dark or too bright")
	// ErrNotNeutral refuses a patch whose picture lies more than 200 mired or 0.04
	// Duv from the neutral of its encoding: tungsten on a daylight setting is 134
	// (common practice, no source). It is another thing than a grey card, or its
	// light so far from the camera's white that the adaptation says little.
	ErrNotNeutral = errors.New("the patch is not near neutral")
)

// Sample is what a neutral patch says about a camera.
type Sample struct {
	// White is the camera's effective white: the light that it would render
	// neutral on the setting that the patch was shot with.
	White CCTDuv
	// Cast is the colour cast of the light in the picture: light against White.
	Cast Cast
	// Uncertainty is the standard uncertainty of White from Patch.Spread alone,
	// both parts positive.
	Uncertainty Cast
	// Picture is the chromaticity of the patch on the display.
	Picture XY
	// Far says that the light is more than 60 mired from White: the patch is
	// strongly coloured, and the answer rests on the adaptation.
	Far bool
}

// ReadPatch returns what a patch says about the camera under a light of known
// chromaticity. Refused: more than 1 % clipped (ErrClipped); a channel too dark or
// too bright (ErrExposure); a picture that is no grey (ErrNotNeutral); ErrDomain for a signal that is off the curve, a negative or
// missing spread, and a white without a CCT.
func ReadPatch(p Patch, e Encoding, light XY) (Sample, error) {
	if err := p.check(e); err != nil {
		return Sample{}, err
	}
	lightCCT, err := light.CCTDuv()
	if err != nil {
		return Sample{}, fmt.Errorf("the light on the patch: %w", err)
	}
	picture, err := e.Chromaticity(p.Signal)
	if err != nil {
		return Sample{}, err
	}
	if err := checkNeutral(picture, e.Primaries.White); err != nil {
		return Sample{}, err
	}
	white, err := whiteFrom(picture, light, e.Primaries.White)
	if err != nil {
		return Sample{}, fmt.Errorf("%w: the white that follows from it: %w", ErrNotNeutral, err)
	}
	s := Sample{White: white, Cast: CastOf(lightCCT, white), Picture: picture}
	s.Far = math.Abs(float64(s.Cast.Mired)) > farMired
	s.Uncertainty, err = p.uncertainty(e, light, white)
	return s, err
}

func (p Patch) check(e Encoding) error {
	if !(p.Clipped >= 0 && p.Clipped <= 1) {
		return domainError("clipped part", p.Clipped, "0 to 1")
	}
	if p.Clipped > mostClipped {
		return fmt.Errorf("%w: clipped part is %v, allowed is at most %v", ErrClipped, p.Clipped, mostClipped)
	}
	for i, name := range [...]string{"R", "G", "B"} {
		if err := e.checkExposure(name, p.Signal[i]); err != nil {
			return err
		}
		if v := p.Spread[i]; !(v >= 0 && v <= 1) {
			return domainError("spread of "+name, v, "0 to 1")
		}
	}
	return nil
}

func (e Encoding) checkExposure(name string, signal float64) error {
	if e.Transfer != TransferLinear && e.Transfer != TransferACEScct {
		if !(signal >= lowestMean && signal <= highestMean) {
			return fmt.Errorf("%w: mean of %s is %.4g %%, allowed is 5 to 90 %%", ErrExposure, name, 100*signal)
		}
		return nil
	}
	level, err := e.Decode(signal)
	if err != nil {
		return fmt.Errorf("%w: mean of %s: %w", ErrExposure, name, err)
	}
	if !(level >= lowestLevel && level <= highestLevel) {
		return fmt.Errorf("%w: mean of %s is a linear %.4g, allowed is %.4g to %.4g", ErrExposure, name, level, lowestLevel, highestLevel)
	}
	return nil
}

// checkNeutral looks whether a picture can be that of a grey card.
func checkNeutral(picture, display XY) error {
	t, err := picture.CCTDuv()
	if err != nil {
		return fmt.Errorf("%w: its picture has x %.3f, y %.3f, allowed is a picture with a CCT: %w", ErrNotNeutral, picture.X, picture.Y, err)
	}
	neutral, err := display.CCTDuv()
	if err != nil {
		return fmt.Errorf("the white of the primaries: %w", err)
	}
	off := CastOf(t, neutral)
	if !(math.Abs(float64(off.Mired)) <= mostMired && math.Abs(float64(off.Duv)) <= mostDuv) {
		return fmt.Errorf("%w: its picture lies %+.0f mired and %+.3f Duv from neutral, allowed are ±%d mired and ±%v Duv",
			ErrNotNeutral, float64(off.Mired), float64(off.Duv), mostMired, mostDuv)
	}
	return nil
}

// uncertainty moves one channel at a time by its spread and adds the squares:
// the channels of a mean are taken as independent.
func (p Patch) uncertainty(e Encoding, light XY, white CCTDuv) (Cast, error) {
	var mired, duv float64
	for i, spread := range p.Spread {
		moved := p.Signal
		moved[i] += spread
		picture, err := e.Chromaticity(moved)
		if err != nil {
			return Cast{}, err
		}
		w, err := whiteFrom(picture, light, e.Primaries.White)
		if err != nil {
			return Cast{}, fmt.Errorf("the spread of the patch: %w", err)
		}
		mired = math.Hypot(mired, float64(w.Mired()-white.Mired()))
		duv = math.Hypot(duv, float64(w.Duv-white.Duv))
	}
	return Cast{Mired(mired), Duv(duv)}, nil
}

// Linear decodes three signals.
func (e Encoding) Linear(signal [3]float64) (rgb [3]float64, err error) {
	for i, v := range signal {
		if rgb[i], err = e.Decode(v); err != nil {
			return rgb, fmt.Errorf("%s: %w", [...]string{"R", "G", "B"}[i], err)
		}
	}
	return rgb, nil
}

// Chromaticity returns the chromaticity that three signals stand for. Domain:
// that of Decode, and a colour with a positive sum.
func (e Encoding) Chromaticity(signal [3]float64) (XY, error) {
	rgb, err := e.Linear(signal)
	if err != nil {
		return XY{}, err
	}
	m, err := e.Primaries.toXYZ()
	if err != nil {
		return XY{}, err
	}
	at := m.apply(XYZ{rgb[0], rgb[1], rgb[2]})
	// A pure primary on an edge of the plane must not fall off it by a rounding.
	const rounding = 1e-12
	for _, v := range [...]*float64{&at.X, &at.Y, &at.Z} {
		if math.Abs(*v) <= rounding*math.Abs(at.X+at.Y+at.Z) {
			*v = 0
		}
	}
	c, err := at.XY()
	if err != nil {
		return XY{}, err
	}
	return c, c.Check()
}

func whiteFrom(picture, light, display XY) (CCTDuv, error) {
	w, err := EffectiveWhite(picture, light, display, CAT16)
	if err != nil {
		return CCTDuv{}, err
	}
	return w.CCTDuv()
}

// EffectiveWhite returns the white of a camera whose picture of a light has the
// given chromaticity on a display of the given white: adapting the picture from
// the display's white to it gives the light. There is no need to search: in cone
// responses white = light · display / picture, up to a common factor. Domain:
// all three with positive cone responses, and a result that is the chromaticity
// of a light; else ErrDomain.
func EffectiveWhite(picture, light, display XY, a Adaptation) (XY, error) {
	p, l, d, err := a.threeResponses(picture, light, display)
	if err != nil {
		return XY{}, err
	}
	w := inverseConeMatrices[a].apply(XYZ{l.X * d.X / p.X, l.Y * d.Y / p.Y, l.Z * d.Z / p.Z})
	xy, err := w.XY()
	if err != nil {
		return XY{}, err
	}
	return xy, xy.Check()
}

// LightFrom returns the light that a camera of known white shows as the given
// picture: the inverse of Picture, for a card that two cameras saw under a light
// that nobody measured. Domain: as EffectiveWhite.
func LightFrom(picture, white, display XY, a Adaptation) (XY, error) {
	p, w, d, err := a.threeResponses(picture, white, display)
	if err != nil {
		return XY{}, err
	}
	l := inverseConeMatrices[a].apply(XYZ{p.X * w.X / d.X, p.Y * w.Y / d.Y, p.Z * w.Z / d.Z})
	xy, err := l.XY()
	if err != nil {
		return XY{}, err
	}
	return xy, xy.Check()
}

func (a Adaptation) threeResponses(picture, other, display XY) (p, o, d XYZ, err error) {
	if a < CAT16 || a > Bradford {
		return p, o, d, domainError("adaptation", float64(a), "0 (CAT16), 1 (CAT02) or 2 (Bradford)")
	}
	if p, err = a.responses(picture); err != nil {
		return p, o, d, fmt.Errorf("the picture: %w", err)
	}
	if o, err = a.responses(other); err != nil {
		return p, o, d, fmt.Errorf("the light or white: %w", err)
	}
	if d, err = a.responses(display); err != nil {
		return p, o, d, fmt.Errorf("the display: %w", err)
	}
	return p, o, d, nil
}

// CameraError returns how far a camera's effective white is from the white of
// its label: actual minus label, in mired and Duv. This is the Cast that Nearest
// takes. Both must be checked.
func CameraError(actual, label CCTDuv) Cast {
	return Cast{actual.Mired() - label.Mired(), actual.Duv - label.Duv}
}

// TypedSpread is the uncertainty of a number that was read off with the given
// step (one code, one percent): half a step.
func TypedSpread(step float64) float64 { return step / 2 }

// PatchSpread is the uncertainty of a mean over n pixels with the given standard
// deviation, as signals: sd/√n, at least half a code, which no averaging undoes.
// Domain: sd 0 to 1, n 1 or above, 8 to 16 bits; else ErrDomain.
func PatchSpread(sd float64, n int, c CodeRange) (float64, error) {
	if !(sd >= 0 && sd <= 1) {
		return 0, domainError("standard deviation of the patch", sd, "0 to 1")
	}
	if n < 1 {
		return 0, domainError("count of pixels", float64(n), "1 or above")
	}
	if _, err := c.Signal(0); err != nil {
		return 0, err
	}
	return math.Max(sd/math.Sqrt(float64(n)), c.Step()/2), nil
}

// TintUnit returns what one unit of a tint dial does, and whether plus is green,
// from two samples that differ in tint: the slope of the white's Duv. Domain: two
// different tints, whites within 15 mired (the same kelvin), and a slope that is
// not 0.
func TintUnit(whiteA CCTDuv, tintA float64, whiteB CCTDuv, tintB float64) (unit Duv, plusIsGreen bool, err error) {
	if !finite(tintA, tintB) || tintA == tintB {
		return 0, false, domainError("tint of the second sample", tintB, fmt.Sprintf("any other than %v", tintA))
	}
	if apart := math.Abs(float64(whiteA.Mired() - whiteB.Mired())); !(apart <= 15) {
		return 0, false, domainError("distance of the two whites in mired", apart, "at most 15: the kelvin setting must be the same")
	}
	slope := float64(whiteB.Duv-whiteA.Duv) / (tintB - tintA)
	if !finite(slope) || slope == 0 {
		return 0, false, domainError("Duv of a tint unit", slope, "not 0")
	}
	return Duv(math.Abs(slope)), slope < 0, nil
}
