package lighting

import (
	"fmt"
	"slices"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
)

// MeasuredSpectrum is the value of a reading's field measured for a spectrum.
type MeasuredSpectrum struct {
	As            string    `json:"as"` // "spectrum"
	WavelengthsNm []float64 `json:"wavelengthsNm"`
	Values        []float64 `json:"values"`
}

// Tristimulus are CIE 1931 X Y Z in the unit of what was measured.
type Tristimulus struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
	Z float64 `json:"z"`
}

// SpectrumReading is what a file with a spectrum says, in the form in which a
// reading stores it.
type SpectrumReading struct {
	Format     string               `json:"format"`   // IES TM-27, CGATS.17, CSV or JSON
	Measured   MeasuredSpectrum     `json:"measured"` // to be stored as measured of a reading
	XYZ        Tristimulus          `json:"xyz"`
	Color      *figure.Chromaticity `json:"color"`
	Method     string               `json:"method"` // in words
	Similarity []Similarity         `json:"similarity"`
	Caveats    []string             `json:"caveats,omitempty"`
}

// Similarity is the spectral similarity index of a light against a reference:
// 100 for the same spectrum, less for any difference.
type Similarity struct {
	Reference string     `json:"reference"` // tungsten, daylight, blackBody or reading
	Reading   logbook.ID `json:"reading,omitzero"`
	Words     string     `json:"words"`             // "daylight of 5600 K"
	SSI       *float64   `json:"ssi,omitempty"`     // with two decimals; whole numbers are compared
	Note      string     `json:"note,omitempty"`    // what the index assumes
	Problem   string     `json:"problem,omitempty"` // why there is no index
}

// What a reading stores of a spectrum.
const (
	mostWavelengths = 1024
	mostPower       = 1e12
	observerFromNm  = 360
	observerToNm    = 830
	spectrumMethod  = "the spectrum summed against the CIE 1931 2° observer"
)

// ReadSpectrum brings a spectrum into the form of a reading; format is that of the
// file which it stood in. Errors wrap colorimetry.ErrDomain.
func ReadSpectrum(s colorimetry.Spectrum, format string) (SpectrumReading, error) {
	r := SpectrumReading{Format: format, Method: spectrumMethod}
	s, err := r.store(s)
	if err != nil {
		return SpectrumReading{}, err
	}
	xyz, err := s.XYZ(colorimetry.Observer1931)
	if err != nil {
		return SpectrumReading{}, err
	}
	xy, err := xyz.XY()
	if err != nil {
		return SpectrumReading{}, err
	}
	r.XYZ, r.Color, r.Similarity = Tristimulus(xyz), figure.ChromaticityOf(xy), similarities(s, xy)
	return r, nil
}

// store fills in the form of a reading. A spectrum that is longer than a reading
// takes is cut to what the observer sees; at steps of 1 nm or more that fits.
func (r *SpectrumReading) store(s colorimetry.Spectrum) (colorimetry.Spectrum, error) {
	nm, values := s.Wavelengths(), s.Values()
	for i, v := range values {
		if v > mostPower {
			return s, fmt.Errorf("%w: value at %v nm is %v, allowed is at most 1e12: use another unit", colorimetry.ErrDomain, nm[i], v)
		}
	}
	if len(nm) > mostWavelengths {
		var seen, power []float64
		for i := range nm {
			if nm[i] >= observerFromNm && nm[i] <= observerToNm {
				seen, power = append(seen, nm[i]), append(power, values[i])
			}
		}
		r.Caveats = append(r.Caveats, fmt.Sprintf("cut to %d to %d nm: a reading stores at most %d wavelengths",
			observerFromNm, observerToNm, mostWavelengths))
		nm, values = seen, power
	}
	r.Measured = MeasuredSpectrum{"spectrum", nm, values}
	return colorimetry.NewSpectrum(nm, values)
}

// A SpectralReference is what a spectrum is compared with: tungsten, daylight,
// blackBody, or a reading that holds a spectrum. The zero value is all three.
type SpectralReference struct {
	Name    string
	Reading logbook.ID
}

// spectralReferences are those that need no reading.
var spectralReferences = [...]string{"tungsten", "daylight", "blackBody"}

// ReadSpectralReference reads what was asked for. ok is false for any other word.
func ReadSpectralReference(text string) (r SpectralReference, ok bool) {
	if slices.Contains(spectralReferences[:], text) {
		return SpectralReference{Name: text}, true
	}
	id, err := logbook.ParseID(text)
	return SpectralReference{"reading", id}, err == nil
}

func similarities(s colorimetry.Spectrum, xy colorimetry.XY) []Similarity {
	all := []Similarity{}
	for _, name := range spectralReferences {
		all = append(all, similarity(s, xy, name))
	}
	return all
}

// similarity compares a light with one of spectralReferences.
func similarity(s colorimetry.Spectrum, xy colorimetry.XY, name string) Similarity {
	out := Similarity{Reference: name}
	kelvin := colorimetry.Kelvin(3200)
	if name != "tungsten" {
		t, err := xy.CCTDuv()
		if err != nil {
			out.Words, out.Problem = name, err.Error()
			return out
		}
		kelvin = t.CCT
	}
	spectrumAt := colorimetry.PlanckianSpectrum
	switch name {
	case "tungsten":
		out.Words = "tungsten, a black body of 3200 K"
	case "daylight":
		spectrumAt, out.Words = colorimetry.DaylightSpectrum, fmt.Sprintf("daylight of %.0f K", float64(kelvin))
	default:
		out.Words = fmt.Sprintf("a black body of %.0f K", float64(kelvin))
	}
	reference, err := spectrumAt(kelvin)
	if err != nil && name == "daylight" {
		out.Problem = fmt.Sprintf("there is no daylight of %.0f K: it goes from 4000 to 25000 K", float64(kelvin))
		return out
	}
	out.compare(s, reference, err)
	return out
}

func (out *Similarity) compare(s, reference colorimetry.Spectrum, err error) {
	if err == nil {
		var ssi float64
		if ssi, err = colorimetry.SSIUnrounded(s, reference); err == nil {
			out.SSI = figure.Rounded(ssi, 2)
			if s.Extended() || reference.Extended() {
				out.Note = colorimetry.ExtendedWords
			}
			return
		}
	}
	out.Problem = err.Error()
}
