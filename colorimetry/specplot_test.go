package colorimetry

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"evenwhite/logbook/needed"
)

// realLight is a spectrum of the package psychtoolbox-3-common: its file and
// column, wavelengths and values as measured.
type realLight struct {
	name       string
	nm, values []float64
}

const psychtoolbox = "the Debian package psychtoolbox-3-common"

// realLights are all spectra of the package, read by the converter that makes the
// tables: 401 lamps of one collection, illuminants, flash, arc and sun, and the
// patches of a colour chart under an incandescent lamp.
func realLights(t *testing.T) (lights []realLight) {
	t.Helper()
	const folder = "/usr/share/psychtoolbox-3/PsychColorimetricData/PsychColorimetricMatFiles"
	present(t, folder, psychtoolbox)
	path := filepath.Join(t.TempDir(), "every.csv")
	output(t, nil, needed.Tool(t, "go"), "run", "tables/convert.go", "tables/mat.go", "tables/planck.go",
		"-from", folder, "-every", path)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(strings.TrimSpace(string(data)), "\n") {
		cells := strings.Split(line, ",")
		var numbers []float64
		for _, cell := range cells[1:] {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				t.Fatalf("%s: %v", cells[0], err)
			}
			numbers = append(numbers, v)
		}
		l := realLight{name: cells[0], values: numbers[2:]}
		for i := range l.values {
			l.nm = append(l.nm, numbers[0]+float64(i)*numbers[1])
		}
		lights = append(lights, l)
	}
	if len(lights) != 433 {
		t.Fatalf("got %d lights, want the 433 of the package", len(lights))
	}
	return lights
}

// The program specplot computes X Y Z, x y and CCT of a spectrum with code and
// tables of its own. It draws a curve through the samples where the standard sums
// them: that alone is up to 0.4 % of Z for lamps with lines in the violet. Given
// the same straight lines at 1 nm, both must agree far more closely.
func TestEveryRealSpectrumAgreesWithAnIndependentProgram(t *testing.T) {
	specplot := needed.Tool(t, "specplot")
	lights := realLights(t)
	for _, c := range []struct {
		name     string
		sampled  func(realLight) realLight
		xyz, cct float64
	}{
		{"as measured", func(l realLight) realLight { return l }, 0.004, 0.002},
		{"at 1 nm", everyNanometre, 0.0005, 0.0005},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			worst := agreement{xyzLimit: c.xyz, cctLimit: c.cct}
			folder := t.TempDir()
			var names, paths []string
			var spectra []Spectrum
			for i, l := range lights {
				l = c.sampled(l)
				s, err := NewSpectrum(l.nm, l.values)
				if l.nm[len(l.nm)-1] < 780 {
					// The arc lamp was measured to 730 nm: too short for a colour.
					if !errors.Is(err, ErrDomain) || !strings.Contains(err.Error(), "780 or more") {
						t.Errorf("%s: got %v, want ErrDomain that says 780 or more", l.name, err)
					}
					continue
				}
				if err != nil {
					t.Fatalf("%s: %v", l.name, err)
				}
				path := filepath.Join(folder, fmt.Sprintf("%d.sp", i))
				if err := os.WriteFile(path, spectrumForSpecplot(s), 0o644); err != nil {
					t.Fatal(err)
				}
				names, paths, spectra = append(names, l.name), append(paths, path), append(spectra, s)
			}
			answers := strings.Split(string(output(t, nil, specplot, append([]string{"-v", "-s"}, paths...)...)), "Type = ")[1:]
			if len(answers) != len(names) || len(names) != 432 {
				t.Fatalf("got %d answers for %d spectra, want 432 of each", len(answers), len(names))
			}
			for i, s := range spectra {
				worst.compare(t, names[i], s, answers[i])
			}
			t.Logf("%d spectra: X Y Z and x y off by at most %.2g (%s), relative; CCT of %d by %.2g (%s); %d are coloured and have none",
				len(names), worst.xyz, worst.xyzOf, worst.withCCT, worst.cct, worst.cctOf, len(names)-worst.withCCT)
			if worst.withCCT < 400 {
				t.Errorf("%d spectra have a CCT to compare, want 400 or more", worst.withCCT)
			}
		})
	}
}

