package advice_test

import (
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/stage"
)

// The error of the camera that is matched to is that of its own mode and glass.
func TestTheErrorOfTheOtherCameraIsThatOfItsModeAndGlass(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyA, "recordingModes/main", `{"name":"main","white":"baked"}`, "recordingModes/slow", `{"name":"slow","white":"baked"}`)
	s.Minute(5)
	s.Clip(s.A, s.Take(), "5600", "recordingMode", `"main"`, "lens", `"35"`)
	s.Card(s.A, 5600, stage.Day5600, 30, 0, s.Reading, "recordingMode", `"slow"`, "glass", `"35"`)
	s.Card(s.A, 5600, stage.Day5600, 18, 0, s.Reading, "recordingMode", `"main"`, "glass", `"85"`)
	s.Card(s.A, 5600, stage.Day5600, 4, 0, s.Reading, "recordingMode", `"main"`, "glass", `"35"`)
	if e := s.Match().ToError; e == nil || e.Mired != 4 || len(e.Samples) != 1 {
		t.Errorf("got %+v, want 4 mired from the one card of that mode and glass", e)
	}
}

// Cards say nothing of a match any more once the other camera stands elsewhere.
func TestNoMatchOnceTheOtherCameraIsSetToSomethingElse(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "5600")
	for _, at := range []int{6, 9} {
		s.Minute(at)
		s.Card(s.A, 5600, stage.Day5600, 0, 0, s.Reading)
		s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading)
	}
	if got := s.Match(); !got.Matched {
		t.Fatalf("got %q, %+v, want a match", got.Words, got.Cards)
	}
	s.Minute(12)
	s.Shoot("4300", "5600")
	if got := s.Match(); got.Matched || got.Cards != nil {
		t.Errorf("after A was turned: got %q, %+v", got.Words, got.Cards)
	}
}

// Two cards are compared in the light that was on them, whatever the white is.
func TestCardsAreComparedInTheirOwnLight(t *testing.T) {
	s := stage.New(t)
	tungsten := colorimetry.CCTDuv{CCT: 2500}
	reading := s.Read(s.Key, `{"as":"cctDuv","cctKelvin":2500,"duv":0}`)
	s.Minute(5)
	s.Shoot("3200", "3200")
	s.Card(s.A, 3200, tungsten, 0, 0, reading)
	s.Card(s.B, 3200, tungsten, 60, 0.004, reading)
	got := s.Match().Cards
	if got == nil {
		t.Fatal("the cards were not compared")
	}
	stage.Near(t, "mired", *got.Difference.Mired, -60, 0)
	stage.Near(t, "Duv", *got.Difference.Duv, -0.004, 0.0001)
}

// A preset has a label, and a card shows how far it is off.
func TestACardOnAPresetShowsHowFarThePresetIsOff(t *testing.T) {
	s := stage.New(t)
	id := s.Card(s.B, 7000, stage.Day5600, 10, 0, s.Reading, "settings", `{"whiteMode":"preset","preset":"shade"}`)
	got, err := cameras.ColorOfSample(s.Book(), id, s.Clock)
	if err != nil || got.Error == nil {
		t.Fatalf("got %+v, %v, want an error of the preset", got, err)
	}
	stage.Near(t, "mired", *got.Error.Mired, 10, 0)
}
