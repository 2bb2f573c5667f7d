package colorimetry

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/logbook/needed"
)

// cdlFile is a correction as an ASC CDL file. Scene-linear footage takes slopes, a
// log encoding takes offsets; the power is 1 and the saturation stays [ASCCDL].
func cdlFile(e Encoding, c Correction) []byte {
	slope, offset := c.Gain, [3]float64{}
	if e.Transfer == TransferACEScct {
		slope, offset = [3]float64{1, 1, 1}, c.Offset
	}
	words := func(v [3]float64) string { return fmt.Sprintf("%.12f %.12f %.12f", v[0], v[1], v[2]) }
	return []byte(`<?xml version="1.0" encoding="UTF-8"?>
<ColorDecisionList xmlns="urn:ASC:CDL:v1.01">
<ColorDecision><ColorCorrection id="card"><SOPNode>
<Slope>` + words(slope) + `</Slope><Offset>` + words(offset) + `</Offset><Power>1 1 1</Power>
</SOPNode></ColorCorrection></ColorDecision></ColorDecisionList>
`)
}

// What post would do with a correction, done by a program that post uses: the
// footage must land where the correction says. OpenColorIO computes in 32 bits.
func TestCorrectionsAppliedByAnIndependentReaderOfCDL(t *testing.T) {
	const tolerance, seed = 1e-6, 5
	// Debian's own Python: its packages are not seen by any other.
	python := needed.Tool(t, "/usr/bin/python3")
	if exec.Command(python, "-c", "import PyOpenColorIO").Run() != nil {
		needed.Missing(t, "the Debian package python3-pyopencolorio")
	}
	r := rand.New(rand.NewPCG(seed, 0))
	for _, e := range []Encoding{{TransferLinear, 0, BT709}, {TransferLinear, 0, ACES1}, {TransferACEScct, 0, ACES1}} {
		for range 4 {
			card := [3]float64{0.4 + 0.1*r.Float64(), 0.4 + 0.1*r.Float64(), 0.4 + 0.1*r.Float64()}
			target, err := CCTDuv{Kelvin(5500 + 2000*r.Float64()), Duv(0.01*r.Float64() - 0.005)}.XY()
			if err != nil {
				t.Fatal(err)
			}
			c, err := e.Correct(card, target)
			if err != nil {
				t.Fatal(err)
			}
			path := filepath.Join(t.TempDir(), "card.cdl")
			if err := os.WriteFile(path, cdlFile(e, c), 0o644); err != nil {
				t.Fatal(err)
			}
			pixels := [][3]float64{card, {0.3, 0.5, 0.7}, {0.9, 0.25, 0.2}}
			var lines bytes.Buffer
			for _, p := range pixels {
				fmt.Fprintln(&lines, p[0], p[1], p[2])
			}
			answers := strings.Fields(string(output(t, lines.Bytes(), python, "../testdata/opencolorio/apply.py", path)))
			if len(answers) != 3*len(pixels) {
				t.Fatalf("got %d numbers for %d pixels: %q", len(answers), len(pixels), answers)
			}
			for i, word := range answers {
				var got float64
				if _, err := fmt.Sscan(word, &got); err != nil {
					t.Fatal(err)
				}
				want := correctedSignal(t, e, c, pixels[i/3][i%3], i%3)
				if !within(got, want, tolerance) {
					t.Errorf("seed %d, %v, pixel %v, channel %d: OpenColorIO makes %v, want %v", seed, e.Transfer, pixels[i/3], i%3, got, want)
				}
			}
			landsOn(t, e, answers[:3], target)
		}
	}
}

// correctedSignal is the linear value times the gain, encoded again.
func correctedSignal(t *testing.T, e Encoding, c Correction, signal float64, channel int) float64 {
	t.Helper()
	linear, err := e.Decode(signal)
	if err != nil {
		t.Fatal(err)
	}
	out, err := e.Encode(linear * c.Gain[channel])
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// landsOn demands that the card, as OpenColorIO left it, shows the target.
func landsOn(t *testing.T, e Encoding, words []string, target XY) {
	t.Helper()
	var signal [3]float64
	for i, word := range words {
		if _, err := fmt.Sscan(word, &signal[i]); err != nil {
			t.Fatal(err)
		}
	}
	xy, err := e.Chromaticity(signal)
	if err != nil {
		t.Fatal(err)
	}
	got, err := CAT16.Adapt(xy.XYZ(1), e.Primaries.White, D65)
	if err != nil {
		t.Fatal(err)
	}
	if shown, err := got.XY(); err != nil || !within(shown.X, target.X, 2e-6) || !within(shown.Y, target.Y, 2e-6) {
		t.Errorf("%v: the card shows %v (%v), want the target %v", e.Transfer, shown, err, target)
	}
}
