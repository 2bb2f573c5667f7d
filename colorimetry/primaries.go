package colorimetry

import "fmt"

// Primaries are the chromaticities of the three channels and of the white of an
// R G B encoding.
type Primaries struct{ R, G, B, White XY }

// D65 is the white of the displays that pictures are judged on: CIE D65 in the
// four decimals of the display standards [BT709, IEC61966-2-1]. CIE 15 prints a
// fifth, which would leave the neutral of a display off neutral by 4 K.
var D65 = XY{0.3127, 0.3290}

// The sets of primaries that cameras record in and displays show.
var (
	BT709  = Primaries{XY{0.640, 0.330}, XY{0.300, 0.600}, XY{0.150, 0.060}, D65}                  // [BT709]
	BT2020 = Primaries{XY{0.708, 0.292}, XY{0.170, 0.797}, XY{0.131, 0.046}, D65}                  // [BT2020]
	P3D65  = Primaries{XY{0.680, 0.320}, XY{0.265, 0.690}, XY{0.150, 0.060}, D65}                  // [EG432]
	ACES0  = Primaries{XY{0.7347, 0.2653}, XY{0, 1}, XY{0.0001, -0.077}, XY{0.32168, 0.33767}}     // [ST2065]
	ACES1  = Primaries{XY{0.713, 0.293}, XY{0.165, 0.830}, XY{0.128, 0.044}, XY{0.32168, 0.33767}} // [ACES2016]
)

// toXYZ returns the matrix from linear R G B to tristimulus values that gives the
// white, at R = G = B = 1, a luminance of 1 [BT709]. Domain: chromaticities with
// y not 0 that do not lie on one line; ACES primaries may lie outside the
// spectrum locus.
func (p Primaries) toXYZ() (matrix, error) {
	var m matrix
	for i, c := range [...]XY{p.R, p.G, p.B} {
		if !finite(c.X, c.Y) || c.Y == 0 {
			return m, domainError(fmt.Sprintf("y of primary %d", i+1), c.Y, "not 0")
		}
		v := c.XYZ(1)
		m[0][i], m[1][i], m[2][i] = v.X, v.Y, v.Z
	}
	if err := p.White.Check(); err != nil {
		return m, fmt.Errorf("white of the primaries: %w", err)
	}
	inverse := m.inverse()
	y := inverse.apply(p.White.XYZ(1))
	if !finite(y.X, y.Y, y.Z) {
		return m, fmt.Errorf("%w: the primaries %v, %v and %v lie on one line, allowed is a triangle", ErrDomain, p.R, p.G, p.B)
	}
	for r := range m {
		m[r][0] *= y.X
		m[r][1] *= y.Y
		m[r][2] *= y.Z
	}
	return m, nil
}

// mustXYZ serves the primaries that are written down here.
func mustXYZ(p Primaries) matrix {
	m, err := p.toXYZ()
	if err != nil {
		panic(err)
	}
	return m
}
