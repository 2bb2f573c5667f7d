package cameras_test

import (
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// errorOf is what cards say of body B at 5600 K.
func errorOf(s *stage.Stage, ask cameras.ErrorQuery) (cameras.Error, bool) {
	s.T.Helper()
	b := s.Book()
	body, _ := b.Record(s.BodyB)
	ask.Label = stage.Day5600
	return cameras.ErrorByCards(b, body, ask)
}

// A card an hour after the moment counts as one an hour before it.
func TestACardAfterTheMomentIsAsFarAsOneBeforeIt(t *testing.T) {
	s := stage.New(t)
	s.Minute(10)
	s.Card(s.B, 5600, stage.Day5600, 4, 0, s.Reading)
	s.Minute(10 + 2*24*60)
	s.Card(s.B, 5600, stage.Day5600, 10, 0, s.Reading)
	s.Minute(10 + 24*60)
	got, _ := errorOf(s, cameras.ErrorQuery{At: s.Clock})
	stage.Near(t, "between two cards a day away each", float64(got.Cast.Mired), 7, 0.05)
	s.Minute(10)
	got, _ = errorOf(s, cameras.ErrorQuery{At: s.Clock})
	// The first at once, the second two days away: 1 and 1/3.
	stage.Near(t, "at the first card", float64(got.Cast.Mired), (4+10.0/3)/(4.0/3), 0.05)
	if want := "good: 2 cards, the nearest 0 mired away, the newest 0 min old, spread 4.7 mired"; got.Words != want {
		t.Errorf("got %q, want %q", got.Words, want)
	}
	s.Minute(0)
	if got, _ = errorOf(s, cameras.ErrorQuery{At: s.Clock}); got.AgeMinutes != 10 ||
		got.Words != "good: 2 cards, the nearest 0 mired away, the nearest in time shot 10 min later, spread 4.7 mired" {
		t.Errorf("before both: got %q", got.Words)
	}
}

func TestCardsOfALaterDateAreNotKnown(t *testing.T) {
	s := stage.New(t)
	s.Minute(10)
	own := s.Card(s.B, 5600, stage.Day5600, 4, 0, s.Reading)
	day := s.Add(kinds.Day, "number", "2", "date", `"2026-03-05"`)
	setUp := s.Add(kinds.SetUp, "day", stage.Ref(day), "name", `"B"`)
	next := s.Card(s.B, 5600, stage.Day5600, 8, 0, s.Reading, "setUp", stage.Ref(setUp))
	s.Minute(20)
	loose := s.Card(s.B, 5600, stage.Day5600, 12, 0, s.Reading, "setUp", "null")
	for _, c := range []struct {
		name   string
		date   string
		minute int
		want   []logbook.ID
	}{
		{"the first date, early", "2026-03-04", 0, []logbook.ID{own}},
		{"the first date, after the card without a day", "2026-03-04", 20, []logbook.ID{own, loose}},
		{"the second date", "2026-03-05", 19, []logbook.ID{own, next}},
		{"no date", "", 19, []logbook.ID{own, next}},
		{"no date, before all", "", 9, nil},
	} {
		s.Minute(c.minute)
		got, _ := errorOf(s, cameras.ErrorQuery{At: s.Clock, Known: cameras.KnownOn(c.date, s.Clock)})
		if len(got.Samples) != len(c.want) {
			t.Errorf("%s: got %v, want %v", c.name, got.Samples, c.want)
			continue
		}
		for i, id := range c.want {
			if got.Samples[i] != id {
				t.Errorf("%s: got %v, want %v", c.name, got.Samples, c.want)
			}
		}
	}
}

// A card's light is inferred from another camera's card and that camera's error: all of it
// from what is known, and nothing poor.
func TestAnInferredLightRestsOnWhatIsKnown(t *testing.T) {
	s := stage.New(t)
	s.Minute(10)
	s.Card(s.A, 5600, stage.Day5600, 6, 0, s.Reading)
	s.Card(s.A, 5600, stage.Day5600, 6, 0, logbook.ID{})
	s.Card(s.B, 5600, stage.Day5600, 9, 0, logbook.ID{})
	ask := cameras.ErrorQuery{Inferred: true, Known: cameras.KnownOn("2026-03-04", s.Clock)}
	got, _ := errorOf(s, ask)
	stage.Near(t, "by A's card", float64(got.Cast.Mired), 9, 0.1)
	day := s.Add(kinds.Day, "number", "2", "date", `"2026-03-05"`)
	setUp := s.Add(kinds.SetUp, "day", stage.Ref(day), "name", `"B"`)
	for range 3 {
		s.Card(s.A, 5600, stage.Day5600, -30, 0, s.Reading, "setUp", stage.Ref(setUp))
	}
	if later, _ := errorOf(s, ask); later.Cast != got.Cast {
		t.Errorf("cards of A of the next day moved B's error from %v to %v", got.Cast, later.Cast)
	}
	// Now with all cards A's contradict each other: poor, and A is taken by its label, 6
	// mired cooler than it is.
	all, _ := errorOf(s, cameras.ErrorQuery{Inferred: true})
	stage.Near(t, "by A's label", float64(all.Cast.Mired), 9-6, 0.1)
}

// What a choice wrote down gives the same error again, whatever comes in and is struck out.
func TestAListOfCardsWithWeightsIsFrozen(t *testing.T) {
	s := stage.New(t)
	s.Minute(10)
	s.Card(s.A, 5600, stage.Day5600, 6, 0, s.Reading)
	s.Card(s.A, 5600, stage.Day5600, 6, 0, logbook.ID{})
	inferred := s.Card(s.B, 5600, stage.Day5600, 9, 0, logbook.ID{})
	s.Minute(50)
	measured := s.Card(s.B, 5600, stage.Day5600, 3, 0, s.Reading)
	then, ok := errorOf(s, cameras.ErrorQuery{At: s.Clock, Inferred: true})
	if !ok || len(then.Samples) != 2 {
		t.Fatalf("got %+v", then)
	}
	weights := map[logbook.ID]float64{}
	for _, r := range then.RestsOn {
		weights[r.Record] = r.Weight
	}
	if len(weights) != 5 || weights[measured] != 1 || !(weights[inferred] < 1) || !(weights[inferred] > 0.9) {
		t.Errorf("got %v, want two cards of B with weights, two of A and the reading", then.RestsOn)
	}
	s.Set(measured, "struckOut", `{"reason":"wrong card"}`)
	for _, off := range []float64{40, 60} {
		s.Card(s.B, 5600, stage.Day5600, off, 0, s.Reading)
		s.Card(s.A, 5600, stage.Day5600, off, 0, s.Reading)
		s.Card(s.A, 5600, stage.Day5600, off, 0, logbook.ID{}, "takenAt", stage.Stamp(10))
	}
	s.Minute(5000)
	ask := cameras.ErrorQuery{At: s.Clock, Inferred: true, Known: cameras.Known{Weights: weights}}
	got, ok := errorOf(s, ask)
	if !ok || got.Cast != then.Cast || !got.Counts() {
		t.Errorf("got %+v, want %v as before", got, then.Cast)
	}
	ask.Weights = map[logbook.ID]float64{measured: 0}
	if got, ok := errorOf(s, ask); ok {
		t.Errorf("by cards without a weight: got %+v", got)
	}
	ask.Weights = map[logbook.ID]float64{}
	if got, ok := errorOf(s, ask); ok {
		t.Errorf("by an empty list: got %+v", got)
	}
}

// The picture of a card says its light as it did, by what was written down.
func TestThePictureOfACardIsFrozenToo(t *testing.T) {
	s := stage.New(t)
	s.Minute(10)
	lesson := s.Card(s.B, 5600, stage.Day5600, 8, 0, s.Reading)
	s.Minute(20)
	card := s.Card(s.B, 5600, stage.Day5600, 8, 0, logbook.ID{})
	at := func(known cameras.Known) colorimetry.XY {
		t.Helper()
		xy, _, _, err := cameras.LightOnCard(s.Book(), card, s.Clock, known)
		if err != nil {
			t.Fatal(err)
		}
		return xy
	}
	frozen := cameras.Known{Weights: map[logbook.ID]float64{card: 0, lesson: 1}}
	before, listed := at(cameras.Known{}), at(frozen)
	if want, _ := stage.Day5600.XY(); before != listed || !near(before, want) {
		t.Errorf("got %v and %v, want the light on the card, %v", before, listed, want)
	}
	s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, "takenAt", stage.Stamp(15))
	if now := at(cameras.Known{}); near(now, before) {
		t.Error("an earlier card that came in late did not move what nobody wrote down")
	}
	if now := at(frozen); now != before {
		t.Errorf("got %v, want %v as written down", now, before)
	}
}

func near(a, b colorimetry.XY) bool {
	return a.X-b.X < 0.0001 && b.X-a.X < 0.0001 && a.Y-b.Y < 0.0001 && b.Y-a.Y < 0.0001
}
