package cameras_test

import (
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

// learntNow is what cards say of body B for the white in force, also where it is poor.
func learntNow(s *stage.Stage) *cameras.Error {
	s.T.Helper()
	b := s.Book()
	v, _ := b.Record(s.SetUp)
	read := setup.Read(b, v, s.Clock)
	camera, _ := b.Record(s.B)
	body, _ := b.Record(s.BodyB)
	e, ok := read.LearntHere(camera, body, read.Current(), cameras.ErrorQuery{White: stage.Day5600})
	if !ok {
		return nil
	}
	return &e
}

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
			got := learntNow(s)
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

func TestCameraErrorsAreKeptApart(t *testing.T) {
	for _, c := range []struct {
		name       string
		first, own []string // fields of two cards; B is asked about in mode main with the 35 mm
		caveat     string
	}{
		{"glass", []string{"recordingMode", `"main"`, "glass", `"85"`}, []string{"recordingMode", `"main"`, "glass", `"35"`}, "other glass"},
		{"recording_mode", []string{"recordingMode", `"slow"`, "glass", `"35"`}, []string{"recordingMode", `"main"`, "glass", `"35"`}, "another recording mode"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Set(s.BodyB, "recordingModes/main", `{"name":"main","white":"baked"}`, "recordingModes/slow", `{"name":"slow","white":"baked"}`)
			s.Minute(5)
			take := s.Take()
			s.Clip(s.A, take, "5600")
			s.Clip(s.B, take, "5600", "recordingMode", `"main"`, "lens", `"35"`)
			s.Card(s.B, 5600, stage.Day5600, 30, 0, s.Reading, c.first...)
			other := s.Match().CameraError
			if other == nil || other.Mired != 30 || !strings.Contains(strings.Join(other.Caveats, "; "), c.caveat) || other.Confidence == "good" {
				t.Fatalf("by the other card: got %+v, want 30 mired with a warning of %s", other, c.caveat)
			}
			s.Card(s.B, 5600, stage.Day5600, 4, 0, s.Reading, c.own...)
			if own := s.Match().CameraError; own.Mired != 4 || len(own.Samples) != 1 || len(own.Caveats) != 0 {
				t.Errorf("by its own card: got %+v, want 4 mired from one card", own)
			}
		})
	}
}

func TestOnlyTheNewestCardsWithoutAMeasuredLightCount(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "5600")
	s.Card(s.A, 5600, stage.Day5600, 0, 0, logbook.ID{})
	var newest logbook.ID
	for range cameras.MostInferred + 4 {
		newest = s.Card(s.B, 5600, stage.Day5600, 12, 0, logbook.ID{})
	}
	got := s.Match().CameraError
	if got == nil || len(got.Samples) != cameras.MostInferred || got.Samples[cameras.MostInferred-1] != newest {
		t.Fatalf("got %+v, want the newest %d cards, oldest first", got, cameras.MostInferred)
	}
	stage.Near(t, "mired", got.Mired, 12, 0)
}

func TestCardsThatContradictEachOtherTeachPoorly(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "5600")
	s.Card(s.B, 5600, stage.Day5600, 4, 0, s.Reading)
	s.Card(s.B, 5600, stage.Day5600, 14, 0, s.Reading) // 7 mired of standard deviation: cameras may differ by 8
	if got := s.Match().CameraError; got == nil || got.Confidence == "poor" || got.SpreadMired > 8 {
		t.Fatalf("got %+v, want no poor answer from cards 10 mired apart", got)
	}
	s.Card(s.B, 5600, stage.Day5600, 44, 0, s.Reading)
	if got := learntNow(s); got.Confidence != "poor" || !(got.SpreadMired > 8) {
		t.Errorf("got %+v, want a poor answer from cards 40 mired apart", got)
	}
	t.Run("but one that was far off does not spoil those at hand", func(t *testing.T) {
		s := stage.New(t)
		s.Minute(5)
		s.Shoot("5600", "5600")
		s.Card(s.B, 4300, stage.Shift(stage.Day5600, 50, 0), 40, 0, s.Reading)
		s.Card(s.B, 5600, stage.Day5600, 4, 0, s.Reading)
		s.Card(s.B, 5600, stage.Day5600, 5, 0, s.Reading)
		if got := s.Match().CameraError; got.Confidence == "poor" || !(got.SpreadMired > 8) {
			t.Errorf("got %+v, want those at hand to be believed", got)
		}
	})
}

