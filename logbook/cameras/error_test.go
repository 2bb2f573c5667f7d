package cameras_test

import (
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// How sure a camera error is said to be, by what the cards were.
func TestHowSureACameraErrorIs(t *testing.T) {
	const fourDays = 4 * 24 * 60
	for _, c := range []struct {
		name  string
		cards []float64 // kelvin dialled, and how far off by mired, in turns
		later int       // minutes that pass after the first card
		want  string
	}{
		{"one near card", []float64{5600, 12}, 0, "fair"},
		{"two near cards that agree", []float64{5600, 12, 5600, 13}, 0, "good"},
		{"two near cards 8 mired apart", []float64{5600, 12, 5600, 20}, 0, "fair"},
		{"two near cards that contradict each other", []float64{5600, 12, 5600, 40}, 0, "poor"},
		{"two near cards of last week", []float64{5600, 12, 5600, 13}, fourDays, "fair"},
		{"two cards 54 mired away", []float64{4300, 12, 4300, 13}, 0, "poor"},
		{"two cards 29 mired away", []float64{4820, 12, 4820, 13}, 0, "fair"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Set(s.BodyB, "kelvinValues", "[4300,4820,5600]")
			s.Minute(5)
			s.Shoot("5600", "5600")
			for i := 0; i < len(c.cards); i += 2 {
				s.Card(s.B, c.cards[i], stage.Day5600, c.cards[i+1], 0, s.Reading)
			}
			s.Minute(6 + c.later)
			s.Shoot("5600", "5600")
			got := s.Match().CameraError
			if got == nil || got.Confidence != c.want || !strings.HasPrefix(got.Words, c.want+":") || len(got.Samples) != len(c.cards)/2 {
				t.Fatalf("got %+v, want %s", got, c.want)
			}
			if want := float64(c.later + 1); got.AgeMinutes != want {
				t.Errorf("age: got %v minutes, want %v", got.AgeMinutes, want)
			}
		})
	}
}

// Two cards as near as each other, the first two days before: its day halves its
// weight, and two days leave it a third.
func TestAnOldCardCountsLessThanANewOne(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "5600")
	s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading)
	s.Minute(5 + 2*24*60)
	s.Card(s.B, 5600, stage.Day5600, 2, 0, s.Reading)
	s.Shoot("5600", "5600")
	got := s.Match().CameraError
	// Nearness counts by the white that is wanted: 0 mired off and 2 off, 1 and 1/1.04.
	want := 2 * (1 / 1.04) / (1/1.04 + 1.0/3)
	if got == nil || len(got.Samples) != 2 {
		t.Fatalf("got %+v, want both cards", got)
	}
	stage.Near(t, "mired", float64(got.Cast.Mired), want, 0.03)
}

func TestTheLightIsInferredFromACardOfTheSameTimeAndOfTheReferenceCameraFirst(t *testing.T) {
	for _, c := range []struct {
		name    string
		apart   int // minutes from the other cards to B's
		third   bool
		problem string
	}{
		{"half an hour apart", 30, false, ""},
		{"more than half an hour", 31, false, "no other camera saw it"},
		{"a third camera that says another light", 0, true, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			body := s.Add(kinds.Body, "label", `"body 3"`, "whiteModes", `["kelvin"]`, "kelvinValues", "[3200,5600]", "tintZero", `"blackBody"`, "timecode", `"timeOfDay"`)
			third := s.Add(kinds.Camera, "letter", `"C"`, "body", `{"body":`+stage.Ref(body)+`}`)
			s.Set(s.SetUp, "cameras/"+third.String()+"/inUse", "true", "referenceCamera", stage.Ref(s.A))
			if c.third {
				s.Minute(4)
				// C's white is 60 mired off without anybody knowing.
				s.Card(third, 5600, stage.Day5600, 60, 0, logbook.ID{}, "body", stage.Ref(body))
			}
			s.Minute(5)
			s.Card(s.A, 5600, stage.Day5600, 0, 0, logbook.ID{})
			s.Minute(5 + c.apart)
			id := s.Card(s.B, 5600, stage.Day5600, 20, 0, logbook.ID{})
			got, err := cameras.ColorOfSample(s.Book(), id, s.Clock)
			if err != nil {
				t.Fatal(err)
			}
			if c.problem != "" {
				if !strings.Contains(got.Problem, c.problem) || got.LightMethod != "not known" {
					t.Errorf("got %q, %q, want %q", got.Problem, got.LightMethod, c.problem)
				}
				return
			}
			if got.Error == nil || !strings.Contains(got.LightMethod, "camera A") {
				t.Fatalf("got %q, %q, want the light by the card of camera A", got.Problem, got.LightMethod)
			}
			stage.Near(t, "B's error", *got.Error.Mired, 20, 0.2)
		})
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
