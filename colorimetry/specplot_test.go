package colorimetry

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
	"time"
)

// The program specplot (Debian package argyll) computes X Y Z, x y and CCT of a
// spectrum with code and tables of its own.
func TestSpectraAgreeWithAnIndependentProgram(t *testing.T) {
	program, err := exec.LookPath("specplot")
	if err != nil {
		t.Skip("SKIPPED, NOT CHECKED: the program specplot is not here (Debian package argyll)")
	}
	names, spectra := checkSpectra(t)
	folder := t.TempDir()
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			s := spectra[name]
			path := filepath.Join(folder, name+".sp")
			if err := os.WriteFile(path, spectrumForSpecplot(s), 0o644); err != nil {
				t.Fatal(err)
			}
			ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
			defer cancel()
			out, err := exec.CommandContext(ctx, program, "-v", "-s", path).CombinedOutput()
			if err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			compareWithSpecplot(t, s, string(out))
		})
	}
}

func spectrumForSpecplot(s Spectrum) []byte {
	var b bytes.Buffer
	nm, values := s.Wavelengths(), s.Values()
	fmt.Fprintf(&b, "SPECT\n\nORIGINATOR \"test\"\nKEYWORD \"SPECTRAL_BANDS\"\nSPECTRAL_BANDS \"%d\"\n", len(nm))
	fmt.Fprintf(&b, "KEYWORD \"SPECTRAL_START_NM\"\nSPECTRAL_START_NM \"%f\"\nKEYWORD \"SPECTRAL_END_NM\"\nSPECTRAL_END_NM \"%f\"\n", nm[0], nm[len(nm)-1])
	b.WriteString("KEYWORD \"SPECTRAL_NORM\"\nSPECTRAL_NORM \"1.0\"\n")
	for _, w := range nm {
		fmt.Fprintf(&b, "KEYWORD \"SPEC_%.0f\"\n", w)
	}
	fmt.Fprintf(&b, "NUMBER_OF_FIELDS %d\nBEGIN_DATA_FORMAT\n", len(nm))
	for _, w := range nm {
		fmt.Fprintf(&b, "SPEC_%.0f ", w)
	}
	b.WriteString("\nEND_DATA_FORMAT\nNUMBER_OF_SETS 1\nBEGIN_DATA\n")
	for _, v := range values {
		// A number without a point would be a whole number to specplot, which
		// then refuses the file.
		fmt.Fprintf(&b, "%.9f ", v)
	}
	b.WriteString("\nEND_DATA\n")
	return b.Bytes()
}

var (
	specplotXYZ = regexp.MustCompile(`XYZ = ([\d.]+) ([\d.]+) ([\d.]+), x,y = ([\d.]+) ([\d.]+)`)
	specplotCCT = regexp.MustCompile(`\bCCT = ([\d.]+)`)
)

func compareWithSpecplot(t *testing.T, s Spectrum, out string) {
	t.Helper()
	c, err := s.XYZ(Observer1931)
	if err != nil {
		t.Fatal(err)
	}
	xy, err := c.XY()
	if err != nil {
		t.Fatal(err)
	}
	found := specplotXYZ.FindStringSubmatch(out)
	if found == nil {
		t.Fatalf("no XYZ in %s", out)
	}
	for i, got := range []float64{c.X / c.Y, 1, c.Z / c.Y, xy.X, xy.Y} {
		want, err := strconv.ParseFloat(found[i+1], 64)
		if err != nil {
			t.Fatal(err)
		}
		if !within(got/want, 1, 0.002) {
			t.Errorf("%s: got %v, specplot says %v, want them within 0.2 %%", [5]string{"X", "Y", "Z", "x", "y"}[i], got, want)
		}
	}
	light, err := xy.CCTDuv()
	if errors.Is(err, ErrDomain) {
		t.Logf("no CCT to compare: %v", err)
		return
	} else if err != nil {
		t.Fatal(err)
	}
	found = specplotCCT.FindStringSubmatch(out)
	if found == nil {
		t.Fatalf("no CCT in %s", out)
	}
	want, err := strconv.ParseFloat(found[1], 64)
	if err != nil {
		t.Fatal(err)
	}
	if off := math.Abs(float64(light.CCT)/want - 1); !(off <= 0.002) {
		t.Errorf("CCT: got %v, specplot says %v, want them within 0.2 %%", light.CCT, want)
	}
}
