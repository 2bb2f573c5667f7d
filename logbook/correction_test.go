package logbook

import (
	"errors"
	"math"
	"strings"
	"testing"

	"evenwhite/colorimetry"
)

func correctionsOf(s *stage, clip ID) ClipCorrections {
	s.t.Helper()
	got, err := CorrectionsOfClip(s.book(), clip, s.clock)
	if err != nil {
		s.t.Fatal(err)
	}
	return got
}

func TestCorrectionToIntentKeepsACoolNight(t *testing.T) {
	s := newStage(t)
	s.minute(3)
	s.add(KindWhite, "setUp", ref(s.setUp), "from", `{"as":"nominal","kelvin":5600,"locus":"blackBody"}`, "appliesFrom", `{"as":"time","at":`+stamp(3)+`}`, "intendedCast", `{"mired":-54}`)
	s.minute(5)
	_, _, clip := s.shoot("4300", "4300") // 1e6/4300 − 1e6/5600 = 54 mired: as intended
	s.card(s.b, 4300, day5600, 0, 0, s.reading)
	got := correctionsOf(s, clip)
	if got.Basis != "card" {
		t.Fatalf("got basis %q: %+v", got.Basis, got.Origin)
	}
	near(t, "to intent, R", got.ToIntent.Gain.R, 1, 0.003)
	near(t, "to intent, B", got.ToIntent.Gain.B, 1, 0.003)
	if g := got.ToNeutral.Gain; !(g.R > 1.1 && g.B < 0.9) || !got.ToNeutral.LiftsHighlights {
		t.Errorf("to neutral: got %+v, want red up and blue down by more than a tenth, flagged", got.ToNeutral)
	}
}

// TestCorrectionsFromACardAreExactAtItsLevel: code ratio times the card's code is
// equal in R, G and B after a correction to neutral.
func TestCorrectionsFromACardAreExactAtItsLevel(t *testing.T) {
	s := newStage(t)
	s.minute(5)
	_, _, clip := s.shoot("5600", "4300")
	s.card(s.b, 4300, day5600, 6, 0.002, s.reading, "clip", ref(clip))
	got := correctionsOf(s, clip)
	n := got.ToNeutral
	codes := []float64{n.Level.R * n.Ratio.R, n.Level.G * n.Ratio.G, n.Level.B * n.Ratio.B}
	if math.Abs(codes[0]-codes[1]) > 1e-4 || math.Abs(codes[2]-codes[1]) > 1e-4 || n.Takes != "codeRatio" {
		t.Errorf("got %v by %+v, want three equal codes", codes, n)
	}
	// There is no intended cast: intent is neutral in the light that was chosen as white.
	near(t, "to intent", got.ToIntent.Gain.R, n.Gain.R, 0.002)
	if got.White == nil || got.ToNeutral.Gain.R <= 1 {
		t.Errorf("a white of 4300 K in 5600 K light is cool: got %+v", got)
	}
	near(t, "the white that it had", 1e6 / *got.White.CCTKelvin, 1e6/4300+6, 0.1)
}

func TestCorrectionsWithoutACard(t *testing.T) {
	s := newStage(t)
	s.minute(5)
	_, _, clip := s.shoot("5600", "4300")
	t.Run("rest on the label and say so", func(t *testing.T) {
		got := correctionsOf(s, clip)
		if got.Basis != "label" || got.Origin.Confidence != "label" || got.ToNeutral.Takes != "slope" || !strings.Contains(got.Words, "label alone") {
			t.Errorf("got %+v", got)
		}
	})
	t.Run("take an offset in log", func(t *testing.T) {
		s.mode("acesCct", "baked")
		got := correctionsOf(s, clip).ToNeutral
		// 17.52 stops on the signal of 1 [ACES S-2016-001].
		near(t, "offset of R", got.Offset.R, got.Stops.R/17.52, 0.00001)
		if got.Takes != "offset" || got.Ratio != nil {
			t.Errorf("got %+v", got)
		}
	})
	t.Run("take no slope in a log whose curve is not known", func(t *testing.T) {
		s.set(s.bodyB, "recordingModes/main", `{"name":"main","white":"baked","encoding":"log","primaries":"camera"}`)
		got := correctionsOf(s, clip)
		n := got.ToNeutral
		// 4300 K in 5600 K light is cool by 54 mired: red up by more than a tenth.
		near(t, "stops of R", n.Stops.R, math.Log2(n.Gain.R), 0.0001)
		if n.Takes != "stops" || n.Offset != nil || n.Ratio != nil && n.Takes == "codeRatio" || !n.LiftsHighlights {
			t.Errorf("got %+v, want stops", n)
		}
		if !strings.Contains(got.Words, "each times the code of one stop (colours highlights that are clipped)") {
			t.Errorf("got %q", got.Words)
		}
	})
	t.Run("name the kelvin to enter where the white is free", func(t *testing.T) {
		s.mode("linear", "free")
		got := correctionsOf(s, clip)
		if got.ToIntent.Takes != "kelvin" || *got.ToIntent.Setting.Kelvin != 5600 || !strings.Contains(got.Words, "enter 5600 K") {
			t.Errorf("got %+v, %q", got.ToIntent, got.Words)
		}
	})
	t.Run("use what cards of other shots taught", func(t *testing.T) {
		s.card(s.b, 5600, day5600, -36, 0, s.reading)
		got := correctionsOf(s, clip)
		if got.Basis != "predicted" || got.CameraError == nil || got.CameraError.Mired != -36 {
			t.Fatalf("got %+v", got)
		}
		near(t, "the white that it had", 1e6 / *got.White.CCTKelvin, 1e6/4300-36, 0.1)
		// What lies nearest to 178.6 + 36 mired on the dials is 4300 K (232.6).
		near(t, "to enter", *got.ToIntent.Setting.Kelvin, 4300, 0)
	})
}

