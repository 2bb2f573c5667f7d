package lighting

import (
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
)

// ColorOf computes the chromaticity of a value of the form measured (also of a
// light's target colour). CC becomes Duv through an ideal filter, good to about
// 30 %. Domain: the value must be complete and the colour possible, else an error
// that names what is wrong.
func ColorOf(measured logbook.Value) (colorimetry.XY, error) {
	as, _ := measured.Member("as").Text()
	n := members{of: measured}
	var xy colorimetry.XY
	var err error
	switch as {
	case "cctDuv":
		t := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(n.number("cctKelvin")), Duv: colorimetry.Duv(n.number("duv"))}
		if n.err == nil {
			xy, err = t.XY()
		}
	case "cctCc":
		xy, err = colorOfCC(&n)
	case "xy":
		xy = colorimetry.XY{X: n.number("x"), Y: n.number("y")}
		err = xy.Check()
	case "uvPrime":
		xy, err = colorimetry.UVPrime{U: n.number("u"), V: n.number("v")}.XY()
	case "uv":
		xy, err = colorimetry.UV{U: n.number("u"), V: n.number("v")}.XY()
	case "xyz":
		xy, err = colorimetry.XYZ{X: n.number("x"), Y: n.number("y"), Z: n.number("z")}.XY()
	case "spectrum":
		xy, err = colorOfSpectrum(measured)
	default:
		return xy, fmt.Errorf("%w: measured as %q is not a form this version knows", figure.ErrUnknown, logbook.Shorten(as))
	}
	if n.err != nil {
		return colorimetry.XY{}, n.err
	}
	if err == nil {
		err = xy.Check()
	}
	return xy, err
}

// colorOfCC: a meter that says "the filter needed is green" stands in a magenta
// light, so that the sign turns.
func colorOfCC(n *members) (colorimetry.XY, error) {
	cct, cc := colorimetry.Kelvin(n.number("cctKelvin")), n.number("density")
	if n.err != nil {
		return colorimetry.XY{}, nil
	}
	if color, _ := n.of.Member("color").Text(); color == "magenta" {
		cc = -cc
	}
	readout := colorimetry.LightIs
	if means, _ := n.of.Member("means").Text(); means == "filterNeeded" {
		readout = colorimetry.FilterNeeded
	}
	duv, err := readout.Duv(cc, cct)
	if err != nil {
		return colorimetry.XY{}, err
	}
	return colorimetry.CCTDuv{CCT: cct, Duv: duv}.XY()
}

func colorOfSpectrum(measured logbook.Value) (colorimetry.XY, error) {
	s, err := spectrumOf(measured)
	if err != nil {
		return colorimetry.XY{}, err
	}
	xyz, err := s.XYZ(colorimetry.Observer1931)
	if err != nil {
		return colorimetry.XY{}, err
	}
	return xyz.XY()
}

// spectrumOf reads the spectrum in a value of the form measured; ErrUnknown where
// it has none.
func spectrumOf(measured logbook.Value) (colorimetry.Spectrum, error) {
	if as, _ := measured.Member("as").Text(); as != "spectrum" {
		return colorimetry.Spectrum{}, fmt.Errorf("%w: it was measured as %q, allowed is spectrum", figure.ErrUnknown, logbook.Shorten(as))
	}
	numbers := func(name string) (all []float64) {
		for v := range measured.Member(name).Items() {
			f, _ := v.Float()
			all = append(all, f)
		}
		return all
	}
	return colorimetry.NewSpectrum(numbers("wavelengthsNm"), numbers("values"))
}

// members reads numbers of an object; the first that is missing sets err.
type members struct {
	of  logbook.Value
	err error
}

func (m *members) number(name string) float64 {
	f, ok := m.of.Member(name).Float()
	if !ok && m.err == nil {
		m.err = fmt.Errorf("%w: %s is missing", figure.ErrUnknown, name)
	}
	return f
}

// IlluminanceOf converts a value of the field illuminance to lux.
func IlluminanceOf(illuminance logbook.Value) (lux float64, ok bool) {
	lux, ok = illuminance.Member("value").Float()
	if unit, _ := illuminance.Member("unit").Text(); unit == "footCandle" {
		lux *= luxPerFootCandle
	}
	return lux, ok
}

// luxPerFootCandle is exact by the definition of the foot, rounded to the digits
// that are usually printed: 1 fc is 1 lm per square foot.
const luxPerFootCandle = 10.763910
