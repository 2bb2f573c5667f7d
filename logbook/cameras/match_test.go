package cameras_test

import (
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

func TestACameraWithoutALabelIsMatchedByItsCard(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Clip(s.A, s.Take(), "", "whiteMode", `"autoHeld"`, "kelvin", "null")
	if got, err := advice.Match(s.Book(), advice.MatchQuery{SetUp: s.SetUp, Camera: s.B, To: s.A, Follow: true}, s.Clock); err == nil {
		t.Fatalf("a held automatic white without a card: got %q, want an error", got.Words)
	}
	// A's picture says that its white is that of 4300 K.
	s.Minute(6)
	s.Card(s.A, 4300, stage.Day5600, 0, 0, s.Reading, "settings", `{"whiteMode":"autoHeld"}`)
	got := s.Match()
	if got.Best.Words != "4300 K" || !strings.Contains(stage.CaveatsOf(got.Origin), "its card") || got.Basis != "from samples and a label" {
		t.Errorf("got %q, basis %q, %q; want 4300 K by A's card and B's label", got.Best.Words, got.Basis, stage.CaveatsOf(got.Origin))
	}
}

func TestMatchCountsInWhatCardsTaught(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "5600")
	s.Minute(6)
	s.Card(s.A, 5600, stage.Day5600, 0, 0, s.Reading)
	// B's 5600 is a white of 178.6 + 54 mired, 4300 K; its 6500 is one of 153.8 + 54, 4812 K.
	s.Card(s.B, 5600, stage.Day5600, 54, 0, s.Reading)
	a := s.Match()
	if a.Basis != "from samples" || a.Matched || a.CameraError == nil || a.CameraError.Mired != 54 ||
		a.ToError == nil || a.ToError.Mired != 0 {
		t.Fatalf("got %+v, errors %+v and %+v", a, a.CameraError, a.ToError)
	}
	// The preset of 7000 K is one of 142.9 + 54 = 196.9: 18 too warm as a white, and the nearest.
	if a.Best.Preset != "shade" {
		t.Errorf("best: got %+v, want the preset shade", a.Best)
	}
	stage.Near(t, "residual", *a.Best.Residual.Mired, -18, 0)
	// The white that is wanted lies 54 mired from the card's, but the camera stands where the
	// card was shot.
	if a.CameraError.Confidence != "fair" || !strings.Contains(a.CameraError.Words, "1 card, the nearest 0 mired away") {
		t.Errorf("one card: got %q", a.CameraError.Words)
	}
	if a.Cards == nil || a.Cards.Within || *a.Cards.Difference.Mired != -54 {
		t.Errorf("the cards: got %+v, want B 54 mired cooler", a.Cards)
	}
}

func TestMatchedIsSaidOnlyAfterASecondCard(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "4300")
	s.Minute(6)
	s.Card(s.A, 5600, stage.Day5600, 0, 0, s.Reading)
	s.Card(s.B, 4300, stage.Day5600, -50, 0, s.Reading)
	first := s.Match()
	if first.Matched || first.Cards == nil || !first.Cards.Within || first.Cards.Second ||
		!strings.Contains(first.Words, "a second card is to confirm") {
		t.Errorf("after one card: got %+v, %q", first.Cards, first.Words)
	}
	s.Minute(9)
	second := s.Card(s.B, 4300, stage.Day5600, -50, 0, s.Reading)
	got := s.Match()
	if !got.Matched || got.Cards.Sample != second || !strings.Contains(got.Words, "matched by a second card") {
		t.Errorf("after two: got %+v, %q", got.Cards, got.Words)
	}
	if got.CameraError.Confidence != "good" {
		t.Errorf("two near, new cards that agree: got %q", got.CameraError.Words)
	}
	t.Run("and no more once the camera is set to something else", func(t *testing.T) {
		s.Minute(12)
		s.Shoot("5600", "6500")
		if got := s.Match(); got.Matched || got.Cards != nil {
			t.Errorf("got %+v, %q", got.Cards, got.Words)
		}
	})
}

func TestMatchWithoutAReadingOfTheLight(t *testing.T) {
	s := stage.New(t)
	s.SetUp = s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`,
		"cameras/"+s.A.String()+"/inUse", "true", "cameras/"+s.B.String()+"/inUse", "true", "referenceCamera", stage.Ref(s.A))
	tungsten := colorimetry.CCTDuv{CCT: 3000, Duv: 0.002}
	s.Minute(5)
	s.Card(s.A, 3200, tungsten, 0, 0, logbook.ID{})
	// B shows 3200 as a white of 312.5 + 30 mired.
	s.Card(s.B, 3200, tungsten, 30, 0, logbook.ID{})
	a := s.Match()
	if a.Light == nil {
		t.Fatalf("the light was not inferred: %+v", a.Origin)
	}
	stage.Near(t, "the light", *a.Light.CCTKelvin, 3000, 2)
	stage.Near(t, "its Duv", *a.Light.Duv, 0.002, 0.0001)
	stage.Near(t, "B's error", a.CameraError.Mired, 30, 0)
	if a.Basis != "from samples" || a.CameraError.Confidence == "good" {
		t.Errorf("got basis %q, %q", a.Basis, a.CameraError.Words)
	}
}

// Two cards say a match only where both were shot in one light.
func TestCardsOfTwoLightsSayNoMatch(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "4300")
	s.Minute(6)
	s.Card(s.A, 5600, stage.Day5600, 0, 0, s.Reading)
	s.Card(s.B, 4300, stage.Day5600, -50, 0, s.Reading)
	s.Minute(9)
	other := s.Read(s.Key, stage.OnLocus5600, "illuminance", `{"value":800,"unit":"lux"}`)
	s.Card(s.B, 4300, stage.Day5600, -50, 0, other)
	if got := s.Match(); got.Matched || got.Cards != nil {
		t.Errorf("got %+v, %q, want no comparison", got.Cards, got.Words)
	}
}
