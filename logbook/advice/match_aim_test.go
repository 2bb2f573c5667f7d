package advice_test

import (
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

func matchOf(t *testing.T, s *stage.Stage, camera, to logbook.ID, follow bool) advice.Matched {
	t.Helper()
	a, err := advice.Match(s.Book(), advice.MatchQuery{SetUp: s.SetUp, Camera: camera, To: to, Follow: follow}, s.Clock)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// The aim of the set-up answers what to dial on B, in a match as in now; that A is itself
// 10 mired off (1e6/5600 − 1e6/5300) is said beside it, and following A is another answer.
func TestAMatchIsForTheAimOfTheSetUp(t *testing.T) {
	for _, c := range []struct {
		name            string
		log             func(s *stage.Stage)
		best, following string
		basis, aboutA   string
		offMired        float64
	}{
		{"by_labels", func(s *stage.Stage) { s.Clip(s.A, s.Take(), "5300") }, "5600 K", "5300 K", "from labels", "; camera A itself is 10 mired too cool", -10},
		{"A_on_its_aim", func(s *stage.Stage) { s.Clip(s.A, s.Take(), "5600") }, "5600 K", "5600 K", "from labels", "", 0},
		{"A_a_little_off", func(s *stage.Stage) { s.Clip(s.A, s.Take(), "5400") }, "5600 K", "5400 K", "from labels", "", 0},
		// B is 20 mired too warm by a card: 1e6/(178.6 − 20) = 6306.
		{"by_a_card_of_B", func(s *stage.Stage) {
			s.Clip(s.A, s.Take(), "5300")
			s.Card(s.B, 5600, stage.Day5600, 20, 0, s.Reading)
		}, "6300 K", "5900 K", "from samples", "; camera A itself is 10 mired too cool", -10},
		{"by_cards_of_B_that_say_too_little", func(s *stage.Stage) {
			s.Clip(s.A, s.Take(), "5300")
			s.Card(s.B, 5600, stage.Day5600, 20, 0, s.Reading)
			s.Card(s.B, 5600, stage.Day5600, 80, 0, s.Reading)
		}, "5600 K", "", "from labels", "; camera A itself is 10 mired too cool", -10},
		{"A_is_right_by_its_card", func(s *stage.Stage) {
			s.Clip(s.A, s.Take(), "5300")
			s.Card(s.A, 5300, stage.Day5600, -10, 0, s.Reading)
		}, "5600 K", "5600 K", "from labels", "", 0},
		{"nobody_knows_the_tint_0_of_A", func(s *stage.Stage) {
			s.Set(s.BodyA, "tintZero", "null")
			s.Clip(s.A, s.Take(), "5600")
		}, "5600 K", "5500 K", "from labels", "; whether camera A itself is on its aim can't be told", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "kelvinValues", "null", "presets/shade", "null", "kelvinRanges", `[{"min":2500,"max":9900,"step":100}]`)
			s.Minute(5)
			c.log(s)
			a := matchOf(t, s, s.B, s.A, false)
			if a.For != "aim" || a.Best.Words != c.best || a.Basis != c.basis {
				t.Errorf("got for %s %q %s, want %q %s", a.For, a.Best.Words, a.Basis, c.best, c.basis)
			}
			if a.Following != nil && c.following != "" && a.Following.Best.Words != c.following {
				t.Errorf("following: got %q, want %q", a.Following.Best.Words, c.following)
			}
			if !strings.Contains(a.Words, c.aboutA) || c.aboutA == "" && strings.Contains(a.Words, "itself") {
				t.Errorf("got %q, want it with %q", a.Words, c.aboutA)
			}
			if got := a.ToOffAim; (got != nil) != (c.offMired != 0) || got != nil && *got.Mired != c.offMired {
				t.Errorf("A off its aim: got %+v, want %g mired", got, c.offMired)
			}
			n, err := glance.Now(s.Book(), s.SetUp, s.Clock)
			if err != nil || n.Cameras[1].ToDial == nil || n.Cameras[1].ToDial.Words != a.Best.Words {
				t.Errorf("now says %+v, a match %q", n.Cameras[1].ToDial, a.Best.Words)
			}
			followed := matchOf(t, s, s.B, s.A, true)
			if a.Following == nil || followed.For != "camera" || followed.Best.Words != a.Following.Best.Words {
				t.Errorf("asked to follow: got %s %q, want what stands in following", followed.For, followed.Best.Words)
			}
		})
	}
}

func TestAMatchWithoutAnAimFollowsTheOtherCamera(t *testing.T) {
	s := stage.New(t)
	s.Set(s.White, "struckOut", `{"reason":"another"}`)
	s.Minute(5)
	s.Clip(s.A, s.Take(), "4300")
	a := matchOf(t, s, s.B, s.A, false)
	if a.For != "camera" || a.Best.Words != "4300 K" || a.Following != nil ||
		!strings.Contains(a.Words, "there is no aim here, so that B follows A") {
		t.Errorf("got for %s %q: %q", a.For, a.Best.Words, a.Words)
	}
	if a = matchOf(t, s, s.B, s.A, true); strings.Contains(a.Words, "there is no aim") {
		t.Errorf("it was asked to follow: got %q", a.Words)
	}
}

// What to dial needs nothing of the other camera where there is an aim.
func TestAMatchWithAnUnknownCameraIsForTheAim(t *testing.T) {
	s := stage.New(t)
	c := s.Add(kinds.Camera, "letter", `"C"`, "body", `{"body":`+stage.Ref(s.BodyA)+`}`)
	a := matchOf(t, s, s.B, c, false)
	if a.For != "aim" || a.Best.Words != "5600 K" || a.ToSetting.Words != "not known" || a.Following != nil {
		t.Errorf("got for %s %q, to %q", a.For, a.Best.Words, a.ToSetting.Words)
	}
	if _, err := advice.Match(s.Book(), advice.MatchQuery{SetUp: s.SetUp, Camera: s.B, To: c, Follow: true}, s.Clock); err == nil {
		t.Error("a camera that nothing is known of was followed")
	}
}
