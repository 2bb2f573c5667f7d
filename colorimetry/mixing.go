package colorimetry

import (
	"errors"
	"fmt"
)

// Lit is a light of a chromaticity with the illuminance that it gives alone at
// a position.
type Lit struct {
	Light XY
	Lux   Lux
}

// Mix returns the light at a position that several lights reach: tristimulus
// values add, weighted by illuminance (Grassmann's law) [CIE15]. Neither kelvin
// nor mired can be averaged instead: 3200 K and 5600 K at equal lux make
// 4138 K below the locus. Domain: at least one light; illuminances finite and
// not negative with a sum above 0; else ErrDomain.
func Mix(lights []Lit) (Lit, error) {
	if len(lights) == 0 {
		return Lit{}, fmt.Errorf("%w: a mix of no lights, allowed is at least one", ErrDomain)
	}
	var sum XYZ
	for i, l := range lights {
		err := l.Light.Check()
		if !finite(float64(l.Lux)) || l.Lux < 0 {
			err = errors.Join(err, domainError("illuminance in lux", float64(l.Lux), "0 or above"))
		}
		if err != nil {
			return Lit{}, fmt.Errorf("light %d of %d in the mix: %w", i+1, len(lights), err)
		}
		c := l.Light.XYZ(float64(l.Lux))
		sum = XYZ{sum.X + c.X, sum.Y + c.Y, sum.Z + c.Z}
	}
	if !(sum.Y > 0) {
		return Lit{}, domainError("the illuminance of the mix in lux", sum.Y, "above 0")
	}
	xy, err := sum.XY()
	if err != nil {
		return Lit{}, err
	}
	return Lit{xy, Lux(sum.Y)}, nil
}
