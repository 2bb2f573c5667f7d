package colorimetry

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"evenwhite/colorimetry/tables"
)

// What a measured spectrum must cover and may hold, in nm.
const (
	spectrumFrom, spectrumTo         = 380, 780
	spectrumLowest, spectrumHighest  = 200, 2500
	spectrumFinest, spectrumCoarsest = 1, 20
)

// MaxWavelengths is how many a spectrum has at most: every nanometre from 200 to 2500.
const MaxWavelengths = (spectrumHighest-spectrumLowest)/spectrumFinest + 1

// Spectrum is a spectral distribution of power per nanometre, in whatever unit
// the values had. The zero value is empty and has no colour.
type Spectrum struct{ nm, values []float64 }

// NewSpectrum takes wavelengths in nm and one value for each. Domain, else
// ErrDomain: wavelengths rising, from 200 to 2500 nm, in even or uneven steps of
// 1 to 20 nm, from 380 nm or less to 780 nm or more; values finite, not negative,
// not all zero between 380 and 780 nm. Both slices are copied.
func NewSpectrum(wavelengths, values []float64) (Spectrum, error) {
	if len(wavelengths) != len(values) {
		return Spectrum{}, domainError(fmt.Sprintf("count of values for %d wavelengths", len(wavelengths)),
			float64(len(values)), "one value for each wavelength")
	}
	if err := checkWavelengths(wavelengths); err != nil {
		return Spectrum{}, err
	}
	light := false
	for i, v := range values {
		nm := wavelengths[i]
		if !(v >= 0 && v <= math.MaxFloat64/1e9) {
			return Spectrum{}, domainError(fmt.Sprintf("value at %v nm", nm), v, "a finite number, 0 or above")
		}
		light = light || v > 0 && nm >= spectrumFrom && nm <= spectrumTo
	}
	if !light {
		return Spectrum{}, domainError("greatest value from 380 to 780 nm", 0, "above 0")
	}
	return Spectrum{slices.Clone(wavelengths), slices.Clone(values)}, nil
}

func checkWavelengths(nm []float64) error {
	if len(nm) < 2 {
		return domainError("count of wavelengths", float64(len(nm)), "2 or more, from 380 to 780 nm in steps of at most 20 nm")
	}
	for i, w := range nm {
		if !(w >= spectrumLowest && w <= spectrumHighest) {
			return domainError(fmt.Sprintf("wavelength %d", i+1), w, "200 to 2500 nm (not µm, not Å)")
		}
		if i == 0 {
			continue
		}
		// Files print wavelengths rounded; the slack keeps such steps legal.
		const slack = 1e-6
		switch step := w - nm[i-1]; {
		case step <= 0:
			return domainError(fmt.Sprintf("wavelength after %v nm", nm[i-1]), w, "a greater one: wavelengths must rise")
		case step < spectrumFinest-slack:
			return domainError(fmt.Sprintf("step in nm at %v nm", w), step, "1 to 20 nm")
		case step > spectrumCoarsest+slack:
			return domainError(fmt.Sprintf("step in nm at %v nm", w), step, "1 to 20 nm: too coarse for a colour")
		}
	}
	if nm[0] > spectrumFrom {
		return domainError("first wavelength in nm", nm[0], "380 or less")
	}
	if last := nm[len(nm)-1]; last < spectrumTo {
		return domainError("last wavelength in nm", last, "780 or more")
	}
	return nil
}

// Wavelengths returns the wavelengths in nm.
func (s Spectrum) Wavelengths() []float64 { return slices.Clone(s.nm) }

// Values returns the value at each wavelength.
func (s Spectrum) Values() []float64 { return slices.Clone(s.values) }

// At returns the value at a wavelength in nm, on a straight line between its
// neighbours, and 0 outside the spectrum.
func (s Spectrum) At(nm float64) float64 {
	i := sort.SearchFloat64s(s.nm, nm)
	switch {
	case i < len(s.nm) && s.nm[i] == nm:
		return s.values[i]
	case i == 0 || i == len(s.nm):
		return 0
	}
	t := (nm - s.nm[i-1]) / (s.nm[i] - s.nm[i-1])
	return s.values[i-1] + t*(s.values[i]-s.values[i-1])
}

