package colorimetry

import (
	"errors"
	"fmt"
	"math"
	"strconv"
)

// Kelvin is a temperature in kelvin: of a black body, or a correlated colour
// temperature (CCT).
type Kelvin float64

// Mired is a reciprocal temperature, 1e6/K, or a difference of two of them (a
// shift). Equal shifts look about equally large at every temperature, which
// equal differences in kelvin do not.
type Mired float64

// Duv is the signed distance of a chromaticity from the Planckian locus in the
// CIE 1960 u v plane, along the normal: + lies above the locus (greener), −
// below it (more magenta) [OHNO2014].
type Duv float64

// Lux is an illuminance in lm/m².
type Lux float64

// Stops is a light loss as a power of two: a loss of 1 halves the light.
type Stops float64

// ErrDomain is wrapped by every error that says that an input lies outside the
// domain of a computation. Such a computation returns no number.
var ErrDomain = errors.New("outside the domain")

// domainError names the quantity, its value and what is allowed.
func domainError(quantity string, value float64, allowed string) error {
	return fmt.Errorf("%w: %s is %s, allowed is %s", ErrDomain, quantity, inWords(value), allowed)
}

// inWords is a number as people read it: with six digits, those of a computed one that
// follow say nothing.
func inWords(value float64) string {
	const digits = 6
	if a := math.Abs(value); a >= 1e-4 && a < 1e9 {
		if rounded, err := strconv.ParseFloat(strconv.FormatFloat(value, 'g', digits, 64), 64); err == nil {
			return strconv.FormatFloat(rounded, 'f', -1, 64)
		}
	}
	return strconv.FormatFloat(value, 'g', digits, 64)
}

// Mired converts a temperature to mired. Domain: k > 0 and finite, else
// ErrDomain.
func (k Kelvin) Mired() (Mired, error) {
	m := 1e6 / float64(k)
	if !(k > 0) || !(m > 0) || math.IsInf(m, 0) {
		return 0, domainError("temperature in kelvin", float64(k), "above 0, and not infinite")
	}
	return Mired(m), nil
}

// Kelvin converts a reciprocal temperature to kelvin. Domain: m > 0 and finite,
// else ErrDomain.
func (m Mired) Kelvin() (Kelvin, error) {
	k := 1e6 / float64(m)
	if !(m > 0) || !(k > 0) || math.IsInf(k, 0) {
		return 0, domainError("reciprocal temperature in mired", float64(m), "above 0, and not infinite")
	}
	return Kelvin(k), nil
}

// finite reports whether every value is a number.
func finite(values ...float64) bool {
	for _, v := range values {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return true
}