// everyNanometre draws straight lines between the samples.
func everyNanometre(l realLight) realLight {
	out := realLight{name: l.name}
	for i := range l.nm[1:] {
		for nm := l.nm[i]; nm < l.nm[i+1]; nm++ {
			out.nm = append(out.nm, nm)
			out.values = append(out.values, l.values[i]+(nm-l.nm[i])/(l.nm[i+1]-l.nm[i])*(l.values[i+1]-l.values[i]))
		}
	}
	last := len(l.nm) - 1
	out.nm, out.values = append(out.nm, l.nm[last]), append(out.values, l.values[last])
	return out
}

// spectrumForSpecplot scales the values to a peak of 1.
func spectrumForSpecplot(s Spectrum) []byte {
	var b bytes.Buffer
	nm, values := s.Wavelengths(), s.Values()
	fmt.Fprintf(&b, "SPECT\n\nORIGINATOR \"test\"\nKEYWORD \"SPECTRAL_BANDS\"\nSPECTRAL_BANDS \"%d\"\n", len(nm))
	fmt.Fprintf(&b, "KEYWORD \"SPECTRAL_START_NM\"\nSPECTRAL_START_NM \"%f\"\nKEYWORD \"SPECTRAL_END_NM\"\nSPECTRAL_END_NM \"%f\"\n",
		nm[0], nm[len(nm)-1])
	b.WriteString("KEYWORD \"SPECTRAL_NORM\"\nSPECTRAL_NORM \"1.0\"\n")
	for _, w := range nm {
		fmt.Fprintf(&b, "KEYWORD \"SPEC_%.0f\"\n", w)
	}
	fmt.Fprintf(&b, "NUMBER_OF_FIELDS %d\nBEGIN_DATA_FORMAT\n", len(nm))
	for _, w := range nm {
		fmt.Fprintf(&b, "SPEC_%.0f ", w)
	}
	b.WriteString("\nEND_DATA_FORMAT\nNUMBER_OF_SETS 1\nBEGIN_DATA\n")
	peak := 0.0
	for _, v := range values {
		peak = max(peak, v)
	}
	for _, v := range values {
		// A number without a point would be a whole number to specplot, which
		// then refuses the file.
		fmt.Fprintf(&b, "%.12f ", v/peak)
	}
	b.WriteString("\nEND_DATA\n")
	return b.Bytes()
}

var (
	specplotXYZ = regexp.MustCompile(`XYZ = ([\d.]+) ([\d.]+) ([\d.]+), x,y = ([\d.]+) ([\d.]+)`)
	specplotCCT = regexp.MustCompile(`\bCCT = ([\d.]+)`)
)

// agreement holds the greatest differences so far, relative.
type agreement struct {
	xyz, cct     float64
	xyzOf, cctOf string
	withCCT      int

	xyzLimit, cctLimit float64
}

func (w *agreement) compare(t *testing.T, name string, s Spectrum, answer string) {
	t.Helper()
	c, err := s.XYZ(Observer1931)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	xy, err := c.XY()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	want := captured(t, specplotXYZ, answer)
	for i, got := range []float64{c.X / c.Y, 1, c.Z / c.Y, xy.X, xy.Y} {
		off := math.Abs(got/want[i] - 1)
		if !(off <= w.xyzLimit) {
			t.Errorf("%s: %s: got %v, specplot says %v, want them within %v", name, [5]string{"X", "Y", "Z", "x", "y"}[i], got, want[i], w.xyzLimit)
		}
		if off > w.xyz {
			w.xyz, w.xyzOf = off, name
		}
	}
	light, err := xy.CCTDuv()
	if errors.Is(err, ErrDomain) {
		return
	} else if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	w.withCCT++
	cct := captured(t, specplotCCT, answer)[0]
	off := math.Abs(float64(light.CCT)/cct - 1)
	if !(off <= w.cctLimit) {
		t.Errorf("%s: CCT: got %v (Duv %v), specplot says %v, want them within %v", name, light.CCT, light.Duv, cct, w.cctLimit)
	}
	if off > w.cct {
		w.cct, w.cctOf = off, name
	}
}

// captured returns the numbers that a pattern finds.
func captured(t *testing.T, pattern *regexp.Regexp, text string) (numbers []float64) {
	t.Helper()
	found := pattern.FindStringSubmatch(text)
	if found == nil {
		t.Fatalf("no %v in %s", pattern, text)
	}
	for _, word := range found[1:] {
		v, err := strconv.ParseFloat(word, 64)
		if err != nil {
			t.Fatal(err)
		}
		numbers = append(numbers, v)
	}
	return numbers
}