// XYZ sums the spectrum against the observer. Of an even step it is the standard's
// summation at the spectrum's own wavelengths [CIE15], which comes closer to the
// 1 nm result than lines drawn between the samples. Over uneven steps that sum
// would be off by twice a good meter's floor even for daylight: there the lines
// are drawn, and summed at 1 nm. Nothing is added where the spectrum was not
// measured. The unit is the spectrum's times nm: 683·Y is in lux for W/(m²·nm).
// Domain: a spectrum made by NewSpectrum and a known observer, else ErrDomain.
func (s Spectrum) XYZ(o Observer) (XYZ, error) {
	table, err := o.table()
	if err != nil {
		return XYZ{}, err
	}
	if len(s.nm) < 2 {
		return XYZ{}, domainError("count of wavelengths", float64(len(s.nm)), "2 or more")
	}
	if !s.even() {
		return s.alongLines(table[:]), nil
	}
	var x, y, z float64
	step := (s.nm[len(s.nm)-1] - s.nm[0]) / float64(len(s.nm)-1)
	for i, nm := range s.nm {
		if nm < observerFirst || nm > observerLast {
			continue
		}
		k := int(nm - observerFirst)
		c := table[k]
		if t := nm - observerFirst - float64(k); t > 0 {
			for j := range c {
				c[j] += t * (table[k+1][j] - c[j])
			}
		}
		x, y, z = x+s.values[i]*c[0], y+s.values[i]*c[1], z+s.values[i]*c[2]
	}
	return XYZ{step * x, step * y, step * z}, nil
}

// even reports whether all steps are alike, as far as rounded wavelengths can be.
func (s Spectrum) even() bool {
	const slack = 0.05
	mean := (s.nm[len(s.nm)-1] - s.nm[0]) / float64(len(s.nm)-1)
	for i := 1; i < len(s.nm); i++ {
		if math.Abs(s.nm[i]-s.nm[i-1]-mean) > slack*mean {
			return false
		}
	}
	return true
}

func (s Spectrum) alongLines(table [][3]float64) (sum XYZ) {
	for k, c := range table {
		power := s.At(float64(observerFirst + k))
		sum.X, sum.Y, sum.Z = sum.X+power*c[0], sum.Y+power*c[1], sum.Z+power*c[2]
	}
	return sum
}

// XY returns the chromaticity for the 2° observer. Domain: as XYZ, and some light
// that the observer sees.
func (s Spectrum) XY() (XY, error) {
	c, err := s.XYZ(Observer1931)
	if err != nil {
		return XY{}, err
	}
	return c.XY()
}

// PlanckianSpectrum returns the spectrum of a black body from 360 to 830 nm at
// 1 nm, 1 at 560 nm. Domain: 1000 to 100 000 K, else ErrDomain [CIE15].
func PlanckianSpectrum(k Kelvin) (Spectrum, error) {
	if err := checkCCT(k); err != nil {
		return Spectrum{}, err
	}
	const n = observerLast - observerFirst + 1
	s := Spectrum{make([]float64, n), make([]float64, n)}
	for i := range n {
		nm := float64(observerFirst + i)
		s.nm[i], s.values[i] = nm, planck(nm, float64(k))/planck(560, float64(k))
	}
	return s, nil
}

// planck is Planck's law without its constant factor.
func planck(nm, kelvin float64) float64 {
	r := 560 / nm
	return r * r * r * r * r / math.Expm1(SecondRadiation*1e9/(nm*kelvin))
}

// DaylightSpectrum returns CIE daylight from 380 to 780 nm at 5 nm, 100 at
// 560 nm. The argument and domain are those of DaylightXY; D65 is
// 6500·1.4388/1.4380 K. The weights of the components are rounded to three
// decimals, as the standard has it [CIE15].
func DaylightSpectrum(k Kelvin) (Spectrum, error) {
	c, err := DaylightXY(k)
	if err != nil {
		return Spectrum{}, err
	}
	m := 0.0241 + 0.2562*c.X - 0.7341*c.Y
	m1 := math.Round(1e3*(-1.3515-1.7703*c.X+5.9114*c.Y)/m) / 1e3
	m2 := math.Round(1e3*(0.0300-31.4424*c.X+30.0717*c.Y)/m) / 1e3
	s := Spectrum{make([]float64, len(tables.Daylight)), make([]float64, len(tables.Daylight))}
	for i, d := range tables.Daylight {
		s.nm[i], s.values[i] = float64(380+5*i), d[0]+m1*d[1]+m2*d[2]
	}
	return s, nil
}
