package advice_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

func correctionsOf(s *stage.Stage, clip logbook.ID) advice.ClipCorrections {
	s.T.Helper()
	got, err := advice.Correct(s.Book(), clip, s.Clock)
	if err != nil {
		s.T.Fatal(err)
	}
	return got
}

func TestCorrectionToIntentKeepsACoolNight(t *testing.T) {
	s := stage.New(t)
	s.Minute(3)
	s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":5600,"locus":"blackBody"}`, "appliesFrom", `{"as":"time","at":`+stage.Stamp(3)+`}`, "intendedCast", `{"mired":-54}`)
	s.Minute(5)
	_, _, clip := s.Shoot("4300", "4300") // 1e6/4300 − 1e6/5600 = 54 mired: as intended
	s.Card(s.B, 4300, stage.Day5600, 0, 0, s.Reading, "clip", stage.Ref(clip))
	got := correctionsOf(s, clip)
	if got.Basis != "card" {
		t.Fatalf("got basis %q: %+v", got.Basis, got.Origin)
	}
	stage.Near(t, "to intent, R", got.ToIntent.Gain.R, 1, 0.003)
	stage.Near(t, "to intent, B", got.ToIntent.Gain.B, 1, 0.003)
	if g := got.ToNeutral.Gain; !(g.R > 1.1 && g.B < 0.9) || !got.ToNeutral.LiftsHighlights {
		t.Errorf("to neutral: got %+v, want red up and blue down by more than a tenth, flagged", got.ToNeutral)
	}
}

// TestCorrectionsFromACardAreExactAtItsLevel: code ratio times the card's code is
// equal in R, G and B after a correction to neutral.
func TestCorrectionsFromACardAreExactAtItsLevel(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	_, _, clip := s.Shoot("5600", "4300")
	s.Card(s.B, 4300, stage.Day5600, 6, 0.002, s.Reading, "clip", stage.Ref(clip))
	got := correctionsOf(s, clip)
	n := got.ToNeutral
	codes := []float64{n.Level.R * n.Ratio.R, n.Level.G * n.Ratio.G, n.Level.B * n.Ratio.B}
	if math.Abs(codes[0]-codes[1]) > 1e-4 || math.Abs(codes[2]-codes[1]) > 1e-4 || n.Takes != "codeRatio" {
		t.Errorf("got %v by %+v, want three equal codes", codes, n)
	}
	// There is no intended cast: intent is neutral in the light that was chosen as white.
	stage.Near(t, "to intent", got.ToIntent.Gain.R, n.Gain.R, 0.002)
	if got.White == nil || got.ToNeutral.Gain.R <= 1 {
		t.Errorf("a white of 4300 K in 5600 K light is cool: got %+v", got)
	}
	stage.Near(t, "the white that it had", 1e6 / *got.White.CCTKelvin, 1e6/4300+6, 0.1)
}

