package colorimetry

import "math"

// The spectral similarity index compares bands of 10 nm, centred on 380 to
// 670 nm [ST2122].
const (
	bandFirst = 380
	ssiFrom   = bandFirst - bandWidth/2
	bandWidth = 10
	bandCount = 30
)

// bandWeight takes the ends of the spectrum in by less, where the eye and
// cameras see little [ST2122].
var bandWeight = func() (w [bandCount]float64) {
	for i := range w {
		w[i] = 1
	}
	copy(w[:], []float64{12.0 / 45, 22.0 / 45, 32.0 / 45, 40.0 / 45, 44.0 / 45})
	copy(w[bandCount-2:], []float64{11.0 / 15, 3.0 / 15})
	return w
}()

// SSI returns the spectral similarity index of a light against a reference: 100
// for the same spectrum up to its scale, less for any difference, below 0 for
// very great ones, rounded to a whole number [ST2122]. The method and its
// constants are from memory and agree with two public implementations; the
// standard was not at hand. Where a spectrum starts above 375 nm its first value
// is taken down to there: Extended. Domain: spectra made by NewSpectrum with light between
// 375 and 675 nm, else ErrDomain.
func SSI(light, reference Spectrum) (int, error) {
	ssi, err := SSIUnrounded(light, reference)
	return int(math.Round(ssi)), err
}

// Extended reports whether SSI takes a spectrum's first value down to 375 nm, and that is not
// 0: a program that takes 0 there comes to another index, mostly by a point or two.
func (s Spectrum) Extended() bool { return len(s.nm) > 0 && s.nm[0] > ssiFrom && s.values[0] > 0 }

// ExtendedWords says so beside an index.
const ExtendedWords = "the index begins at 375 nm and the spectrum later: its first value was taken down to there; " +
	"a program that takes 0 there may come out 1 to 2 points apart"

// SSIUnrounded is the index before it is rounded to a whole number.
func SSIUnrounded(light, reference Spectrum) (float64, error) {
	a, err := light.bands()
	if err != nil {
		return 0, err
	}
	b, err := reference.bands()
	if err != nil {
		return 0, err
	}
	// A zero beyond each end for the smoothing.
	var d [bandCount + 2]float64
	for i := range bandCount {
		d[i+1] = bandWeight[i] * (a[i] - b[i]) / (b[i] + 1.0/bandCount)
	}
	sum := 0.0
	for i := 1; i <= bandCount; i++ {
		s := 0.22*d[i-1] + 0.56*d[i] + 0.22*d[i+1]
		sum += s * s
	}
	return 100 - 32*math.Sqrt(sum), nil
}

// bands integrates the spectrum, in straight lines between its samples, over
// each band at 1 nm with half weights at the band's ends, and scales the bands
// to a sum of 1.
func (s Spectrum) bands() (b [bandCount]float64, err error) {
	if len(s.nm) < 2 {
		return b, domainError("count of wavelengths", float64(len(s.nm)), "2 or more")
	}
	sum, j := 0.0, 0
	for i := range bandCount*bandWidth + 1 {
		nm := max(ssiFrom+float64(i), s.nm[0])
		for j < len(s.nm)-2 && s.nm[j+1] < nm {
			j++
		}
		v := s.values[j] + (nm-s.nm[j])/(s.nm[j+1]-s.nm[j])*(s.values[j+1]-s.values[j])
		if i%bandWidth == 0 {
			v /= 2
			if i > 0 {
				b[i/bandWidth-1] += v
				sum += v
			}
		}
		if k := i / bandWidth; k < bandCount {
			b[k] += v
			sum += v
		}
	}
	if !(sum > 0) {
		return b, domainError("light between 375 and 675 nm", sum, "above 0")
	}
	for i := range b {
		b[i] /= sum
	}
	return b, nil
}
