package colorimetry

import "evenwhite/colorimetry/tables"

// Observer names a CIE standard observer.
type Observer int

const (
	// Observer1931 is the 2° observer; every xy, CCT and Duv of this package
	// belongs to it [CIE15].
	Observer1931 Observer = iota
	// Observer1964 is the 10° observer [CIE15].
	Observer1964
)

// The observers are tabulated at every nanometre of this range.
const (
	observerFirst = 360
	observerLast  = 830
)

func (o Observer) table() (*[observerLast - observerFirst + 1][3]float64, error) {
	switch o {
	case Observer1931:
		return &tables.Observer1931, nil
	case Observer1964:
		return &tables.Observer1964, nil
	}
	return nil, domainError("observer", float64(o), "0 (CIE 1931) or 1 (CIE 1964)")
}
