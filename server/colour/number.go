package colour

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"evenwhite/server/command"
)

// A number is a value as typed, with half a unit of its last digit.
type number struct{ value, half float64 }

// Hexadecimal, underscores, Inf and NaN are numbers to strconv, but not to a person.
var decimalNumber = regexp.MustCompile(`^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?$`)

// readNumber takes a kelvin with its unit as well: 3200K.
func readNumber(name, typed string) (number, error) {
	word := typed
	if strings.HasPrefix(name, "KELVIN") && (strings.HasSuffix(word, "K") || strings.HasSuffix(word, "k")) {
		word = word[:len(word)-1]
	}
	v, err := strconv.ParseFloat(word, 64)
	if err != nil || !decimalNumber.MatchString(word) {
		return number{}, command.Misuse("colour", "%s is %q; allowed is a number", name, typed)
	}
	mantissa, exponent, _ := strings.Cut(strings.ToLower(word), "e")
	_, decimals, _ := strings.Cut(mantissa, ".")
	power := 0
	if exponent != "" {
		power, _ = strconv.Atoi(exponent) // at most three digits
	}
	return number{v, math.Pow10(power-len(decimals)) / 2}, nil
}

func readNumbers(names, words []string) ([]number, error) {
	out := make([]number, len(words))
	for i, w := range words {
		var err error
		if out[i], err = readNumber(names[i], w); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// An estimate is a result with what the typed digits leave open on either side.
type estimate struct{ value, spread float64 }

// carried computes results from typed numbers and adds up what half a unit of each
// number's last digit makes of them: all digits at their worst.
func carried(in []number, compute func([]float64) ([]float64, error)) ([]estimate, error) {
	at := make([]float64, len(in))
	for i, n := range in {
		at[i] = n.value
	}
	results, err := compute(at)
	if err != nil {
		return nil, err
	}
	out := make([]estimate, len(results))
	for j, v := range results {
		out[j].value = v
	}
	for i, n := range in {
		// At the end of a domain only a part of the half unit can be tried, and
		// stands for the whole.
		for part := 1.0; part > 1e-4; part /= 4 {
			worst := make([]float64, len(out))
			tried := false
			for _, step := range [...]float64{-n.half * part, n.half * part} {
				at[i] = n.value + step
				moved, err := compute(at)
				if err != nil {
					continue
				}
				tried = true
				for j := range moved {
					worst[j] = max(worst[j], math.Abs(moved[j]-out[j].value)/part)
				}
			}
			if tried {
				for j := range out {
					out[j].spread += worst[j]
				}
				break
			}
		}
		at[i] = n.value
	}
	return out, nil
}

// decimals is how many the value is shown with, at most finest: one unit of the
// last digit is no finer than the spread. Negative counts tens, hundreds, ….
func (e estimate) decimals(finest int) int {
	if !(e.spread > 0) {
		return finest
	}
	const exact = 1e-9 // a spread of 0.001 must not count as a bit more
	power := math.Ceil(math.Log10(e.spread) - exact)
	return min(finest, -int(min(power, 308))) // even where the spread overflowed
}

// rounded is the value as it is shown.
func (e estimate) rounded(finest int) float64 { return roundTo(e.value, e.decimals(finest)) }

// signed shows a difference with its sign.
func (e estimate) signed(finest int) string {
	return fmt.Sprintf("%+.*f", max(0, e.decimals(finest)), e.rounded(finest))
}

// unsigned shows a size, which may be 0.
func (e estimate) unsigned(finest int) string {
	return fmt.Sprintf("%.*f", max(0, e.decimals(finest)), e.rounded(finest))
}

// plain shows a quantity that cannot be 0: its first digit stays even where the
// typed digits hardly carry it.
func (e estimate) plain(finest int) string {
	d := e.decimals(finest)
	if e.value > 0 {
		d = max(d, -int(math.Floor(math.Log10(e.value))))
	}
	return fmt.Sprintf("%.*f", max(0, d), roundTo(e.value, d))
}

func roundTo(value float64, decimals int) float64 {
	var r float64
	if unit := math.Pow10(-decimals); decimals < 0 {
		r = math.Round(value/unit) * unit
	} else {
		scale := math.Pow10(decimals)
		r = math.Round(value*scale) / scale
	}
	return r + 0 // never −0
}
