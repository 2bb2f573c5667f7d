package setup

import (
	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// What the tests outside the package see of its inside.

type Observed = observed

var (
	StartLimits  = startLimits
	NominalLocus = nominalLocus
)

const NoSource = noSource

func (o *observed) Add(m *lighting.Reading, sky string, xy colorimetry.XY, floorXY float64, lux *float64) {
	o.add(m, sky, xy, floorXY, lux)
}

func (o observed) Drift(now colorimetry.XY, off func(colorimetry.XY) figure.Difference, limits figure.Limits) (*Drift, error) {
	return o.drift(now, off, limits)
}

// MixOf is the mix of a set-up that may not be in the log.
func MixOf(b *logbook.Book, setUp logbook.ID) (colorimetry.XY, error) {
	view, _ := b.RecordOf(kinds.SetUp, setUp)
	mix, err := measuredIn(b, view, lighting.ReadingsOf(b, setUp)).Mix("", logbook.Ever)
	return mix.Light.Light, err
}

// WhiteAt returns the white record in force at a time, for what is no take. ok is false
// where there is none.
func WhiteAt(b *logbook.Book, setUp logbook.ID, at logbook.Millis) (white logbook.View, ok bool) {
	h, _ := historyIn(b, setUp)
	return first(h.count(whiteSpot{at: at}))
}

// WhiteNow returns the white record in force for the take that comes next.
func WhiteNow(b *logbook.Book, setUp logbook.ID, now logbook.Millis) (white logbook.View, ok bool) {
	return first(whitesNow(b, setUp, now))
}

// DaysAtHand is of how many days a reader keeps names of clips, and last clips.
func (r *Reader) DaysAtHand() (names, last int) { return len(r.named), len(r.lastClips) }
