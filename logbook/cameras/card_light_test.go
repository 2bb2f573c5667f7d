package cameras_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

// A custom white renders its card neutral: what the dial of the body errs does not come in.
func TestACustomWhiteHasNoErrorOfTheDial(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Card(s.B, 5600, stage.Day5600, 30, 0, s.Reading) // the dial of B errs by 30 mired
	card := s.Card(s.B, 5600, stage.Day5600, 30, 0, s.Reading)
	s.Clip(s.A, s.Take(), "5600")
	take := s.Take()
	clip := s.Add(kinds.Clip, "setUp", stage.Ref(s.SetUp), "camera", stage.Ref(s.B), "body", stage.Ref(s.BodyB), "takes/"+take.String(), "{}",
		"whiteMode", `"customFromCard"`, "customFrom", stage.Ref(card), "startedAt", `"`+s.Clock.Time().Format("2006-01-02T15:04:05Z")+`"`)
	n, err := glance.Now(s.Book(), s.SetUp, s.Clock)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range n.Cameras {
		if c.Camera == s.B && (c.Last == nil || c.Last.OffAim == nil || *c.Last.OffAim.Mired != 0 || c.Last.OffAimByCards != nil) {
			t.Errorf("now: got %+v, want B on its aim, and nothing by cards", c.Last)
		}
	}
	for _, d := range deviation.Of(s.Book(), deviation.Scope{SetUp: s.SetUp}, s.Clock) {
		if (d.Kind == deviation.SettingOffAim || d.Kind == deviation.CamerasDiffer) && strings.Contains(d.Words, "custom white") {
			t.Errorf("got %q, want B on its white", d.Words)
		}
	}
	p, err := glance.Plane(s.Book(), s.SetUp, s.Clock)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range p.Points {
		if c.Record == s.B && (c.Color.CCTKelvin == nil || *c.Color.CCTKelvin != 5600 || !strings.Contains(c.Words, "from a card: 5600 K")) {
			t.Errorf("plane: got %+v, want B's white at the light of its card", c)
		}
	}
	m, err := advice.Match(s.Book(), advice.MatchQuery{SetUp: s.SetUp, Camera: s.A, To: s.B, Follow: true}, s.Clock)
	if err != nil || m.ToError != nil || m.Best.Kelvin == nil || *m.Best.Kelvin != 5600 {
		t.Errorf("match: got %+v (%v), want A at 5600 K and no error of B's dial", m, err)
	}
	correction, err := advice.Correct(s.Book(), clip, s.Clock)
	if err != nil || correction.CameraError != nil {
		t.Errorf("correction: got %+v (%v), want none of the dial's error in it", correction.CameraError, err)
	}
}

func TestACustomWhiteFromACardWhoseLightWasNotMeasured(t *testing.T) {
	s := stage.New(t)
	s.Minute(4)
	id := s.Card(s.A, 5600, colorimetry.CCTDuv{CCT: 4800, Duv: 0.003}, 0, 0, logbook.ID{})
	white := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"customFromCard","sample":%s}`, stage.Ref(id)), "appliesFrom", `{"as":"time","at":`+stage.Stamp(4)+`}`)
	b := s.Book()
	v, _ := b.Record(white)
	got := setup.WhiteOf(b, v)
	if got.Color == nil {
		t.Fatalf("got %+v", got)
	}
	stage.Near(t, "kelvin", *got.Color.CCTKelvin, 4800, 2)
	stage.Near(t, "Duv", *got.Color.Duv, 0.003, 0.0001)
	if got.Origin.Confidence != "label" {
		t.Errorf("confidence: got %q, want label", got.Origin.Confidence)
	}
}
