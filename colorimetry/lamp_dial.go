package colorimetry

import (
	"fmt"
	"math"
)

// DialPoint is a light that a lamp gave, without gel and on tint 0, on a position
// of its kelvin dial.
type DialPoint struct {
	Dial  Kelvin
	Light CCTDuv
}

// Error is how far the lamp lies from the word of its dial: mired + when it is
// warmer. The Duv is that of the light: a dial names no locus.
func (p DialPoint) Error() Cast { return Cast{p.Light.Mired() - p.dialMired(), p.Light.Duv} }

func (p DialPoint) dialMired() Mired { return Mired(1e6 / float64(p.Dial)) }

// Points of a dial that lie nearer together than leastApart are the same position
// twice: the readings' own floors would make a slope of them. A light that moves
// less than leastSlope or more than mostSlope mired for each on the dial was not
// moved by the dial alone.
const (
	leastApart            = Mired(20)
	leastSlope, mostSlope = 0.2, 5
)

// checkShown returns ErrDomain unless the points are lights on positions that
// rise in mired by 20 at least, and the light rises with them.
func (l Lamp) checkShown() error {
	for i, p := range l.Shown {
		if err := p.Light.Check(); err != nil {
			return fmt.Errorf("point %d of the kelvin dial: %w", i+1, err)
		}
		if !(p.Dial >= minDial && p.Dial <= maxDial) {
			return domainError(fmt.Sprintf("point %d of the kelvin dial", i+1), float64(p.Dial), "1000 to 25000")
		}
		if i == 0 {
			continue
		}
		before := l.Shown[i-1]
		apart := p.dialMired() - before.dialMired()
		if !(apart >= leastApart*(1-rounding)) {
			return domainError(fmt.Sprintf("mired from point %d to %d of the kelvin dial", i, i+1), float64(apart), "20 or more")
		}
		slope := float64((p.Light.Mired() - before.Light.Mired()) / apart)
		if !(slope >= leastSlope && slope <= mostSlope) {
			return domainError(fmt.Sprintf("slope of the light from point %d to %d of the kelvin dial", i, i+1), slope, "0.2 to 5")
		}
	}
	return nil
}

// dialMoves is how the light changes from the position of the reading to another.
func (l Lamp) dialMoves(to Kelvin) Cast {
	if to == l.At {
		return Cast{}
	}
	here, there := l.onCurve(1e6/float64(l.At)), l.onCurve(1e6/float64(to))
	return Cast{there.Mired - here.Mired, there.Duv - here.Duv}
}

// onCurve is the light that the points put on a position in mired. Between two of
// them it lies on the line from one to the other; beyond them mired goes on as from
// the first point to the last, and Duv stays. With fewer than two it is the dial's
// word.
func (l Lamp) onCurve(mired float64) Cast {
	n := len(l.Shown)
	if n < 2 {
		return Cast{Mired(mired), 0}
	}
	first, last := l.Shown[0], l.Shown[n-1]
	slope := (last.Light.Mired() - first.Light.Mired()) / (last.dialMired() - first.dialMired())
	for _, end := range [...]DialPoint{first, last} {
		if beyond := Mired(mired) - end.dialMired(); end == first && beyond <= 0 || end == last && beyond >= 0 {
			return Cast{end.Light.Mired() + slope*beyond, end.Light.Duv}
		}
	}
	i := 1
	for float64(l.Shown[i].dialMired()) < mired {
		i++
	}
	a, b := l.Shown[i-1], l.Shown[i]
	share := (mired - float64(a.dialMired())) / float64(b.dialMired()-a.dialMired())
	return Cast{
		a.Light.Mired() + Mired(share)*(b.Light.Mired()-a.Light.Mired()),
		a.Light.Duv + Duv(share)*(b.Light.Duv-a.Light.Duv),
	}
}

// DialPoints thins points to those that a Lamp can carry: in the order of the
// dial, 20 mired apart or more, of two that are nearer the one that comes first in
// all. Points whose light does not rise with the dial are ErrDomain.
func DialPoints(all []DialPoint) ([]DialPoint, error) {
	var kept []DialPoint
	for _, p := range all {
		at, fits := 0, true
		for _, k := range kept {
			apart := p.dialMired() - k.dialMired()
			fits = fits && math.Abs(float64(apart)) >= float64(leastApart)
			if apart > 0 {
				at++
			}
		}
		if fits {
			kept = append(kept[:at], append([]DialPoint{p}, kept[at:]...)...)
		}
	}
	return kept, Lamp{Shown: kept}.checkShown()
}