func TestCorrectionsWithoutACard(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	_, _, clip := s.Shoot("5600", "4300")
	t.Run("rest on the label and give no factors in primaries that nobody said", func(t *testing.T) {
		got := correctionsOf(s, clip)
		n := got.ToNeutral
		if got.Basis != "label" || got.Origin.Confidence != "label" || n.Takes != "" || n.Gain != nil || n.Ratio != nil ||
			n.Stops != nil || !strings.Contains(got.Words, "label alone") || !strings.Contains(n.Problem, "primaries") || *n.Cast.Mired != -54 {
			t.Errorf("got %+v", got)
		}
		want := "to neutral none: the primaries of the footage are not known; the picture is 54 mired cooler"
		if !strings.Contains(got.Words, want) {
			t.Errorf("got %q, want %q", got.Words, want)
		}
	})
	t.Run("rest on the label and say so", func(t *testing.T) {
		s.Mode("linear", "baked")
		if got := correctionsOf(s, clip); got.Basis != "label" || got.ToNeutral.Takes != "slope" || !strings.Contains(got.Words, "label alone") {
			t.Errorf("got %+v", got)
		}
	})
	t.Run("take an offset in log", func(t *testing.T) {
		s.Mode("acesCct", "baked")
		got := correctionsOf(s, clip).ToNeutral
		// 17.52 stops on the signal of 1 [ACES S-2016-001].
		stage.Near(t, "offset of R", got.Offset.R, got.Stops.R/17.52, 0.00001)
		if got.Takes != "offset" || got.Ratio != nil {
			t.Errorf("got %+v", got)
		}
	})
	t.Run("take no slope in a log whose curve is not known", func(t *testing.T) {
		s.Set(s.BodyB, "recordingModes/main", `{"name":"main","white":"baked","encoding":"log","primaries":"bt2020"}`)
		got := correctionsOf(s, clip)
		n := got.ToNeutral
		// 4300 K in 5600 K light is cool by 54 mired: red up by more than a tenth.
		stage.Near(t, "stops of R", n.Stops.R, math.Log2(n.Gain.R), 0.0001)
		if n.Takes != "stops" || n.Offset != nil || n.Ratio != nil && n.Takes == "codeRatio" || !n.LiftsHighlights {
			t.Errorf("got %+v, want stops", n)
		}
		if !strings.Contains(got.Words, "each times the code of one stop (colours highlights that are clipped)") {
			t.Errorf("got %q", got.Words)
		}
	})
	t.Run("name the kelvin to enter where the white is free", func(t *testing.T) {
		s.Mode("linear", "free")
		got := correctionsOf(s, clip)
		if got.ToIntent.Takes != "kelvin" || *got.ToIntent.Setting.Kelvin != 5600 || !strings.Contains(got.Words, "enter 5600 K") {
			t.Errorf("got %+v, %q", got.ToIntent, got.Words)
		}
	})
	t.Run("use what cards of other shots taught", func(t *testing.T) {
		s.Card(s.B, 4300, stage.Day5600, -36, 0, s.Reading)
		got := correctionsOf(s, clip)
		if got.Basis != "predicted" || got.CameraError == nil || got.CameraError.Mired != -36 {
			t.Fatalf("got %+v", got)
		}
		stage.Near(t, "the white that it had", 1e6 / *got.White.CCTKelvin, 1e6/4300-36, 0.1)
		// What lies nearest to 178.6 + 36 mired on the dials is 4300 K (232.6).
		stage.Near(t, "to enter", *got.ToIntent.Setting.Kelvin, 4300, 0)
	})
}

// What is entered is the aim for the intent, and the light itself for neutral,
// wherever the footage lets the white be changed.
func TestTheWhiteToEnterIsTheAimOrTheLight(t *testing.T) {
	for _, white := range []string{"free", "storedBeside"} {
		s := stage.New(t)
		s.Mode("linear", white)
		s.Minute(3)
		s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":5600,"locus":"blackBody"}`, "appliesFrom", `{"as":"time","at":`+stage.Stamp(3)+`}`, "intendedCast", `{"mired":-54}`)
		s.Minute(5)
		_, _, clip := s.Shoot("4300", "6500")
		got := correctionsOf(s, clip)
		if got.ToIntent.Takes != "kelvin" || got.ToIntent.Setting.Words != "4300 K" ||
			got.ToNeutral.Takes != "kelvin" || got.ToNeutral.Setting.Words != "5600 K" {
			t.Errorf("%s: got %q, want 4300 K for the cool night and 5600 K for neutral", white, got.Words)
		}
	}
	s := stage.New(t)
	s.Mode("linear", "baked")
	s.Minute(5)
	if _, _, clip := s.Shoot("4300", "6500"); correctionsOf(s, clip).ToIntent.Takes != "slope" {
		t.Error("a white that is baked in was to be entered")
	}
}

// A card in the clip itself speaks for it alone; another shot on the same setting is predicted
// from all cards.
func TestTheCardInTheClipSpeaksForIt(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	_, _, clip := s.Shoot("5600", "4300")
	own := s.Card(s.B, 4300, stage.Day5600, 6, 0, s.Reading, "clip", stage.Ref(clip))
	s.Minute(8)
	_, _, other := s.Shoot("5600", "4300")
	newer := s.Card(s.B, 4300, stage.Day5600, 2, 0, s.Reading)
	for _, c := range []struct {
		clip  logbook.ID
		basis string
		by    []logbook.ID
		mired float64
	}{{clip, "card", []logbook.ID{own}, 6}, {other, "predicted", []logbook.ID{own, newer}, 4}} {
		got := correctionsOf(s, c.clip)
		if got.Basis != c.basis || !slices.Equal(got.Origin.Records, c.by) || got.CameraError == nil ||
			!slices.Equal(got.CameraError.Samples, c.by) {
			t.Errorf("got basis %q by %v, want %q by %v", got.Basis, got.Origin.Records, c.basis, c.by)
			continue
		}
		stage.Near(t, "mired", float64(got.CameraError.Cast.Mired), c.mired, 0.1)
		stage.Near(t, "the white that it had", 1e6 / *got.White.CCTKelvin, 1e6/4300+c.mired, 0.1)
		if taken := slices.ContainsFunc(got.Origin.Caveats, func(w string) bool {
			return strings.Contains(w, "encoding was taken from a card")
		}); taken != (c.clip == other) {
			t.Errorf("basis %q: got caveats %q; only the clip without a card takes its encoding from one", got.Basis, got.Origin.Caveats)
		}
	}
}

