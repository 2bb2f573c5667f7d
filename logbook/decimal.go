package logbook

import (
	"cmp"
	"strconv"
	"strings"
)

// Number is a JSON number taken apart without loss: ± 0.digits × 10^exponent,
// with no zero at either end of digits. Zero has no digits.
type Number struct {
	negative bool
	digits   string
	exponent int64
	far      string // an exponent of more than 18 digits, which exponent then is the sign of
}

// farDigits is how many digits of an exponent are counted with at once.
const farDigits = 18

// ParseNumber takes a valid JSON number apart.
func ParseNumber(text string) Number {
	var d Number
	if strings.HasPrefix(text, "-") {
		d.negative, text = true, text[1:]
	}
	mantissa, power := text, ""
	if i := strings.IndexAny(text, "eE"); i >= 0 {
		mantissa, power = text[:i], text[i+1:]
	}
	whole, fraction, _ := strings.Cut(mantissa, ".")
	all := whole + fraction
	trimmed := strings.TrimLeft(all, "0")
	d.digits = strings.TrimRight(trimmed, "0")
	if d.digits == "" {
		return Number{}
	}
	d.setExponent(power, int64(len(whole)-(len(all)-len(trimmed))))
	return d
}

// setExponent adds what the digits of an exponent say and where the point stands.
func (d *Number) setExponent(power string, point int64) {
	const one = 1_000_000_000_000_000_000 // the first of more digits
	sign := int64(1)
	if strings.HasPrefix(power, "-") {
		sign = -1
	}
	power = strings.TrimLeft(power, "+-0")
	if len(power) <= farDigits {
		n, _ := strconv.ParseInt("0"+power, 10, 64)
		if d.exponent = sign*n + point; d.exponent <= -one || d.exponent >= one {
			d.far = strconv.FormatInt(sign*d.exponent, 10)
			d.exponent = sign
		}
		return
	}
	head, tail := []byte("0"+power[:len(power)-farDigits]), power[len(power)-farDigits:]
	n, _ := strconv.ParseInt(tail, 10, 64)
	n += sign * point
	switch {
	case n >= one:
		n -= one
		carry(head, '9', '0', 1)
	case n < 0:
		n += one
		carry(head, '0', '9', -1)
	}
	tail = strconv.FormatInt(one+n, 10)[1:]
	if head = []byte(strings.TrimLeft(string(head), "0")); len(head) == 0 {
		d.exponent = sign * n
		return
	}
	d.exponent, d.far = sign, string(head)+tail
}

// carry counts a text of digits up or down by one: digits that are full become empty ones.
func carry(digits []byte, full, empty byte, by int) {
	at := len(digits) - 1
	for ; digits[at] == full; at-- {
		digits[at] = empty
	}
	digits[at] = byte(int(digits[at]) + by)
}

// compareExponents returns -1, 0 or +1.
func (d Number) compareExponents(other Number) int {
	signed := func(n Number) int64 {
		if n.far == "" {
			return 0
		}
		return n.exponent
	}
	a, b := signed(d), signed(other)
	switch {
	case a != b:
		return cmp.Compare(a, b)
	case a == 0:
		return cmp.Compare(d.exponent, other.exponent)
	case len(d.far) != len(other.far):
		return int(a) * cmp.Compare(len(d.far), len(other.far))
	}
	return int(a) * strings.Compare(d.far, other.far)
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
	if larger := d.compareExponents(other); larger != 0 {
		return larger * a
	}
	return strings.Compare(d.digits, other.digits) * a
}

// Whole reports whether the number has no fraction.
func (d Number) Whole() bool {
	if d.far != "" {
		return d.exponent > 0
	}
	return d.digits == "" || d.exponent >= int64(len(d.digits))
}
