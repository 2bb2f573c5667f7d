package colour

import (
	"errors"
	"fmt"
	"io"
	"os"

	"evenwhite/colorimetry"
	"evenwhite/colorimetry/spectrumfile"
	"evenwhite/logbook/figure"
	"evenwhite/server/command"
)

// No instrument is better than half a unit of the fourth decimal of x y, whatever
// digits its file has.
const spectrumHalf = 0.5e-4

// tungstenKelvin is tungsten: common practice, no source.
const tungstenKelvin = 3200

// blackBodyBelow is where the reference changes from black body to daylight if
// none is named: from memory.
const blackBodyBelow = 4000

func readSpectrum(path string) (colorimetry.Spectrum, spectrumfile.Format, error) {
	data, err := readAtMost(path, spectrumfile.MaxBytes+1)
	if err != nil {
		return colorimetry.Spectrum{}, "", command.Fail(err, "FILE is looked for from the folder in which the command runs")
	}
	s, format, err := spectrumfile.Parse(data)
	if err != nil {
		return colorimetry.Spectrum{}, "", fmt.Errorf("%s: %w", path, err)
	}
	return s, format, nil
}

func readAtMost(path string, most int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	data, err := io.ReadAll(io.LimitReader(f, most))
	return data, errors.Join(err, f.Close())
}

// spectrumLight is the light of a spectrum with what its x y carry.
func spectrumLight(xy colorimetry.XY) ([]estimate, error) {
	return carried([]number{{xy.X, spectrumHalf}, {xy.Y, spectrumHalf}}, func(v []float64) ([]float64, error) {
		l, err := colorimetry.XY{X: v[0], Y: v[1]}.CCTDuv()
		return light(l), err
	})
}

func askSpectrum(a asked) (answer, error) {
	s, format, err := readSpectrum(a.words[0])
	if err != nil {
		return answer{}, err
	}
	xyz, err := s.XYZ(colorimetry.Observer1931)
	if err != nil {
		return answer{}, err
	}
	xy, err := xyz.XY()
	if err != nil {
		return answer{}, err
	}
	members := map[string]any{"cctKelvin": nil, "duv": nil, "mired": nil}
	shown := "coloured, no CCT"
	if e, err := spectrumLight(xy); err == nil {
		members, shown = lightMembers(e), lightText(e)
	} else if !errors.Is(err, colorimetry.ErrDomain) {
		return answer{}, err
	}
	members["format"], members["x"], members["y"] = format, xy.X, xy.Y
	members["tristimulus"] = map[string]any{"X": xyz.X, "Y": xyz.Y, "Z": xyz.Z, "unit": "the file's unit times nm"}
	return answer{fmt.Sprintf("X %.4g, Y %.4g, Z %.4g (the file's unit times nm; %s)\nx %.4f, y %.4f\n%s",
		xyz.X, xyz.Y, xyz.Z, format, xy.X, xy.Y, shown), members}, nil
}

func askSSI(a asked) (answer, error) {
	s, _, err := readSpectrum(a.words[0])
	if err != nil {
		return answer{}, err
	}
	wanted := ""
	if len(a.words) == 2 {
		wanted = a.words[1]
	}
	r, err := referenceFor(s, wanted)
	if err != nil {
		return answer{}, err
	}
	ssi, err := colorimetry.SSIUnrounded(s, r.spectrum)
	if err != nil {
		return answer{}, err
	}
	members := map[string]any{"ssi": figure.RoundTo(ssi, 2), "reference": r.name, "referenceKelvin": nil}
	if r.kelvin > 0 {
		members["referenceKelvin"] = float64(r.kelvin)
	}
	text := fmt.Sprintf("SSI %.0f against %s", ssi, r.words)
	if s.Extended() || r.spectrum.Extended() {
		members["note"] = colorimetry.ExtendedWords
		text += "\nNote: " + colorimetry.ExtendedWords + "."
	}
	return answer{text, members}, nil
}

// A reference is what SSI compares with; a file has no kelvin.
type reference struct {
	name, words string
	kelvin      colorimetry.Kelvin
	spectrum    colorimetry.Spectrum
}

func referenceFor(s colorimetry.Spectrum, wanted string) (reference, error) {
	switch wanted {
	case "tungsten":
		planck, err := colorimetry.PlanckianSpectrum(tungstenKelvin)
		return reference{wanted, fmt.Sprintf("tungsten, %d K", tungstenKelvin), tungstenKelvin, planck}, err
	case "", "daylight", "blackbody":
		return referenceOfCCT(s, wanted)
	}
	other, _, err := readSpectrum(wanted)
	return reference{wanted, wanted, 0, other}, err
}

// referenceOfCCT is daylight or a black body of the light's own CCT.
func referenceOfCCT(s colorimetry.Spectrum, wanted string) (reference, error) {
	xy, err := s.XY()
	if err != nil {
		return reference{}, err
	}
	e, err := spectrumLight(xy)
	if err != nil {
		return reference{}, fmt.Errorf("a reference of the same CCT: %w", err)
	}
	k := colorimetry.Kelvin(e[0].value)
	if wanted == "" {
		if wanted = "daylight"; k < blackBodyBelow {
			wanted = "blackbody"
		}
	}
	kelvin := e[0].plain(kelvinDecimals)
	if wanted == "blackbody" {
		planck, err := colorimetry.PlanckianSpectrum(k)
		return reference{wanted, "a black body of " + kelvin + " K", k, planck}, err
	}
	day, err := colorimetry.DaylightSpectrum(k)
	return reference{wanted, "daylight of " + kelvin + " K", k, day}, err
}
