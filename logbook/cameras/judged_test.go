package cameras_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

func TestAWhiteFromACameraSettingGoesThroughTheLearntError(t *testing.T) {
	s := stage.New(t)
	from := func(at int) setup.White {
		id := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp),
			"from", fmt.Sprintf(`{"as":"cameraSetting","camera":%s,"kelvin":4300}`, stage.Ref(s.A)),
			"appliesFrom", fmt.Sprintf(`{"as":"time","at":%s}`, stage.Stamp(at)))
		v, _ := s.Book().Record(id)
		return setup.WhiteOf(s.Book(), v)
	}
	s.Minute(4)
	label := from(4)
	stage.Near(t, "by the label", *label.Color.CCTKelvin, 4300, 1)
	if label.Origin.Confidence != "label" || !strings.Contains(stage.CaveatsOf(label.Origin), "no card") {
		t.Errorf("by the label: got %+v", label.Origin)
	}
	s.Minute(6)
	card := s.Card(s.A, 4300, stage.Day5600, 20, 0.002, s.Reading)
	s.Minute(8)
	learnt := from(8)
	stage.Near(t, "by cards", *learnt.Color.CCTKelvin, 1e6/(1e6/4300.0+20), 6)
	stage.Near(t, "Duv by cards", *learnt.Color.Duv, 0.002, 0.0003)
	if learnt.Origin.Confidence != "computed" || len(learnt.Origin.Records) != 2 || learnt.Origin.Records[1] != card {
		t.Errorf("by cards: got %+v", learnt.Origin)
	}
	again, _ := s.Book().Record(label.White)
	if got := setup.WhiteOf(s.Book(), again); *got.Color.CCTKelvin != *label.Color.CCTKelvin {
		t.Errorf("a later card moved a white that was chosen before: got %s, want %s", got.Color.Words, label.Color.Words)
	}
}

func TestNowJudgesByCardsWhereDeviationsDo(t *testing.T) {
	for apart, want := range map[float64]bool{1: true, 60: false} {
		s := stage.New(t)
		s.Minute(5)
		s.Card(s.B, 5600, stage.Day5600, 10, 0, s.Reading)
		s.Card(s.B, 5600, stage.Day5600, 10+apart, 0, s.Reading)
		s.Shoot("5600", "5600")
		n, err := glance.Now(s.Book(), s.SetUp, s.Clock)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range n.Cameras {
			if c.Camera == s.B && (c.CameraError == nil || c.Last == nil ||
				c.CameraError.Counts() != want || (c.Last.OffAimByCards != nil) != want) {
				t.Errorf("cards %g mired apart: got %+v, %+v; want a verdict by cards: %v", apart, c.CameraError, c.Last, want)
			}
		}
	}
}

// Cards that say too little move neither a camera in the plane nor its deviation.
func TestThePlaneAndTheDeviationsJudgeACameraAlike(t *testing.T) {
	for name, c := range map[string]struct {
		kelvin  float64 // of the card: 3200 is far from the setting
		outside bool
	}{"a card that was far off": {3200, false}, "a card near the setting": {5600, true}} {
		t.Run(name, func(t *testing.T) {
			s := stage.New(t)
			s.Minute(5)
			s.Shoot("5600", "5600")
			light, reading := stage.Day5600, s.Reading
			if c.kelvin == 3200 {
				light, reading = stage.Shift(stage.Day5600, 134, 0), s.Read(s.Light("bulb", "back", "intent", `"leave"`, "rigged/on", "true"), stage.OnLocus3200)
			}
			s.Card(s.B, c.kelvin, light, 30, 0, reading)
			p, err := glance.Plane(s.Book(), s.SetUp, s.Clock)
			if err != nil {
				t.Fatal(err)
			}
			for _, at := range p.Points {
				if at.Record == s.B && (at.Within == nil || *at.Within == c.outside || strings.Contains(at.Words, "by cards") != c.outside) {
					t.Errorf("plane: got %+v, want it outside %v", at, c.outside)
				}
			}
			if got := strings.Contains(stage.KindWords(s.Deviations(s.SetUp, 10)), deviation.SettingOffAim); got != c.outside {
				t.Errorf("deviations: off its aim is %v, want %v", got, c.outside)
			}
		})
	}
}

func TestNowSaysWhatToDialByCards(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Shoot("5600", "5600")
	before, err := glance.Now(s.Book(), s.SetUp, s.Clock)
	if err != nil {
		t.Fatal(err)
	}
	if c := before.Cameras[1]; c.Letter != "B" || c.CameraError != nil || c.DialByCards != nil {
		t.Fatalf("without cards: got %+v", c)
	}
	s.Card(s.B, 5600, stage.Day5600, 54, 0, s.Reading) // B's whites are 54 mired too warm
	got, err := glance.Now(s.Book(), s.SetUp, s.Clock)
	if err != nil {
		t.Fatal(err)
	}
	c := got.Cameras[1]
	if c.CameraError == nil || c.CameraError.Mired != 54 || c.DialByCards == nil {
		t.Fatalf("got %+v", c)
	}
	if l := c.Last; l == nil || *l.OffAim.Mired != 0 || l.OffAimByCards == nil || *l.OffAimByCards.Mired != -54 {
		t.Errorf("5600 K in light of 5600 K: got %+v, want 0 by the label and 54 mired cooler by cards", l)
	}
	// By the label 5600 K is neutral; by the card the preset of 7000 K is nearest: see TestMatchCountsInWhatCardsTaught.
	if c.Dial.Preset == "shade" || c.DialByCards.Preset != "shade" {
		t.Errorf("got %q by the label and %q by cards, want another setting by cards", c.Dial.Words, c.DialByCards.Words)
	}
}
