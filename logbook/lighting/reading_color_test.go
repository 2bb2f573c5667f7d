package lighting_test

import (
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/stage"
)

// spectrumJSON is a spectrum as a reading stores it.
func spectrumJSON(t *testing.T, s colorimetry.Spectrum) string {
	t.Helper()
	data, err := json.Marshal(lighting.MeasuredSpectrum{As: "spectrum", WavelengthsNm: s.Wavelengths(), Values: s.Values()})
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func spectrumOfKelvin(t *testing.T, of func(colorimetry.Kelvin) (colorimetry.Spectrum, error), k colorimetry.Kelvin) colorimetry.Spectrum {
	t.Helper()
	s, err := of(k)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// A light is 100 like its own reference, and less like the others.
func TestEachReferenceIsTheLightThatItIsCalledAfter(t *testing.T) {
	black, day := colorimetry.PlanckianSpectrum, colorimetry.DaylightSpectrum
	for _, c := range []struct {
		name    string
		light   colorimetry.Spectrum
		hundred string // the references that it is
		words   string
	}{
		{"tungsten", spectrumOfKelvin(t, black, 3200), "tungsten blackBody", "tungsten, a black body of 3200 K"},
		{"a black body of 3000 K", spectrumOfKelvin(t, black, 3000), "blackBody", "a black body of 3000 K"},
		{"a black body of 5600 K", spectrumOfKelvin(t, black, 5600), "blackBody", "a black body of 5600 K"},
		{"daylight of 5600 K", spectrumOfKelvin(t, day, 5600), "daylight", "daylight of 5599 K"}, // its CCT,
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			reading := s.Read(s.Key, spectrumJSON(t, c.light))
			got, err := lighting.ColorOfReading(s.Book(), reading, lighting.SpectralReference{})
			if err != nil {
				t.Fatal(err)
			}
			var hundred, words []string
			for _, one := range got.Similarity {
				words = append(words, one.Words)
				switch {
				case one.SSI == nil && !(one.Reference == "daylight" && strings.Contains(one.Problem, "no daylight of 3")):
					t.Errorf("%s: %s", one.Reference, one.Problem)
				case one.SSI != nil && *one.SSI == 100:
					hundred = append(hundred, one.Reference)
				}
			}
			if strings.Join(hundred, " ") != c.hundred || !strings.Contains(strings.Join(words, "; "), c.words) {
				t.Errorf("100 against %v of %q, want %s and %q", hundred, words, c.hundred, c.words)
			}
			for _, one := range got.Similarity {
				alone, err := lighting.ColorOfReading(s.Book(), reading, lighting.SpectralReference{Name: one.Reference})
				if err != nil || len(alone.Similarity) != 1 || !reflect.DeepEqual(alone.Similarity[0], one) {
					t.Errorf("%s asked for alone: got %+v, %v, want %+v", one.Reference, alone.Similarity, err, one)
				}
			}
		})
	}
}

// An index says beside the number what it assumes of a spectrum that starts above 375 nm: of
// the light as of the reference. It has two decimals.
func TestAnIndexSaysThatASpectrumWasTakenDown(t *testing.T) {
	s := stage.New(t)
	lamp := spectrumOfKelvin(t, colorimetry.PlanckianSpectrum, 3200)
	at := slices.Index(lamp.Wavelengths(), 380)
	short, err := colorimetry.NewSpectrum(lamp.Wavelengths()[at:], lamp.Values()[at:])
	if err != nil {
		t.Fatal(err)
	}
	whole, cut := s.Read(s.Key, spectrumJSON(t, lamp)), s.Read(s.Light("window", "fill"), spectrumJSON(t, short))
	for _, c := range []struct {
		of, against logbook.ID
		noted       bool
	}{{whole, whole, false}, {cut, whole, true}, {whole, cut, true}} {
		got, err := lighting.ColorOfReading(s.Book(), c.of, lighting.SpectralReference{Name: "reading", Reading: c.against})
		if err != nil || len(got.Similarity) != 1 || got.Similarity[0].SSI == nil {
			t.Fatalf("got %+v, %v", got.Similarity, err)
		}
		one := got.Similarity[0]
		if (one.Note == colorimetry.ExtendedWords) != c.noted || figure.RoundTo(*one.SSI, 2) != *one.SSI {
			t.Errorf("got %v and the note %q, want one: %v", *one.SSI, one.Note, c.noted)
		}
	}
}

