package cameras_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/stage"
)

// typedRGB is the value of rgb for a picture of a light on a white, as codes of so many
// bits, or as percent with three decimals where bits is 0.
func typedRGB(
	s *stage.Stage, light, white colorimetry.CCTDuv, encoding, primaries string, gamma float64, bits int, codeRange string,
) string {
	s.T.Helper()
	e, _, err := cameras.NamedEncoding(encoding, primaries, gamma)
	if err != nil {
		s.T.Fatal(err)
	}
	l, err := light.XY()
	if err != nil {
		s.T.Fatal(err)
	}
	w, err := white.XY()
	if err != nil {
		s.T.Fatal(err)
	}
	picture, err := cameras.PictureXY(l, w)
	if err != nil {
		s.T.Fatal(err)
	}
	level := 0.18
	if encoding == "pq" {
		level = 0.003
	}
	grey, err := e.Encode(level)
	if err != nil {
		s.T.Fatal(err)
	}
	c, err := e.Correct([3]float64{grey, grey, grey}, picture)
	if err != nil {
		s.T.Fatal(err)
	}
	rest := fmt.Sprintf(`"encoding":%q,"primaries":%q`, encoding, primaries)
	if gamma != 0 {
		rest += fmt.Sprintf(`,"gamma":%g`, gamma)
	}
	signal := [3]float64{grey * c.Ratio[0], grey * c.Ratio[1], grey * c.Ratio[2]}
	if bits == 0 {
		return fmt.Sprintf(`{"as":"percent","r":%.3f,"g":%.3f,"b":%.3f,%s}`, 100*signal[0], 100*signal[1], 100*signal[2], rest)
	}
	codes := colorimetry.CodeRange{Bits: bits, Narrow: codeRange == "narrow"}
	for i, v := range signal {
		if signal[i], err = codes.Code(v); err != nil {
			s.T.Fatal(err)
		}
	}
	return fmt.Sprintf(`{"as":"codeValues","r":%.0f,"g":%.0f,"b":%.0f,"bits":%d,"range":%q,%s}`, signal[0], signal[1], signal[2], bits, codeRange, rest)
}

func TestSamplesInEveryEncodingSayTheSame(t *testing.T) {
	s := stage.New(t)
	white := stage.Shift(stage.Day5600, 12, -0.004)
	ids := map[logbook.ID]string{}
	for _, encoding := range []string{"sRGB", "bt1886", "linear", "pq", "hlg", "acesCct", "power"} {
		gamma := 0.0
		if encoding == "power" {
			gamma = 2.6
		}
		for _, primaries := range []string{"bt709", "bt2020", "p3D65", "acesAp0", "acesAp1"} {
			for _, as := range []struct {
				bits      int
				codeRange string
			}{{0, ""}, {10, "full"}, {10, "narrow"}, {12, "narrow"}, {16, "full"}} {
				rgb := typedRGB(s, stage.Day5600, white, encoding, primaries, gamma, as.bits, as.codeRange)
				ids[s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, "rgb", rgb)] = rgb
			}
		}
	}
	b := s.Book()
	for id, rgb := range ids {
		got, err := cameras.ColorOfSample(b, id, s.Clock)
		if err != nil || got.Problem != "" {
			t.Fatalf("%s: got %q, %v", rgb, got.Problem, err)
		}
		// What is shown is rounded to the digits that its spread leaves.
		spread := *got.Uncertainty.Mired
		if off := math.Abs(*got.Error.Mired - 12); off > 2*spread+0.5 {
			t.Errorf("%s: got %v mired ± %v, want 12", rgb, *got.Error.Mired, spread)
		}
		if off := math.Abs(*got.Error.Duv + 0.004); off > 2*(*got.Uncertainty.Duv)+0.0001 {
			t.Errorf("%s: got Duv %v ± %v, want -0.004", rgb, *got.Error.Duv, *got.Uncertainty.Duv)
		}
		fine := strings.Contains(rgb, "percent") || strings.Contains(rgb, `"bits":16`)
		if fine && !(spread <= 0.1) {
			t.Errorf("%s: a spread of %v mired, want 0.1 or less", rgb, spread)
		}
	}
}

func TestAPowerWithoutItsGammaIsNoEncoding(t *testing.T) {
	s := stage.New(t)
	id := s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, "rgb", `{"as":"percent","r":42,"g":42,"b":42,"encoding":"power","primaries":"bt709"}`)
	got, err := cameras.ColorOfSample(s.Book(), id, s.Clock)
	if err != nil || !strings.Contains(got.Problem, "gamma is missing") || got.White != nil {
		t.Errorf("got %+v, %v; want a problem that names gamma", got, err)
	}
}

func TestPatchesOfAStillKeepTheFormOfASample(t *testing.T) {
	asked := cameras.StillQuery{Encoding: "power", Gamma: 2.2, Primaries: "bt709", Range: "narrow", Bits: 8, Width: 16, Height: 16}
	p, err := cameras.NewStillPatch(asked)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 256 {
		if err := p.Add(i%16, i/16, [3]float64{120, 118, float64(110 + i%2)}); err != nil {
			t.Fatal(err)
		}
	}
	got, err := p.Reading()
	if err != nil {
		t.Fatal(err)
	}
	want := cameras.StillRGB{As: "codeValues", R: 120, G: 118, B: 110.5, Bits: 8, Range: "narrow",
		Encoding: "power", Gamma: 2.2, Primaries: "bt709"}
	if got.Sample.RGB != want || got.Sample.AreaPixels != 256 || got.SpreadOfMean != (figure.RGB{R: 0.5, G: 0.5, B: 0.5}) ||
		got.Noise.B < 0.4 || got.Noise.R != 0 {
		t.Errorf("got %+v, want %+v", got, want)
	}
	// Half a code of 8 bits in narrow range is some mired: the kelvin is shown in tens.
	if k := *got.Picture.CCTKelvin; math.Mod(k, 10) != 0 || got.Picture.FloorMired == nil || *got.Picture.FloorMired < 1 {
		t.Errorf("got %+v, want kelvin in tens and a floor above 1 mired", got.Picture)
	}
	for name, asked := range map[string]cameras.StillQuery{
		"a curve that is not published": {Encoding: "log", Primaries: "bt709", Range: "full", Bits: 8, Width: 16, Height: 16},
		"primaries of the maker":        {Encoding: "sRGB", Primaries: "camera", Range: "full", Bits: 8, Width: 16, Height: 16},
		"no gamma":                      {Encoding: "power", Primaries: "bt709", Range: "full", Bits: 8, Width: 16, Height: 16},
		"a gamma of 9":                  {Encoding: "power", Gamma: 9, Primaries: "bt709", Range: "full", Bits: 8, Width: 16, Height: 16},
	} {
		if _, err := cameras.NewStillPatch(asked); err == nil {
			t.Errorf("%s: got no error", name)
		}
	}
}