// A card that was lit by something else than what the set-up is lit by brings itself to
// neutral, and says so; its white is not that of the clip where the light was too far off.
func TestACardInOtherLightSaysSo(t *testing.T) {
	s := stage.New(t)
	bulb := s.Light("bulb", "practical")
	s.Minute(5)
	_, _, clip := s.Shoot("5600", "5600")
	reading := s.Read(bulb, stage.CctDuv(5000, 0))
	light := colorimetry.CCTDuv{CCT: 5000}
	s.Card(s.B, 5600, light, 0, 0, reading, "clip", stage.Ref(clip))
	got := correctionsOf(s, clip)
	stage.Near(t, "the light of the clip", *got.Light.CCTKelvin, 5600, 0)
	n := got.ToNeutral
	stage.Near(t, "red after it", n.Level.R*n.Ratio.R, n.Level.G*n.Ratio.G, 1e-4)
	stage.Near(t, "blue after it", n.Level.B*n.Ratio.B, n.Level.G*n.Ratio.G, 1e-4)
	stage.Near(t, "to intent", got.ToIntent.Gain.R, 1, 0.002) // the camera is as it is to be
	if words := stage.CaveatsOf(got.Origin); !strings.Contains(words, "the light on the card is 21 mired warmer than that of the clip") {
		t.Errorf("got %q", words)
	}
}

func TestCorrectionsThatCannotBeGiven(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	auto := s.Clip(s.B, s.Take(), "5600", "whiteMode", `"auto"`)
	empty := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"C"`)
	dark := s.Add(kinds.Clip, "setUp", stage.Ref(empty), "camera", stage.Ref(s.A), "body", stage.Ref(s.BodyA), "whiteMode", `"kelvin"`, "kelvin", "5600")
	for name, id := range map[string]logbook.ID{"automatic white": auto, "no light": dark} {
		if got, err := advice.Correct(s.Book(), id, s.Clock); !errors.Is(err, figure.ErrUnknown) {
			t.Errorf("%s: got %+v, %v, want ErrUnknown", name, got, err)
		}
	}
	if _, err := advice.Correct(s.Book(), s.Key, s.Clock); !errors.Is(err, logbook.ErrNoRecord) {
		t.Errorf("no clip: got %v, want ErrNoRecord", err)
	}
	var zero colorimetry.Encoding
	if got := cameras.Correct(zero, [3]float64{}, colorimetry.D65, "neutral"); got.Problem == "" || got.Gain != nil {
		t.Errorf("no encoding: got %+v, want a problem", got)
	}
}

// A clip without a card is predicted by the cards whose light was near to its own.
func TestAPredictionCountsCardsByTheirLight(t *testing.T) {
	s := stage.New(t)
	s.Mode("bt1886", "baked")
	far := s.Read(s.Key, stage.CctDuv(4300, 0))
	s.Minute(5)
	s.Card(s.B, 5600, colorimetry.CCTDuv{CCT: 4300}, 20, 0, far)
	near5600 := s.Read(s.Key, stage.OnLocus5600, "illuminance", `{"value":800,"unit":"lux"}`)
	s.Card(s.B, 5600, stage.Day5600, 0, 0, near5600)
	s.Minute(8)
	_, _, clip := s.Shoot("5600", "6500")
	got := correctionsOf(s, clip)
	if got.Basis != "predicted" || got.CameraError == nil || len(got.CameraError.Samples) != 2 {
		t.Fatalf("got basis %q, %+v, want it predicted by two cards", got.Basis, got.CameraError)
	}
	// The clip's setting is 24.7 mired from both cards', its light 54 from the first's:
	// weights of 1/(1 + 5.4²) and 1/(1 + 2.47²), and 20 mired become 3.8.
	stage.Near(t, "mired", float64(got.CameraError.Cast.Mired), 3.8, 0.1)
}
