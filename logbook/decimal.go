package logbook

import (
	"strconv"
	"strings"
)

// Number is a JSON number taken apart without loss: ± 0.digits × 10^exponent,
// with no zero at either end of digits. Zero has no digits.
type Number struct {
	negative bool
	digits   string
	exponent int64
}

// ParseNumber takes a valid JSON number apart. An exponent beyond 64 bits is
// held at a bound: such numbers lie outside every field's limits.
func ParseNumber(text string) Number {
	var d Number
	if strings.HasPrefix(text, "-") {
		d.negative, text = true, text[1:]
	}
	mantissa, power := text, ""
	if i := strings.IndexAny(text, "eE"); i >= 0 {
		mantissa, power = text[:i], text[i+1:]
	}
	if power != "" {
		n, err := strconv.ParseInt(power, 10, 32)
		if err != nil {
			n = 1 << 31
			if power[0] == '-' {
				n = -n
			}
		}
		d.exponent = n
	}
	whole, fraction, _ := strings.Cut(mantissa, ".")
	all := whole + fraction
	d.exponent += int64(len(whole))
	trimmed := strings.TrimLeft(all, "0")
	d.exponent -= int64(len(all) - len(trimmed))
	d.digits = strings.TrimRight(trimmed, "0")
	if d.digits == "" {
		return Number{}
	}
	return d
}

func equalDecimals(a, b string) bool { return ParseNumber(a) == ParseNumber(b) }

// Compare returns -1, 0 or +1.
func (d Number) Compare(other Number) int {
	if d == other {
		return 0
	}
	sign := func(x Number) int {
		switch {
		case x.digits == "":
			return 0
		case x.negative:
			return -1
		}
		return 1
	}
	a, b := sign(d), sign(other)
	if a != b {
		if a < b {
			return -1
		}
		return 1
	}
	larger := 1
	switch {
	case d.exponent < other.exponent, d.exponent == other.exponent && d.digits < other.digits:
		larger = -1
	}
	return larger * a
}

// Whole reports whether the number has no fraction.
func (d Number) Whole() bool { return d.digits == "" || d.exponent >= int64(len(d.digits)) }
