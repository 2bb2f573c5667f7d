package kinds

import "evenwhite/logbook"

// plainNumber is a JSON number without exponent, of at most 18 digits before and
// 18 after the point: nearly every one that is ever typed. It is read without
// allocating, because every number of every edit is compared with its limits.
type plainNumber struct {
	negative        bool
	whole, fraction uint64 // fraction in units of 1e-18
}

func parsePlain(text string) (n plainNumber, ok bool) {
	i := 0
	if i < len(text) && text[i] == '-' {
		n.negative = true
		i++
	}
	from := i
	for ; i < len(text) && '0' <= text[i] && text[i] <= '9'; i++ {
		n.whole = n.whole*10 + uint64(text[i]-'0')
	}
	if i == from || i-from > 18 {
		return n, false
	}
	if i < len(text) && text[i] == '.' {
		i++
		from = i
		for ; i < len(text) && '0' <= text[i] && text[i] <= '9'; i++ {
			n.fraction = n.fraction*10 + uint64(text[i]-'0')
		}
		if i == from || i-from > 18 {
			return n, false
		}
		for pad := i - from; pad < 18; pad++ {
			n.fraction *= 10
		}
	}
	if n.whole == 0 && n.fraction == 0 {
		n.negative = false
	}
	return n, i == len(text)
}

func (n plainNumber) compare(other plainNumber) int {
	sign := 1
	if n.negative {
		sign = -1
	}
	switch {
	case n.negative != other.negative:
		return sign
	case n.whole < other.whole, n.whole == other.whole && n.fraction < other.fraction:
		return -sign
	case n == other:
		return 0
	}
	return sign
}

// CompareNumbers compares two JSON numbers by their decimals: -1, 0 or +1.
func CompareNumbers(a, b string) int {
	if x, ok := parsePlain(a); ok {
		if y, ok := parsePlain(b); ok {
			return x.compare(y)
		}
	}
	return logbook.ParseNumber(a).Compare(logbook.ParseNumber(b))
}

func isWhole(text string) bool {
	if n, ok := parsePlain(text); ok {
		return n.fraction == 0
	}
	return logbook.ParseNumber(text).Whole()
}
