package colorimetry

import (
	"fmt"
	"math"
)

// Adaptation names a chromatic adaptation transform: a matrix to cone-like
// responses, in which whites are exchanged by one factor per channel (complete
// adaptation).
type Adaptation int

const (
	CAT16    Adaptation = iota // [CIE248], the default
	CAT02                      // [CIE159]
	Bradford                   // [ICC1]
)

// matrix is row by row.
type matrix [3][3]float64

var coneMatrices = [...]matrix{
	CAT16: {
		{0.401288, 0.650173, -0.051461},
		{-0.250268, 1.204414, 0.045854},
		{-0.002079, 0.048952, 0.953127},
	},
	CAT02: {
		{0.7328, 0.4296, -0.1624},
		{-0.7036, 1.6975, 0.0061},
		{0.0030, 0.0136, 0.9834},
	},
	Bradford: {
		{0.8951, 0.2664, -0.1614},
		{-0.7502, 1.7135, 0.0367},
		{0.0389, -0.0685, 1.0296},
	},
}

var inverseConeMatrices = [...]matrix{
	CAT16:    coneMatrices[CAT16].inverse(),
	CAT02:    coneMatrices[CAT02].inverse(),
	Bradford: coneMatrices[Bradford].inverse(),
}

// Adapt returns the tristimulus values that look under the white to as c looks
// under the white from. Both whites are taken at the same luminance. Domain: c
// finite, both whites with all three cone responses above 0 (very saturated
// chromaticities have none: ErrDomain). The result of a saturated c can have a
// negative part; that is a colour outside the spectrum locus, not an error.
func (a Adaptation) Adapt(c XYZ, from, to XY) (XYZ, error) {
	if a < CAT16 || a > Bradford {
		return XYZ{}, fmt.Errorf("%w: adaptation is %d, allowed are CAT16, CAT02 and Bradford", ErrDomain, int(a))
	}
	if !finite(c.X, c.Y, c.Z) {
		return XYZ{}, domainError("a tristimulus value", c.X+c.Y+c.Z, "finite")
	}
	old, err := a.responses(from)
	if err != nil {
		return XYZ{}, fmt.Errorf("the white adapted from: %w", err)
	}
	now, err := a.responses(to)
	if err != nil {
		return XYZ{}, fmt.Errorf("the white adapted to: %w", err)
	}
	r := coneMatrices[a].apply(c)
	r = XYZ{r.X * now.X / old.X, r.Y * now.Y / old.Y, r.Z * now.Z / old.Z}
	out := inverseConeMatrices[a].apply(r)
	if !finite(out.X, out.Y, out.Z) {
		return XYZ{}, domainError("a tristimulus value", max(math.Abs(c.X), math.Abs(c.Y), math.Abs(c.Z)), "finite after adaptation")
	}
	return out, nil
}

// responses returns the cone responses of a white of luminance 1, held in an
// XYZ for want of a better triple.
func (a Adaptation) responses(white XY) (XYZ, error) {
	if err := white.Check(); err != nil {
		return XYZ{}, err
	}
	r := coneMatrices[a].apply(white.XYZ(1))
	for _, v := range [...]float64{r.X, r.Y, r.Z} {
		if !(v > 0) {
			return XYZ{}, domainError("a cone response of the white", v, "above 0 (the white is too saturated to adapt to)")
		}
	}
	return r, nil
}

func (m *matrix) apply(c XYZ) XYZ {
	return XYZ{
		m[0][0]*c.X + m[0][1]*c.Y + m[0][2]*c.Z,
		m[1][0]*c.X + m[1][1]*c.Y + m[1][2]*c.Z,
		m[2][0]*c.X + m[2][1]*c.Y + m[2][2]*c.Z,
	}
}

// inverse is by cofactors; every matrix of this package is regular.
func (m matrix) inverse() matrix {
	cofactor := func(r, c int) float64 {
		r1, r2, c1, c2 := (r+1)%3, (r+2)%3, (c+1)%3, (c+2)%3
		return m[r1][c1]*m[r2][c2] - m[r1][c2]*m[r2][c1]
	}
	det := m[0][0]*cofactor(0, 0) + m[0][1]*cofactor(0, 1) + m[0][2]*cofactor(0, 2)
	var out matrix
	for r := range 3 {
		for c := range 3 {
			out[c][r] = cofactor(r, c) / det
		}
	}
	return out
}
