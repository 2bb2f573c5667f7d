package logbook

import "evenwhite/colorimetry"

// What the tests outside the package see of its inside.

type Observed = observed

var (
	StartLimits  = startLimits
	NominalLocus = nominalLocus
)

const NoSource = noSource

func (o *observed) Add(m *Measurement, sky string, xy colorimetry.XY, floorXY float64, lux *float64) {
	o.add(m, sky, xy, floorXY, lux)
}

func (o observed) Told(now colorimetry.XY, off func(colorimetry.XY) Difference, limits Limits) (*DriftTold, error) {
	return o.told(now, off, limits)
}

// MixOf is the mix of a set-up that may not be in the log.
func MixOf(b *Book, setUp ID) (colorimetry.XY, error) { return newResolver(b).mix(setUp, "", 0) }
