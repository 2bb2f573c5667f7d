package colorimetry

// XYZ are CIE tristimulus values; Y is proportional to luminance [CIE15].
type XYZ struct{ X, Y, Z float64 }

// XY is a CIE 1931 chromaticity [CIE15].
type XY struct{ X, Y float64 }

// UV is a CIE 1960 chromaticity, the plane in which CCT and Duv are defined
// [CIE15].
type UV struct{ U, V float64 }

// UVPrime is a CIE 1976 chromaticity, the plane in which colour differences of
// lights are counted [CIE15]. V is 1.5 times the 1960 v.
type UVPrime struct{ U, V float64 }

// XY projects tristimulus values. Domain: finite, X, Y, Z ≥ 0 and a sum above 0,
// else ErrDomain.
func (c XYZ) XY() (XY, error) {
	sum := c.X + c.Y + c.Z
	if !finite(c.X, c.Y, c.Z) || c.X < 0 || c.Y < 0 || c.Z < 0 || !(sum > 0) || !finite(sum) {
		return XY{}, domainError("the sum of X, Y and Z", sum, "above 0, with no negative part")
	}
	return XY{c.X / sum, c.Y / sum}, nil
}

// Check returns ErrDomain unless c can be the chromaticity of a light: x and y
// above 0 and x + y at most 1.
func (c XY) Check() error {
	switch {
	case !(c.X > 0 && c.X < 1):
		return domainError("x", c.X, "above 0 and below 1")
	case !(c.Y > 0 && c.Y < 1):
		return domainError("y", c.Y, "above 0 and below 1")
	case c.X+c.Y > 1:
		return domainError("x + y", c.X+c.Y, "at most 1")
	}
	return nil
}

// XYZ returns the tristimulus values with the given luminance factor Y. It
// assumes a checked chromaticity.
func (c XY) XYZ(luminance float64) XYZ {
	return XYZ{luminance * c.X / c.Y, luminance, luminance * (1 - c.X - c.Y) / c.Y}
}

// UV converts to the CIE 1960 plane. It assumes a checked chromaticity.
func (c XY) UV() UV {
	d := -2*c.X + 12*c.Y + 3
	return UV{4 * c.X / d, 6 * c.Y / d}
}

// UVPrime converts to the CIE 1976 plane. It assumes a checked chromaticity.
func (c XY) UVPrime() UVPrime {
	uv := c.UV()
	return UVPrime{uv.U, 1.5 * uv.V}
}

// XY converts back to CIE 1931. Domain: the result must pass XY.Check.
func (c UV) XY() (XY, error) {
	d := 2*c.U - 8*c.V + 4
	if !finite(c.U, c.V) || !(d > 0) {
		return XY{}, domainError("2u − 8v + 4", d, "above 0")
	}
	xy := XY{3 * c.U / d, 2 * c.V / d}
	return xy, xy.Check()
}

// XY converts back to CIE 1931. Domain: the result must pass XY.Check.
func (c UVPrime) XY() (XY, error) { return UV{c.U, c.V / 1.5}.XY() }

// UVPrime converts to the CIE 1976 plane.
func (c UV) UVPrime() UVPrime { return UVPrime{c.U, 1.5 * c.V} }

// UV converts to the CIE 1960 plane.
func (c UVPrime) UV() UV { return UV{c.U, c.V / 1.5} }
