package slate_test

import (
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/slate"
)

// from is how a setting is known, among several.
func from(all []slate.Source, field string) string {
	for _, s := range all {
		if s.Field == field {
			if s.At != nil {
				return s.From + ", at a time"
			}
			return s.From
		}
	}
	return "not said"
}

func TestTheNextTakeIsKnownBeforeItIsPressed(t *testing.T) {
	s := newFloor(t)
	for range 3 {
		next, err := slate.NextTake(s.Book, s.setUp.ID, s.Now)
		if err != nil {
			t.Fatal(err)
		}
		s.press(`{"event":"nextTake"}`)
		takes := s.Book.Referring(kinds.Take, "setUp", s.setUp.ID)
		last := takes[len(takes)-1]
		if len(next.Clips) != 2 || string(next.Number) != string(last.Value("number")) {
			t.Fatalf("it said number %s and %d clips; logged was %s", next.Number, len(next.Clips), last.Value("number"))
		}
		for _, clip := range s.Book.Referring(kinds.Clip, "takes", last.ID) {
			said := next.Clips[0]
			if said.Camera != clip.Ref("camera") {
				said = next.Clips[1]
			}
			name, _ := clip.Value("name").Member("text").Text()
			if said.Name == "" || said.Name != name || said.Card != clip.Text("card") || len(said.Fields) == 0 {
				t.Errorf("it said %+v; logged was %s on card %s", said, name, clip.Text("card"))
			}
		}
	}
	if _, err := slate.NextTake(s.Book, logbook.ID{1}, s.Now); err == nil {
		t.Error("a set-up that is not there has a next take")
	}
}

func TestOfEachSettingItIsSaidHowItIsKnown(t *testing.T) {
	s := newFloor(t)
	s.press(`{"event":"nextTake","cameras":{"A":{"kelvin":5600,"lens":"50"}}}`)
	s.press(`{"event":"nextTake"}`)
	s.press(`{"event":"nextTake","cameras":{"A":{"lens":"85"}}}`)
	var got []string
	for _, take := range s.Book.Referring(kinds.Take, "setUp", s.setUp.ID) {
		for _, clip := range s.Book.Referring(kinds.Clip, "takes", take.ID) {
			if clip.Ref("camera") == s.cameras[0].ID {
				all := slate.Sources(s.Book, clip)
				got = append(got, from(all, "kelvin")+"; "+from(all, "lens"))
			}
		}
	}
	want := []string{"readOff, at a time; readOff, at a time", "carriedOver, at a time; carriedOver",
		"carriedOver, at a time; readOff, at a time"}
	for i := range want {
		if i >= len(got) || got[i] != want[i] {
			t.Errorf("take %d: got %q, want %q", i+1, got, want[i])
		}
	}
}

// A camera that was set between takes stands so for the next clip, which has it once.
func TestACameraThatWasSetIsAsItWasSet(t *testing.T) {
	s := newFloor(t)
	s.press(`{"event":"nextTake","cameras":{"A":{"kelvin":5600}}}`)
	s.press(`{"event":"cameraSet","camera":"A","cameras":{"A":{"kelvin":4400,"tint":2}}}`)
	next, err := slate.NextTake(s.Book, s.setUp.ID, s.Now)
	const read = "readOff, at a time"
	if err != nil || from(next.Clips[0].Fields, "kelvin") != read || from(next.Clips[1].Fields, "kelvin") == read {
		t.Errorf("the next take: %+v, %v", next, err)
	}
	for range 2 {
		s.press(`{"event":"nextTake"}`)
	}
	var got []string
	for _, clip := range s.Book.Referring(kinds.Clip, "camera", s.cameras[0].ID) {
		got = append(got, string(clip.Value("kelvin"))+" "+clip.Text("settingsAre"))
	}
	if want := "[5600 readOff 4400 readOff 4400 carriedOver]"; fmt.Sprint(got) != want {
		t.Errorf("got %v, want %s", got, want)
	}
	if next, _ := slate.NextTake(s.Book, s.setUp.ID, s.Now); from(next.Clips[0].Fields, "tint") != "carriedOver, at a time" {
		t.Errorf("later: %+v", next)
	}
}