// What is entered is the aim for the intent, and the light itself for neutral,
// wherever the footage lets the white be changed.
func TestTheWhiteToEnterIsTheAimOrTheLight(t *testing.T) {
	for _, white := range []string{"free", "storedBeside"} {
		s := newStage(t)
		s.mode("linear", white)
		s.minute(3)
		s.add(KindWhite, "setUp", ref(s.setUp), "from", `{"as":"nominal","kelvin":5600,"locus":"blackBody"}`, "appliesFrom", `{"as":"time","at":`+stamp(3)+`}`, "intendedCast", `{"mired":-54}`)
		s.minute(5)
		_, _, clip := s.shoot("4300", "6500")
		got := correctionsOf(s, clip)
		if got.ToIntent.Takes != "kelvin" || got.ToIntent.Setting.Words != "4300 K" || got.ToNeutral.Takes != "kelvin" || got.ToNeutral.Setting.Words != "5600 K" {
			t.Errorf("%s: got %q, want 4300 K for the cool night and 5600 K for neutral", white, got.Words)
		}
	}
	s := newStage(t)
	s.mode("linear", "baked")
	s.minute(5)
	if _, _, clip := s.shoot("4300", "6500"); correctionsOf(s, clip).ToIntent.Takes != "slope" {
		t.Error("a white that is baked in was to be entered")
	}
}

// A card in the clip itself speaks for it before a newer one on the same setting; one
// of another shot is said to be that.
func TestTheCardInTheClipComesFirst(t *testing.T) {
	s := newStage(t)
	s.minute(5)
	_, _, clip := s.shoot("5600", "4300")
	own := s.card(s.b, 4300, day5600, 6, 0, s.reading, "clip", ref(clip))
	s.minute(8)
	_, _, other := s.shoot("5600", "4300")
	newer := s.card(s.b, 4300, day5600, -20, 0, s.reading)
	for _, c := range []struct {
		clip, card ID
		elsewhere  bool
	}{{clip, own, false}, {other, newer, true}} {
		got := correctionsOf(s, c.clip)
		if got.Basis != "card" || len(got.Origin.Records) != 1 || got.Origin.Records[0] != c.card {
			t.Errorf("got basis %q by %v, want the card %v", got.Basis, got.Origin.Records, c.card)
		}
		if said := strings.Contains(caveatsOf(got.Origin), "of another shot"); said != c.elsewhere {
			t.Errorf("got %q, want it said that the card is of another shot: %v", caveatsOf(got.Origin), c.elsewhere)
		}
	}
}

func TestCorrectionsThatCannotBeGiven(t *testing.T) {
	s := newStage(t)
	s.minute(5)
	auto := s.clip(s.b, s.take(), "5600", "whiteMode", `"auto"`)
	empty := s.add(KindSetUp, "day", ref(s.day), "name", `"C"`)
	dark := s.add(KindClip, "setUp", ref(empty), "camera", ref(s.a), "body", ref(s.bodyA), "whiteMode", `"kelvin"`, "kelvin", "5600")
	for name, id := range map[string]ID{"automatic white": auto, "no light": dark} {
		if got, err := CorrectionsOfClip(s.book(), id, s.clock); !errors.Is(err, ErrUnknown) {
			t.Errorf("%s: got %+v, %v, want ErrUnknown", name, got, err)
		}
	}
	if _, err := CorrectionsOfClip(s.book(), s.key, s.clock); !errors.Is(err, ErrNoRecord) {
		t.Errorf("no clip: got %v, want ErrNoRecord", err)
	}
	var zero colorimetry.Encoding
	if got := CorrectGrey(zero, [3]float64{}, colorimetry.D65, "neutral"); got.Problem == "" || got.Gain != nil {
		t.Errorf("no encoding: got %+v, want a problem", got)
	}
}
