package cameras

import (
	"errors"
	"strings"
	"testing"

	"evenwhite/colorimetry"
)

// stillOf is what a patch of 32 by 32 pixels says, 8 bits, full range.
func stillOf(t *testing.T, at func(x, y int) [3]float64) (StillReading, error) {
	t.Helper()
	p, err := NewStillPatch(StillQuery{Encoding: "sRGB", Primaries: "bt709", Range: "full", Bits: 8, Width: 32, Height: 32})
	if err != nil {
		t.Fatal(err)
	}
	for i := range 32 * 32 {
		if err := p.Add(i%32, i/32, at(i%32, i/32)); err != nil {
			t.Fatal(err)
		}
	}
	return p.Reading()
}

func TestAStillSaysWhatMakesItWorthLess(t *testing.T) {
	grey := func(v float64) [3]float64 { return [3]float64{v, v, v} }
	for _, c := range []struct {
		name string
		at   func(x, y int) [3]float64
		says string // "" for none
	}{
		{"an even grey", func(int, int) [3]float64 { return grey(120) }, ""},
		{"a little noise", func(x, y int) [3]float64 { return grey(118 + float64((x+y)%2*4)) }, ""},
		// 40 codes of 255 either way are a deviation of 8 %.
		{"much noise", func(x, y int) [3]float64 { return grey(100 + float64((x+y)%2*40)) }, "the pixels spread by"},
		{"a shadow", func(x, _ int) [3]float64 { return grey(110 + float64(x/16*20)) }, "unevenly lit"},
		{"another light from the side", func(x, _ int) [3]float64 { return [3]float64{124 - float64(x/16*8), 120, 116 + float64(x/16*8)} }, "the colour is uneven"},
		{"a few clipped pixels", func(x, y int) [3]float64 {
			if x == 3 && y < 5 {
				return grey(255)
			}
			return grey(120)
		}, "is clipped"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := stillOf(t, c.at)
			if err != nil {
				t.Fatal(err)
			}
			if words := strings.Join(got.Warnings, "; "); !strings.Contains(words, c.says) || (c.says == "") != (len(got.Warnings) == 0) {
				t.Errorf("got %q, want %q", words, c.says)
			}
		})
	}
}

func TestAStillIsRefusedWithItsReason(t *testing.T) {
	for _, c := range []struct {
		name string
		code [3]float64
		want error
		says string
	}{
		{"clipped", [3]float64{254, 200, 200}, colorimetry.ErrClipped, "at most 0.01"},
		{"too dark", [3]float64{9, 9, 9}, colorimetry.ErrExposure, "5 to 90 %"},
		{"green paint", [3]float64{60, 160, 60}, colorimetry.ErrNotNeutral, "not near neutral"},
		{"blue paint", [3]float64{60, 70, 200}, colorimetry.ErrNotNeutral, "not near neutral"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := stillOf(t, func(int, int) [3]float64 { return c.code })
			if !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %+v, %v, want %v that says %q", got.Sample, err, c.want, c.says)
			}
		})
	}
}
