package colorimetry

import "slices"

// GelFamily says to which pair of temperatures the word "full" refers. Two
// families are on sale under the same words.
type GelFamily int

const (
	// Based5500 takes 3200 K to 5500 K and back: full is ±131 mired.
	Based5500 GelFamily = iota
	// Based6500 takes 3200 K to 6500 K and back: full is ±159 mired.
	Based6500
)

// NominalGel is a gel by its trade name.
type NominalGel struct {
	Name string
	Gel  Gel
}

// Nominal values are common practice, no source; the maker's swatch book and a
// reading through the gel come before them. The losses of full CTB and of full,
// half and quarter CTO are common practice too; the other losses are from memory.
var (
	warmCool5500 = []NominalGel{
		{"full CTO", Gel{Shift: 131, Loss: 0.9}},
		{"half CTO", Gel{Shift: 81, Loss: 0.6}},
		{"quarter CTO", Gel{Shift: 42, Loss: 0.3}},
		{"eighth CTO", Gel{Shift: 20, Loss: 0.2}},
		{"full CTB", Gel{Shift: -131, Loss: 2.0}},
		{"half CTB", Gel{Shift: -68, Loss: 0.9}},
		{"quarter CTB", Gel{Shift: -30, Loss: 0.5}},
		{"eighth CTB", Gel{Shift: -12, Loss: 0.3}},
	}
	warmCool6500 = []NominalGel{
		{"full CTO", Gel{Shift: 159, Loss: 0.9}},
		{"full CTB", Gel{Shift: -159, Loss: 2.0}},
	}
	greenMagenta = []NominalGel{
		{"full plus green", Gel{CC: 30, Loss: 0.4}},
		{"half plus green", Gel{CC: 15, Loss: 0.3}},
		{"quarter plus green", Gel{CC: 7.5, Loss: 0.2}},
		{"eighth plus green", Gel{CC: 3.75, Loss: 0.1}},
		{"full minus green", Gel{CC: -30, Loss: 0.8}},
		{"half minus green", Gel{CC: -15, Loss: 0.5}},
		{"quarter minus green", Gel{CC: -7.5, Loss: 0.3}},
		{"eighth minus green", Gel{CC: -3.75, Loss: 0.2}},
	}
)

// NominalGels returns the gels of a family, the green and magenta ones included,
// which are the same in both. Of the 6500-based family only the full strengths
// are given: their fractions are not common practice. Domain: one of the families, else
// ErrDomain.
func NominalGels(family GelFamily) ([]NominalGel, error) {
	var warmCool []NominalGel
	switch family {
	case Based5500:
		warmCool = warmCool5500
	case Based6500:
		warmCool = warmCool6500
	default:
		return nil, domainError("gel family", float64(family), "0 (5500-based) or 1 (6500-based)")
	}
	return slices.Concat(warmCool, greenMagenta), nil
}
