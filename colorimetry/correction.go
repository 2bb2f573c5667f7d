package colorimetry

import (
	"fmt"
	"math"
)

// Correction brings a patch to a target at unchanged luminance. Which of its
// forms the footage takes depends on the encoding.
type Correction struct {
	// Gain is the factor on each linear channel: a slope for scene-linear footage
	// [ASCCDL].
	Gain [3]float64
	// Offset is what is added to each signal of a log encoding: log2(Gain) times
	// the signal of one stop. A slope would be wrong there. Zero for the others.
	Offset [3]float64
	// Ratio is the wanted signal over the patch's signal, for display-encoded,
	// baked footage: exact at the level of the patch and nowhere else.
	Ratio [3]float64
	// LiftsHighlights says that a gain lifts a channel by more than 10 %, so that
	// clipped highlights take on a colour.
	LiftsHighlights bool
}

const highestLift = 1.10

// Correct returns the correction of a patch with the given mean signals towards a
// target chromaticity as Picture counts it, against D65: D65 itself for a
// correction to neutral, the picture of the reference light on the aim for a
// correction to intent. The luminance is that of the encoding's own primaries.
// Domain: signals on the curve (above its toe for ACEScct, where an offset is no
// factor), all linear channels above 0, a target inside the triangle of the
// primaries, and wanted signals on the curve; else ErrDomain.
func (e Encoding) Correct(signal [3]float64, target XY) (Correction, error) {
	rgb, err := e.Linear(signal)
	if err != nil {
		return Correction{}, err
	}
	m, err := e.Primaries.toXYZ()
	if err != nil {
		return Correction{}, err
	}
	if err := target.Check(); err != nil {
		return Correction{}, fmt.Errorf("the target: %w", err)
	}
	c, err := CAT16.Adapt(target.XYZ(1), D65, e.Primaries.White)
	if err != nil {
		return Correction{}, fmt.Errorf("the target: %w", err)
	}
	inverse := m.inverse()
	y := m.apply(XYZ{rgb[0], rgb[1], rgb[2]}).Y
	t := inverse.apply(c.scaled(y / c.Y))
	var out Correction
	for i, wanted := range [...]float64{t.X, t.Y, t.Z} {
		if err := e.correctChannel(&out, i, signal[i], rgb[i], wanted); err != nil {
			return Correction{}, err
		}
	}
	return out, nil
}

// correctChannel fills in one channel, from the patch's linear value to the
// wanted one.
func (e Encoding) correctChannel(out *Correction, i int, signal, linear, wanted float64) error {
	name := [...]string{"R", "G", "B"}[i]
	lowest := 0.0
	if e.Transfer == TransferACEScct {
		lowest = acescctLinear
	}
	if !(linear > lowest) {
		return domainError("linear "+name+" of the patch", linear, fmt.Sprintf("above %v", lowest))
	}
	if !(wanted > lowest) {
		return domainError("linear "+name+" of the target", wanted, fmt.Sprintf("above %v (else it lies outside the primaries)", lowest))
	}
	encoded, err := e.Encode(wanted)
	if err != nil {
		return fmt.Errorf("the wanted %s: %w", name, err)
	}
	out.Gain[i] = wanted / linear
	out.Ratio[i] = encoded / signal
	if e.Transfer == TransferACEScct {
		out.Offset[i] = math.Log2(out.Gain[i]) * acescctStop
	}
	out.LiftsHighlights = out.LiftsHighlights || out.Gain[i] > highestLift
	return nil
}
