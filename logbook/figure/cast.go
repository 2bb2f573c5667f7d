package figure

import "evenwhite/colorimetry"

// IntendedCast is how the reference light is meant to look: mired + warmer,
// − cooler; Duv + greener, − more magenta.
type IntendedCast struct {
	Name  string  `json:"name,omitempty"`
	Mired float64 `json:"mired"`
	Duv   float64 `json:"duv"`
	// From says where it was set: white, exception, scene or none.
	From string `json:"from"`
}

func (c IntendedCast) Cast() colorimetry.Cast {
	return colorimetry.Cast{Mired: colorimetry.Mired(c.Mired), Duv: colorimetry.Duv(c.Duv)}
}
