package colorimetry

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"time"
)

// What a drift rests on at least; both are common practice, no source.
const (
	MinDriftReadings = 4
	MinDriftSpan     = 20 * time.Minute
)

// The work grows with the square of the readings, and times are differences of
// the same days.
const (
	maxDriftReadings = 2000
	maxDriftTime     = 10 * 365 * 24 * time.Hour
)

// Observation is a light, or a mix of lights, at one time.
type Observation struct {
	// At is counted from any moment, the same for all.
	At time.Duration
	// Sky is the state of the sky in the log's words; "" where none shines in.
	Sky   string
	Light CCTDuv
	// Lux is the illuminance; 0 where it was not measured.
	Lux Lux
}

// Drift is how a light moves over time. Mired + is warmer, Duv + greener, Stops +
// brighter, each by the hour. Stops is nil where a reading has no illuminance.
type Drift struct {
	Mired, Duv Trend
	Stops      *Trend
}

// Trend is a straight line through readings that a few wild ones do not bend.
type Trend struct {
	// PerHour is the median of the slopes between all pairs of readings
	// [THEIL1950].
	PerHour float64
	// Low and High hold the true slope with a confidence of 95 % or more, by the
	// normal approximation of Kendall's statistic; up to five readings they are
	// the least and the greatest slope of any pair [SEN1968].
	Low, High float64
	// First and Last are the ends of what was observed.
	First, Last time.Duration

	level float64 // the line's value at the middle time
	pivot time.Duration
}

// DriftOf returns the drift of a light. Domain: 4 to 2000 readings over at least
// 20 minutes in one sky state (a cloud is a step, no drift), checked lights,
// illuminances of 0 or above; else ErrDomain.
func DriftOf(readings []Observation) (Drift, error) {
	if n := len(readings); n < MinDriftReadings || n > maxDriftReadings {
		return Drift{}, domainError("count of readings of a drift", float64(n), "4 to 2000")
	}
	hasLux := true
	for i, r := range readings {
		if err := r.check(readings[0].Sky); err != nil {
			return Drift{}, fmt.Errorf("reading %d: %w", i+1, err)
		}
		hasLux = hasLux && r.Lux > 0
	}
	line := func(value func(Observation) float64) (Trend, error) {
		at, values := make([]time.Duration, len(readings)), make([]float64, len(readings))
		for i, r := range readings {
			at[i], values[i] = r.At, value(r)
		}
		return theilSen(at, values)
	}
	mired, err := line(func(r Observation) float64 { return float64(r.Light.Mired()) })
	if err != nil {
		return Drift{}, err
	}
	duv, err := line(func(r Observation) float64 { return float64(r.Light.Duv) })
	if err != nil || !hasLux {
		return Drift{mired, duv, nil}, err
	}
	stops, err := line(func(r Observation) float64 { return math.Log2(float64(r.Lux)) })
	return Drift{mired, duv, &stops}, err
}

func (o Observation) check(sky string) error {
	switch {
	case o.Sky != sky:
		return fmt.Errorf("%w: sky is %q, allowed is %q, that of the first reading", ErrDomain, o.Sky, sky)
	case o.At < -maxDriftTime || o.At > maxDriftTime:
		return domainError("time in hours", o.At.Hours(), "-87600 to 87600")
	case !(o.Lux >= 0 && o.Lux <= 1e9):
		return domainError("illuminance in lux", float64(o.Lux), "0 (not measured) to 1e9")
	}
	return o.Light.Check()
}

// theilSen fits the line; pairs at the same time have no slope.
func theilSen(at []time.Duration, values []float64) (Trend, error) {
	t := Trend{First: slices.Min(at), Last: slices.Max(at)}
	if span := t.Last - t.First; span < MinDriftSpan {
		return Trend{}, domainError("span of the readings in minutes", span.Minutes(), "20 or more")
	}
	var slopes []float64
	for i := range at {
		for j := range i {
			if at[i] != at[j] {
				slopes = append(slopes, (values[i]-values[j])/(at[i]-at[j]).Hours())
			}
		}
	}
	sort.Float64s(slopes)
	t.PerHour = median(slopes)
	n := float64(len(at))
	c := 1.96 * math.Sqrt(n*(n-1)*(2*n+5)/18)
	rank := min(max(int((float64(len(slopes))-c)/2), 1), (len(slopes)+1)/2)
	t.Low, t.High = slopes[rank-1], slopes[len(slopes)-rank]
	// The level is taken where the readings are, so that the far away start of
	// the clock costs no digits.
	t.pivot = t.First + (t.Last-t.First)/2
	level := make([]float64, len(at))
	for i := range at {
		level[i] = values[i] - t.PerHour*(at[i]-t.pivot).Hours()
	}
	sort.Float64s(level)
	t.level = median(level)
	return t, nil
}

func median(sorted []float64) float64 {
	n := len(sorted)
	return sorted[(n-1)/2] + (sorted[n/2]-sorted[(n-1)/2])/2
}

// Certain reports whether the direction is beyond doubt: Low and High lie on one
// side of 0.
func (t Trend) Certain() bool { return t.Low > 0 || t.High < 0 }

// Horizon is the last time that At forecasts: as far ahead as was observed and no
// further, since dusk is no straight line.
func (t Trend) Horizon() time.Duration { return t.Last + (t.Last - t.First) }

// At returns the value of the line with what Low and High make of it. Domain:
// First to Horizon, else ErrDomain.
func (t Trend) At(at time.Duration) (value, low, high float64, err error) {
	if at < t.First || at > t.Horizon() {
		return 0, 0, 0, domainError("time of a forecast in hours", at.Hours(),
			fmt.Sprintf("%.4g to %.4g: no further ahead than was observed", t.First.Hours(), t.Horizon().Hours()))
	}
	h := (at - t.pivot).Hours()
	low, high = t.level+t.Low*h, t.level+t.High*h
	return t.level + t.PerHour*h, min(low, high), max(low, high), nil
}