func TestFamiliesOfLampsAreNotMixedInSilence(t *testing.T) {
	s := stage.New(t)
	lamp := s.Add(kinds.Lamp, "name", `"spot"`, "count", `2`, "family", `"incandescent"`)
	spot := s.Light("spot", "fill", "lamp", stage.Ref(lamp), "rigged/on", "true")
	s.Minute(2)
	bySpot := s.Read(spot, `{"as":"cctDuv","cctKelvin":5600,"duv":0}`)
	s.Minute(5)
	s.Shoot("5600", "5600")
	s.Card(s.B, 5600, stage.Day5600, 4, 0, s.Reading)
	s.Card(s.B, 5600, stage.Day5600, 6, 0, bySpot)
	for family, want := range map[string]int{"": 2, "incandescent": 1} {
		body, _ := s.Book().Record(s.BodyB)
		got, ok := cameras.ErrorByCards(s.Book(), body, cameras.ErrorQuery{Family: family, Label: stage.Day5600, At: s.Clock})
		warned := strings.Contains(strings.Join(got.Caveats, "; "), "several families")
		if !ok || len(got.Samples) != want || warned != (family == "") {
			t.Errorf("asked for the family %q: got %+v, want %d cards and a warning only where the family is not known", family, got, want)
		}
	}
}

func TestAnInferredLightIsNoFamilyOfLamps(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "5600")
	s.Card(s.B, 5600, stage.Day5600, 4, 0, s.Reading)
	s.Card(s.A, 5600, stage.Day5600, 0, 0, logbook.ID{})
	s.Card(s.B, 5600, stage.Day5600, 4, 0, logbook.ID{})
	body, _ := s.Book().Record(s.BodyB)
	got, ok := cameras.ErrorByCards(s.Book(), body, cameras.ErrorQuery{Label: stage.Day5600, At: s.Clock, Inferred: true})
	if words := strings.Join(got.Caveats, "; "); !ok || len(got.Samples) != 2 || !strings.Contains(words, "inferred") ||
		strings.Contains(words, "several families") {
		t.Errorf("got %+v, want two cards, one of them inferred, and no word of several families", got)
	}
}

func TestACameraErrorOfAnotherFamilyMovesNothing(t *testing.T) {
	s := stage.New(t)
	lamp := s.Add(kinds.Lamp, "name", `"fresnel"`, "family", `"incandescent"`)
	bulb := s.Light("fresnel", "back", "lamp", stage.Ref(lamp), "intent", `"leave"`)
	reading := s.Read(bulb, stage.OnLocus3200)
	s.Minute(5)
	s.Shoot("5600", "5600")
	s.Card(s.B, 3200, colorimetry.CCTDuv{CCT: 3200}, 10, 0, reading)
	got, a := learntNow(s), s.Match()
	if got == nil || got.Confidence != "poor" || !strings.Contains(strings.Join(got.Caveats, "; "), "another family") ||
		!strings.Contains(strings.Join(got.Caveats, "; "), "far: 134 mired") {
		t.Errorf("got %+v", got)
	}
	// It is shown and moves nothing.
	if words := stage.CaveatsOf(a.Origin); a.CameraError != nil || a.Basis != "from labels" ||
		!strings.Contains(words, "the cards of camera B say too little: poor: 1 card") {
		t.Errorf("got %+v, basis %q, %q", a.CameraError, a.Basis, words)
	}
	s.Card(s.B, 5600, stage.Day5600, 4, 0, s.Reading) // of the lamp at hand: the other is passed over
	if a := s.Match(); len(a.CameraError.Samples) != 1 || a.CameraError.Mired != 4 || len(a.CameraError.Caveats) != 0 {
		t.Errorf("got %+v, want the card of this family alone", a.CameraError)
	}
}

func TestANearCardOutweighsOneThatWasFarOff(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "4300")
	s.Card(s.B, 5600, stage.Day5600, 30, 0, s.Reading) // 24 mired from the setting that will be asked about
	s.Card(s.B, 4300, stage.Day5600, -50, 0, s.Reading)
	// The error wanted is that of a white near 5600 K: of the second card, which has one of 5479 K.
	got := learntNow(s)
	if got == nil || len(got.Samples) != 2 {
		t.Fatalf("got %+v", got)
	}
	// 30 mired away weigh 1/(1+9), 4 mired away 1/(1+0.16): (3 − 43.1)/0.962 = −41.7,
	// shown in tens because the two are so far apart.
	stage.Near(t, "mired", got.Mired, -40, 0)
	if got.SpreadMired < 50 || got.Confidence == "good" {
		t.Errorf("cards 80 mired apart: got %q", got.Words)
	}
}