// Another reading is named as people name it, by what was measured.
func TestAnotherReadingAsReferenceIsNamedByItsLight(t *testing.T) {
	s := stage.New(t)
	lamp := spectrumOfKelvin(t, colorimetry.PlanckianSpectrum, 3200)
	one := s.Read(s.Key, spectrumJSON(t, lamp))
	other := s.Read(s.Light("window", "fill"), spectrumJSON(t, spectrumOfKelvin(t, colorimetry.DaylightSpectrum, 6500)))
	for _, c := range []struct {
		of, against logbook.ID
		words       string
		same        bool
	}{
		{one, one, "the reading of panel left", true},
		{one, other, "the reading of window", false},
		{other, one, "the reading of panel left", false},
	} {
		got, err := lighting.ColorOfReading(s.Book(), c.of, lighting.SpectralReference{Name: "reading", Reading: c.against})
		if err != nil || len(got.Similarity) != 1 {
			t.Fatalf("got %+v, %v", got.Similarity, err)
		}
		if one := got.Similarity[0]; one.Words != c.words || one.Reading != c.against || one.SSI == nil || (*one.SSI == 100) != c.same {
			t.Errorf("got %+v, want %q, 100: %v", one, c.words, c.same)
		}
	}
}

// Whatever the instrument says of itself is shown as it said it, whatever its own
// spectrum says.
func TestWhatAnInstrumentReportsIsShownAsReported(t *testing.T) {
	s := stage.New(t)
	light := spectrumOfKelvin(t, colorimetry.PlanckianSpectrum, 3200) // an Ra and SSI of 100
	reading := s.Read(s.Key, spectrumJSON(t, light), "reported", `{"ra":81.5,"r9":-12,"rf":78.25,"rg":103,"tlci":64,"ssi":55,"flickerPercent":2.5}`)
	got, err := lighting.ColorOfReading(s.Book(), reading, lighting.SpectralReference{})
	if err != nil {
		t.Fatal(err)
	}
	shown, err := json.Marshal(got.Reported)
	if err != nil {
		t.Fatal(err)
	}
	if want := `{"ra":81.5,"r9":-12,"rf":78.25,"rg":103,"tlci":64,"ssi":55,"flickerPercent":2.5}`; string(shown) != want {
		t.Errorf("got %s, want %s", shown, want)
	}
	other := s.Read(s.Key, stage.OnLocus3200, "reported", `{"tlci":97}`)
	some, err := lighting.ColorOfReading(s.Book(), other, lighting.SpectralReference{})
	if err != nil || some.Reported == nil || some.Reported.Ra != nil || some.Reported.TLCI == nil || *some.Reported.TLCI != 97 {
		t.Errorf("one figure alone: got %+v, %v, want a TLCI of 97", some.Reported, err)
	}
}

// A spectrometer that reads from ultraviolet to infrared at every nanometre gives more
// than a reading stores: what the observer sees is kept, and the colour with it.
func TestALongSpectrumIsCutToWhatTheObserverSees(t *testing.T) {
	spectrum := func(from, to int) colorimetry.Spectrum {
		var nm, values []float64
		for w := from; w <= to; w++ {
			nm, values = append(nm, float64(w)), append(values, float64(1000+w))
		}
		s, err := colorimetry.NewSpectrum(nm, values)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	long, err := lighting.ReadSpectrum(spectrum(200, 2500), "CSV")
	if err != nil {
		t.Fatal(err)
	}
	nm := long.Measured.WavelengthsNm
	if len(nm) != 471 || nm[0] != 360 || nm[470] != 830 || long.Measured.Values[0] != 1360 || len(long.Caveats) != 1 {
		t.Errorf("got %d wavelengths from %v to %v, %q", len(nm), nm[0], nm[len(nm)-1], long.Caveats)
	}
	short, err := lighting.ReadSpectrum(spectrum(300, 1100), "CSV")
	if err != nil || len(short.Measured.WavelengthsNm) != 801 || len(short.Caveats) != 0 {
		t.Fatalf("801 wavelengths: got %d, %q, %v, want all of them", len(short.Measured.WavelengthsNm), short.Caveats, err)
	}
	if !reflect.DeepEqual(long.Color, short.Color) || long.XYZ != short.XYZ {
		t.Errorf("got %+v, %+v; want the colour that the shorter one has: %+v", long.Color, long.XYZ, short.Color)
	}
}
