package colorimetry

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// checkSpectra reads the measured lights of the tests: F1 to F11, D65, and
// others by the number of their column.
func checkSpectra(t testing.TB) (names []string, spectra map[string]Spectrum) {
	t.Helper()
	f, err := os.Open("../testdata/colorimetry/spectra.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	columns := make([][]float64, len(rows[0]))
	for _, row := range rows[1:] {
		for i, cell := range row {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				t.Fatal(err)
			}
			columns[i] = append(columns[i], v)
		}
	}
	spectra = map[string]Spectrum{}
	for i, name := range rows[0][1:] {
		if spectra[name], err = NewSpectrum(columns[0], columns[i+1]); err != nil {
			t.Fatalf("%s: %v", name, err)
		}
	}
	if len(spectra) < 22 {
		t.Fatalf("%d spectra, want F1 to F11, D65 and ten others", len(spectra))
	}
	return rows[0][1:], spectra
}

// illuminantA is the standard's own formula: c2 of 1.4350e-2 at 2848 K, here
// summed over 380 to 780 nm at 5 nm as when it was defined [CIE15].
func illuminantA(t testing.TB) Spectrum {
	t.Helper()
	var nm, values []float64
	for w := 380.0; w <= 780; w += 5 {
		nm, values = append(nm, w), append(values, planck(w, 2848*1.4388/1.4350))
	}
	s, err := NewSpectrum(nm, values)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// illuminants are A, C, D50 to D75 and F1 to F11.
func illuminants(t testing.TB) map[string]Spectrum {
	t.Helper()
	_, spectra := checkSpectra(t)
	spectra["A"] = illuminantA(t)
	for name, nominal := range map[string]Kelvin{"D50": 5000, "D55": 5500, "D65": 6500, "D75": 7500} {
		s, err := DaylightSpectrum(nominal * 1.4388 / 1.4380)
		if err != nil {
			t.Fatal(err)
		}
		spectra[name] = s
	}
	return spectra
}

func TestSpectraOfTheStandardIlluminants(t *testing.T) {
	spectra := illuminants(t)
	for _, row := range checkRows(t, "cie15-illuminants.json") {
		t.Run(row.Name, func(t *testing.T) {
			xy, err := spectra[row.Name].XY()
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, xy.X, xy.Y)
		})
	}
}

func TestTheIlluminantsForTheTenDegreeObserver(t *testing.T) {
	spectra := illuminants(t)
	for _, row := range checkRows(t, "cie15-ten-degrees.json") {
		t.Run(row.Name, func(t *testing.T) {
			c, err := spectra[row.Name].XYZ(Observer1964)
			if err != nil {
				t.Fatal(err)
			}
			xy, err := c.XY()
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, xy.X, xy.Y)
		})
	}
}

// The package's D65, scaled to its peak, and the sum of the components are the
// same curve [CIE15]; the standard prints the components' sum rounded.
func TestDaylightComponentsGiveTheTabulatedD65(t *testing.T) {
	_, spectra := checkSpectra(t)
	s, err := DaylightSpectrum(6500 * 1.4388 / 1.4380)
	if err != nil {
		t.Fatal(err)
	}
	table := spectra["D65"]
	scale := s.At(560) / table.At(560)
	for _, nm := range s.Wavelengths() {
		if got, want := s.At(nm), table.At(nm)*scale; !within(got, want, 0.01) {
			t.Errorf("%v nm: got %v, want %v", nm, got, want)
		}
	}
	if !within(s.At(560), 100, 1e-9) {
		t.Errorf("at 560 nm: got %v, want 100", s.At(560))
	}
}

// The sums of the 2° and the 10° ȳ at 1 nm are 106.857 and 116.662 [CIE15], from
// memory.
func TestEqualEnergySumsToTheObserversIntegral(t *testing.T) {
	nm, values := make([]float64, 471), make([]float64, 471)
	for i := range nm {
		nm[i], values[i] = float64(360+i), 1
	}
	s, err := NewSpectrum(nm, values)
	if err != nil {
		t.Fatal(err)
	}
	for o, want := range map[Observer]float64{Observer1931: 106.857, Observer1964: 116.662} {
		c, err := s.XYZ(o)
		if err != nil {
			t.Fatal(err)
		}
		if !within(c.Y, want, 0.0005) {
			t.Errorf("observer %v: got Y %v, want %v", o, c.Y, want)
		}
		// Equal energy is white: the three sums agree but for the table's rounding.
		if !within(c.X, c.Y, 0.04) || !within(c.Z, c.Y, 0.04) {
			t.Errorf("observer %v: got X %v and Z %v, want about %v", o, c.X, c.Z, c.Y)
		}
	}
	if _, err := s.XYZ(Observer(2)); !errors.Is(err, ErrDomain) {
		t.Errorf("an unknown observer: got %v, want ErrDomain", err)
	}
	if _, err := (Spectrum{}).XYZ(Observer1931); !errors.Is(err, ErrDomain) {
		t.Errorf("an empty spectrum: got %v, want ErrDomain", err)
	}
}

