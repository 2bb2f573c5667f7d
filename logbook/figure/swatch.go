package figure

import "evenwhite/colorimetry"

// Swatch is a colour for a screen, in sRGB code values. Clipped says that the
// real one is stronger than a screen can show.
type Swatch struct {
	R       int  `json:"r"`
	G       int  `json:"g"`
	B       int  `json:"b"`
	Clipped bool `json:"clipped"`
}

func SwatchOf(light, white colorimetry.XY) *Swatch {
	p, err := colorimetry.Picture(light, white, colorimetry.CAT16)
	if err != nil {
		return nil
	}
	s := colorimetry.Preview(p)
	return &Swatch{int(s.R), int(s.G), int(s.B), s.Clipped}
}
