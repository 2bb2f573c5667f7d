package colorimetry

import (
	"fmt"
	"math"
)

// Lamp is a lamp as it was read and what can be turned on it.
type Lamp struct {
	// Reading is the light at the subject without gel, on the dials below.
	Reading CCTDuv
	// At is what the kelvin dial showed; 0 for a lamp without one.
	At Kelvin
	// Dial has the positions of the kelvin dial; empty for a lamp without one.
	Dial KelvinDial
	// Shown are lights that the lamp gave on positions of its kelvin dial; none for
	// a dial that is taken by its word.
	Shown []DialPoint
	// TintAt is what the green–magenta dial showed, Tint its positions. A lamp's
	// tint towards green raises the Duv of the light: a camera's lowers that of
	// its white.
	TintAt float64
	Tint   TintDial
	// Own says what gels of the inventory, by index, are on this lamp where that
	// differs: values measured on its family, or a Count of 0 for a gel that must
	// not go on it.
	Own map[int]StockedGel
}

// Check returns ErrDomain unless the reading is a light, the dials are possible
// and so are the points of the kelvin dial.
func (l Lamp) Check() error {
	if err := l.Reading.Check(); err != nil {
		return fmt.Errorf("the reading: %w", err)
	}
	if err := l.checkShown(); err != nil {
		return err
	}
	if err := l.Dial.check(); err != nil {
		return err
	}
	dialled := len(l.Dial.List)+len(l.Dial.Ranges) > 0
	if dialled && !(l.At >= minDial && l.At <= maxDial) {
		return domainError("kelvin dial at the reading", float64(l.At), "1000 to 25000")
	}
	if !dialled && l.At != 0 {
		return domainError("kelvin dial at the reading", float64(l.At), "0: the lamp has no kelvin dial")
	}
	if err := (Dials{Tint: l.Tint}).checkTint(); err != nil {
		return err
	}
	if !(math.Abs(l.TintAt) <= maxUnits) {
		return domainError("tint at the reading", l.TintAt, "-10000 to 10000")
	}
	return nil
}

func (l Lamp) tintDuv(tint float64) Duv {
	duv := Duv(tint-l.TintAt) * l.Tint.DuvPerUnit
	if l.Tint.PlusIsGreen {
		return duv
	}
	return -duv
}

// MeasuredGel learns a gel from readings of one lamp without and with it. Such a
// gel fits that lamp's family, where a nominal one may be 20 % off. Domain:
// checked readings, illuminances above 0 with the gel's not above the other's,
// and a change of Duv that some CC makes.
func MeasuredGel(without, with CCTDuv, luxWithout, luxWith Lux) (Gel, error) {
	for _, r := range [...]CCTDuv{without, with} {
		if err := r.Check(); err != nil {
			return Gel{}, err
		}
	}
	if !(luxWithout > 0) || !finite(float64(luxWithout)) {
		return Gel{}, domainError("illuminance without the gel in lux", float64(luxWithout), "above 0")
	}
	if !(luxWith > 0 && luxWith <= luxWithout) {
		return Gel{}, domainError("illuminance with the gel in lux", float64(luxWith),
			fmt.Sprintf("above 0, up to the %v without", float64(luxWithout)))
	}
	cc, err := DuvToCC(with.Duv-without.Duv, with)
	if err != nil {
		return Gel{}, err
	}
	return Gel{with.Mired() - without.Mired(), cc, Stops(math.Log2(float64(luxWithout / luxWith)))}, nil
}