func TestPlanckianSpectrumLiesOnTheLocus(t *testing.T) {
	for _, k := range []Kelvin{1000, 2000, 3200, 5600, 10000, 100000} {
		s, err := PlanckianSpectrum(k)
		if err != nil {
			t.Fatal(err)
		}
		xy, err := s.XY()
		if err != nil {
			t.Fatal(err)
		}
		want, err := Planckian(k)
		if err != nil {
			t.Fatal(err)
		}
		if got := xy.UV(); !within(got.U, want.U, 1e-12) || !within(got.V, want.V, 1e-12) {
			t.Errorf("%v K: got %v, want %v", k, got, want)
		}
	}
}

func TestSpectraAreRefusedThatHaveNoColour(t *testing.T) {
	grid := func(from, to, step float64) (nm, values []float64) {
		for w := from; w <= to; w += step {
			nm, values = append(nm, w), append(values, 1)
		}
		return nm, values
	}
	for _, c := range []struct {
		name, says string
		change     func(nm, values []float64) ([]float64, []float64)
	}{
		{"a missing value", "one value for each", func(nm, v []float64) ([]float64, []float64) { return nm, v[1:] }},
		{"a negative value", "value at 400 nm", func(nm, v []float64) ([]float64, []float64) { v[4] = -1e-9; return nm, v }},
		{"NaN", "value at 400 nm is NaN", func(nm, v []float64) ([]float64, []float64) { v[4] = math.NaN(); return nm, v }},
		{"infinity", "value at 400 nm", func(nm, v []float64) ([]float64, []float64) { v[4] = math.Inf(1); return nm, v }},
		{"a wavelength that is NaN", "wavelength 5 is NaN", func(nm, v []float64) ([]float64, []float64) { nm[4] = math.NaN(); return nm, v }},
		{"a falling wavelength", "must rise", func(nm, v []float64) ([]float64, []float64) { nm[4] = 389; return nm, v }},
		{"a wavelength twice", "must rise", func(nm, v []float64) ([]float64, []float64) { nm[4] = 395; return nm, v }},
		{"micrometres", "not µm", func(nm, v []float64) ([]float64, []float64) {
			for i := range nm {
				nm[i] /= 1000
			}
			return nm, v
		}},
		{"steps of 25 nm", "too coarse", func(_, _ []float64) ([]float64, []float64) { return grid(380, 780, 25) }},
		{"steps of 0.5 nm", "1 to 20", func(_, _ []float64) ([]float64, []float64) { return grid(380, 780, 0.5) }},
		{"no violet", "380 or less", func(_, _ []float64) ([]float64, []float64) { return grid(400, 780, 5) }},
		{"no deep red", "780 or more", func(_, _ []float64) ([]float64, []float64) { return grid(380, 700, 5) }},
		{"darkness", "above 0", func(nm, v []float64) ([]float64, []float64) { return nm, make([]float64, len(v)) }},
		{"nothing", "2 or more", func(_, _ []float64) ([]float64, []float64) { return nil, nil }},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := NewSpectrum(c.change(grid(380, 780, 5)))
			if !errors.Is(err, ErrDomain) || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, want ErrDomain that says %q", err, c.says)
			}
		})
	}
}

func TestAnUnevenGridGivesTheSameColour(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fine, err := PlanckianSpectrum(Kelvin(rapid.Float64Range(2500, 10000).Draw(t, "kelvin")))
		if err != nil {
			t.Fatal(err)
		}
		var seen [2][]float64
		for w := 360; w <= 780; w++ { // nothing is added beyond what was measured
			seen[0], seen[1] = append(seen[0], float64(w)), append(seen[1], fine.At(float64(w)))
		}
		whole, err := NewSpectrum(seen[0], seen[1])
		if err != nil {
			t.Fatal(err)
		}
		want, err := whole.XY()
		if err != nil {
			t.Fatal(err)
		}
		var nm, values []float64
		for w := 360; w < 780; w += rapid.IntRange(1, 20).Draw(t, "step") {
			nm, values = append(nm, float64(w)), append(values, fine.At(float64(w)))
		}
		s, err := NewSpectrum(append(nm, 780), append(values, fine.At(780)))
		if err != nil {
			t.Fatal(err)
		}
		got, err := s.XY()
		if err != nil {
			t.Fatal(err)
		}
		// The floor of a good meter is 0.002.
		if !within(got.X, want.X, 0.0003) || !within(got.Y, want.Y, 0.0003) {
			t.Errorf("got %v, want %v within 0.0003", got, want)
		}
	})
}

