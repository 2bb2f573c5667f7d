package colorimetry

import (
	"errors"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// flat is a light of 1 from 360 to 780 nm at 5 nm, changed by a function.
func flat(t testing.TB, change func(nm float64) float64) Spectrum {
	t.Helper()
	var nm, values []float64
	for w := 360.0; w <= 780; w += 5 {
		nm, values = append(nm, w), append(values, change(w))
	}
	s, err := NewSpectrum(nm, values)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestSSIOfWorkedExamples(t *testing.T) {
	reference := flat(t, func(float64) float64 { return 1 })
	for _, row := range checkRows(t, "ssi.json") {
		t.Run(row.Name, func(t *testing.T) {
			light := flat(t, func(nm float64) float64 {
				if row.in[2] == 0 && nm == row.in[0] {
					return row.in[1]
				}
				return 1 + max(-0.1, row.in[2]*(nm-380))
			})
			got, err := SSI(light, reference)
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, float64(got))
		})
	}
}

func TestSSIOfALightAgainstItselfIs100(t *testing.T) {
	names, spectra := checkSpectra(t)
	for _, name := range names {
		values := spectra[name].Values()
		for i := range values {
			values[i] *= 37
		}
		scaled, err := NewSpectrum(spectra[name].Wavelengths(), values)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := SSI(scaled, spectra[name]); err != nil || got != 100 {
			t.Errorf("%s: got %v, %v, want 100", name, got, err)
		}
	}
}

// A broad phosphor is nearer to daylight than a lamp of narrow bands of the same
// colour: F7 against F11, whose published Ra are 90 and 83 [CIE15]; the index
// sets them much farther apart.
func TestSSITellsNarrowBandsFromBroadOnes(t *testing.T) {
	_, spectra := checkSpectra(t)
	d65 := spectra["D65"]
	order := []string{"D65", "F7", "F1", "F2", "F11"}
	last := 101
	for _, name := range order {
		got, err := SSI(spectra[name], d65)
		if err != nil {
			t.Fatal(err)
		}
		if got >= last {
			t.Errorf("%s: got %d, want less than the %d of the one before", name, got, last)
		}
		last = got
	}
}

func TestSSIIsAtMost100(t *testing.T) {
	names, spectra := checkSpectra(t)
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.SampledFrom(names).Draw(t, "a"), rapid.SampledFrom(names).Draw(t, "b")
		got, err := SSI(spectra[a], spectra[b])
		if err != nil {
			t.Fatal(err)
		}
		if got > 100 || (got == 100) != (a == b) {
			t.Errorf("%s against %s: got %d, want below 100 but for the same light", a, b, got)
		}
		sharp, err := SSIUnrounded(spectra[a], spectra[b])
		if err != nil || sharp > 100 || math.Abs(sharp-float64(got)) > 0.5 {
			t.Errorf("%s against %s: got %v before rounding to %d (%v)", a, b, sharp, got, err)
		}
		if from := spectra[a].Wavelengths()[0]; spectra[a].Extended() != (from > 375 && spectra[a].Values()[0] > 0) {
			t.Errorf("%s begins at %v nm: extended is %v", a, from, spectra[a].Extended())
		}
	})
}

// The first value is taken down to 375 nm, so that a file which starts at 380 nm
// is not punished against a reference that starts at 360.
func TestSSIOfASpectrumThatStartsAt380(t *testing.T) {
	full, err := PlanckianSpectrum(3200)
	if err != nil {
		t.Fatal(err)
	}
	nm, values := full.Wavelengths(), full.Values()
	short, err := NewSpectrum(nm[20:421], values[20:421])
	if err != nil {
		t.Fatal(err)
	}
	if got, err := SSI(short, full); err != nil || got != 100 {
		t.Errorf("got %v, %v, want 100", got, err)
	}
	if !short.Extended() || full.Extended() || (Spectrum{}).Extended() {
		t.Error("not the one that starts at 380 nm was extended")
	}
	values[20] = 0
	if dark, err := NewSpectrum(nm[20:421], values[20:421]); err != nil || dark.Extended() {
		t.Errorf("got %v: 0 taken down is what others take there", err)
	}
	sharp, err := SSIUnrounded(short, full)
	if whole, _ := SSI(short, full); err != nil || sharp > 100 || math.Abs(sharp-float64(whole)) > 0.5 {
		t.Errorf("got %v before rounding (%v)", sharp, err)
	}
}

func TestSSIRefusesAnEmptySpectrum(t *testing.T) {
	whole := flat(t, func(float64) float64 { return 1 })
	onlyRed := flat(t, func(nm float64) float64 { return max(0, nm-700) })
	for _, pair := range [][2]Spectrum{{{}, whole}, {whole, {}}, {onlyRed, whole}, {whole, onlyRed}} {
		if got, err := SSI(pair[0], pair[1]); !errors.Is(err, ErrDomain) {
			t.Errorf("got %v, %v, want ErrDomain", got, err)
		}
	}
}

// The Python package colour-science documents 94 for illuminant C against D65 and
// tests 72 for an arc lamp against D50: an independent implementation, not a
// publication.
func TestSSIOfAnIndependentImplementation(t *testing.T) {
	spectra := illuminants(t)
	data, err := os.ReadFile("../testdata/colorimetry/discharge-lamp.csv")
	if err != nil {
		t.Fatal(err)
	}
	var nm, values []float64
	for line := range strings.Lines(string(data)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		var w, v float64
		if _, err := fmt.Sscanf(line, "%g,%g\n", &w, &v); err != nil {
			t.Fatalf("%q: %v", line, err)
		}
		nm, values = append(nm, w), append(values, v)
	}
	arc, err := NewSpectrum(nm, values)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name             string
		light, reference Spectrum
		want             int
	}{{"C against D65", spectra["C"], spectra["D65"], 94}, {"the arc against D50", arc, spectra["D50"], 72}} {
		if got, err := SSI(c.light, c.reference); err != nil || got != c.want {
			t.Errorf("%s: got %v (%v), want %v", c.name, got, err, c.want)
		}
	}
}
