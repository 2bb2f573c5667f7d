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
	// Slope is how many mired the light moves for each mired on the dial: 1 for a
	// dial that keeps its word, else from DialSlope. 0 stands for 1.
	Slope float64
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
// and the slope lies between 0.2 and 5 (or is 0).
func (l Lamp) Check() error {
	if err := l.Reading.Check(); err != nil {
		return fmt.Errorf("the reading: %w", err)
	}
	if !(l.Slope == 0 || l.Slope >= 0.2 && l.Slope <= 5) {
		return domainError("slope of the kelvin dial", l.Slope, "0.2 to 5, or 0 for 1")
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

// On returns the light expected on other dial positions: the reading, moved by
// the difference of the dial in mired times Slope, and by the tint. Domain: a
// checked lamp, positions on its dials (the one of the reading always is), an
// unmoved tint where its unit is unknown, and a result in the domain of CCTDuv.
func (l Lamp) On(dial Kelvin, tint float64) (CCTDuv, error) {
	if err := l.Check(); err != nil {
		return CCTDuv{}, err
	}
	if dial != l.At && !l.Dial.has(dial) {
		return CCTDuv{}, domainError("kelvin", float64(dial), l.Dial.allowed(nil))
	}
	if tint != l.TintAt {
		if err := l.Tint.axis().has("tint", tint); err != nil {
			return CCTDuv{}, err
		}
		if l.Tint.DuvPerUnit == 0 {
			return CCTDuv{}, domainError("tint", tint, fmt.Sprintf("%v as at the reading, as long as the Duv of a tint unit is not known", l.TintAt))
		}
	}
	return moved(l.Reading, l.tintDuv(tint), l.dialMired(dial))
}

func (l Lamp) dialMired(dial Kelvin) Mired {
	if dial == l.At {
		return 0
	}
	slope := l.Slope
	if slope == 0 {
		slope = 1
	}
	return Mired(slope * (1e6/float64(dial) - 1e6/float64(l.At)))
}

func (l Lamp) tintDuv(tint float64) Duv {
	duv := Duv(tint-l.TintAt) * l.Tint.DuvPerUnit
	if l.Tint.PlusIsGreen {
		return duv
	}
	return -duv
}

// DialSlope learns Lamp.Slope from two readings on two dial positions. Domain:
// checked readings, positions at least 20 mired apart (the readings' own floors
// would drown a smaller step), and a slope from 0.2 to 5.
func DialSlope(readingA CCTDuv, dialA Kelvin, readingB CCTDuv, dialB Kelvin) (float64, error) {
	for _, r := range [...]CCTDuv{readingA, readingB} {
		if err := r.Check(); err != nil {
			return 0, err
		}
	}
	a, err := dialA.Mired()
	if err != nil {
		return 0, err
	}
	b, err := dialB.Mired()
	if err != nil {
		return 0, err
	}
	if apart := math.Abs(float64(b - a)); !(apart >= 20) {
		return 0, domainError("distance of the dial positions in mired", apart, "at least 20")
	}
	slope := float64(readingB.Mired()-readingA.Mired()) / float64(b-a)
	if !(slope >= 0.2 && slope <= 5) {
		return 0, domainError("slope of the kelvin dial", slope, "0.2 to 5")
	}
	return slope, nil
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
		return Gel{}, domainError("illuminance with the gel in lux", float64(luxWith), fmt.Sprintf("above 0, up to the %v without", float64(luxWithout)))
	}
	cc, err := DuvToCC(with.Duv-without.Duv, with)
	if err != nil {
		return Gel{}, err
	}
	return Gel{with.Mired() - without.Mired(), cc, Stops(math.Log2(float64(luxWithout / luxWith)))}, nil
}