// Every even step from 1 to 20 nm, also with wavelengths printed to a tenth.
func TestEveryEvenStepGivesTheSameColour(t *testing.T) {
	fine, err := PlanckianSpectrum(5600)
	if err != nil {
		t.Fatal(err)
	}
	want, err := fine.XY()
	if err != nil {
		t.Fatal(err)
	}
	for tenths := 10; tenths <= 200; tenths++ {
		var nm, values []float64
		for i := 0; i == 0 || nm[i-1] < 780; i++ {
			w := math.Round(3600+float64(i*tenths)) / 10
			nm, values = append(nm, w), append(values, fine.At(w))
		}
		s, err := NewSpectrum(nm, values)
		if err != nil {
			t.Fatal(err)
		}
		got, err := s.XY()
		// The floor of a good meter is 0.002.
		most := 0.0002
		if tenths > 100 {
			most = 0.0007
		}
		if err != nil || !within(got.X, want.X, most) || !within(got.Y, want.Y, most) {
			t.Errorf("%v nm: got %v, %v, want %v within %v", float64(tenths)/10, got, err, want, most)
		}
	}
}

func TestAScaledSpectrumHasTheSameColour(t *testing.T) {
	_, spectra := checkSpectra(t)
	rapid.Check(t, func(t *rapid.T) {
		s := spectra["F"+strconv.Itoa(rapid.IntRange(1, 11).Draw(t, "light"))]
		factor := rapid.Float64Range(1e-6, 1e6).Draw(t, "factor")
		values := s.Values()
		for i := range values {
			values[i] *= factor
		}
		scaled, err := NewSpectrum(s.Wavelengths(), values)
		if err != nil {
			t.Fatal(err)
		}
		a, err := s.XY()
		if err != nil {
			t.Fatal(err)
		}
		b, err := scaled.XY()
		if err != nil {
			t.Fatal(err)
		}
		if !within(a.X, b.X, 1e-12) || !within(a.Y, b.Y, 1e-12) {
			t.Errorf("got %v, want %v", b, a)
		}
	})
}

func TestAtDrawsALineBetweenSamples(t *testing.T) {
	s, err := NewSpectrum([]float64{380, 400, 420, 440, 460, 480, 500, 520, 540, 560, 580, 600, 620, 640, 660, 680, 700, 720, 740, 760, 780},
		[]float64{0, 2, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4})
	if err != nil {
		t.Fatal(err)
	}
	for nm, want := range map[float64]float64{380: 0, 390: 1, 415: 3.5, 780: 4, 379.9: 0, 780.1: 0} {
		if got := s.At(nm); !within(got, want, 1e-12) {
			t.Errorf("at %v nm: got %v, want %v", nm, got, want)
		}
	}
}

func TestASpectrumKeepsItsOwnNumbers(t *testing.T) {
	s, err := PlanckianSpectrum(3200)
	if err != nil {
		t.Fatal(err)
	}
	nm, values := s.Wavelengths(), s.Values()
	own, err := NewSpectrum(nm, values)
	if err != nil {
		t.Fatal(err)
	}
	before, err := own.XY()
	if err != nil {
		t.Fatal(err)
	}
	nm[100], values[100] = 0, -1
	own.Values()[50] = -1
	if after, err := own.XY(); err != nil || after != before {
		t.Errorf("got %v, %v, want %v", after, err, before)
	}
}

func TestPlanckianSpectrumIsThePublishedIlluminantA(t *testing.T) {
	s, err := PlanckianSpectrum(2848 * 1.4388 / 1.435)
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range checkRows(t, "cie15-illuminant-a.json") {
		t.Run(row.Name, func(t *testing.T) { row.compare(t, 100*s.At(row.in[0])) })
	}
}

func TestAtDrawsTheLinesOfThePublishedD65(t *testing.T) {
	for _, row := range checkRows(t, "cie15-d65-lines.json") {
		t.Run(row.Name, func(t *testing.T) {
			row.compare(t, Spectrum{[]float64{row.in[0], row.in[2]}, []float64{row.in[1], row.in[3]}}.At(row.in[4]))
		})
	}
}
