package advice_test

import (
	"errors"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

func TestMatchAnswersInSettingsThatExist(t *testing.T) {
	cases := []struct {
		name    string
		kelvinA string
		kelvin  float64
		second  float64
		mired   float64 // residual, + warmer
		within  bool
	}{
		{"the_same_kelvin", "5600", 5600, 6500, 0, true},
		// B has no 4500 K: 1e6/4500 − 1e6/4300 = −10 mired, cooler.
		{"the_nearest_there_is", "4500", 4300, 5600, -10, false},
		// 1e6/4350 − 1e6/4300 = −3 mired.
		{"within_the_limits", "4350", 4300, 5600, -3, true},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Minute(5)
			_, clip, _ := s.Shoot(c.kelvinA, "3200")
			a, err := advice.Match(s.Book(), advice.MatchQuery{SetUp: s.SetUp, Camera: s.B, To: s.A, Follow: true}, stage.Minute(6))
			if err != nil {
				t.Fatal(err)
			}
			if a.ToClip != clip || a.Basis != "from labels" || strings.Contains(a.Words, "matched") {
				t.Errorf("got clip %s, basis %q, words %q", a.ToClip, a.Basis, a.Words)
			}
			stage.Near(t, "kelvin", *a.Best.Kelvin, c.kelvin, 0)
			stage.Near(t, "second-best", *a.Second.Kelvin, c.second, 0)
			stage.Near(t, "residual", *a.Best.Residual.Mired, c.mired, 0)
			if a.Within != c.within {
				t.Errorf("within: got %v, want %v (%s)", a.Within, c.within, a.Best.Residual.Words)
			}
		})
	}
}

func TestMatchUsesTheNewestSettingElseThePlannedOne(t *testing.T) {
	s := stage.New(t)
	a := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`, "cameras/"+s.A.String()+"/plannedKelvin", "4300")
	got, err := advice.Match(s.Book(), advice.MatchQuery{SetUp: a, Camera: s.B, To: s.A, Follow: true}, stage.Minute(1))
	if err != nil {
		t.Fatal(err)
	}
	stage.Near(t, "kelvin", *got.Best.Kelvin, 4300, 0)
	if !strings.Contains(strings.Join(got.Origin.Caveats, "; "), "only planned") || got.Light != nil {
		t.Errorf("got caveats %q, light %v; want: only planned, no light", got.Origin.Caveats, got.Light)
	}
	s.Minute(5)
	s.Shoot("5600", "5600")
	s.Minute(7)
	s.Shoot("3200", "5600")
	s.Minute(9) // logged later, rolled before
	s.Clip(s.A, s.Take(), "6500", "startedAt", stage.Stamp(6))
	// to the reference camera
	got, err = advice.Match(s.Book(), advice.MatchQuery{SetUp: s.SetUp, Camera: s.B, Follow: true}, stage.Minute(10))
	if err != nil {
		t.Fatal(err)
	}
	stage.Near(t, "kelvin", *got.Best.Kelvin, 3200, 0)
	if got.To != s.A {
		t.Errorf("to: got %s, want the reference camera", got.To)
	}
}

func TestMatchThatCannotBeAnswered(t *testing.T) {
	s := stage.New(t)
	empty := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"C"`)
	for _, c := range []struct {
		name string
		m    advice.MatchQuery
		want error
	}{
		{"no_such_set_up", advice.MatchQuery{SetUp: logbook.ID{1: 1}, Camera: s.B, To: s.A, Follow: true}, logbook.ErrNoRecord},
		{"no_such_camera", advice.MatchQuery{SetUp: s.SetUp, Camera: s.Key, To: s.A}, logbook.ErrNoRecord},
		{"a_camera_to_itself", advice.MatchQuery{SetUp: s.SetUp, Camera: s.A, To: s.A}, advice.ErrItself},
		{"nothing_is_known_of_the_other", advice.MatchQuery{SetUp: empty, Camera: s.B, To: s.A, Follow: true}, figure.ErrUnknown},
	} {
		if got, err := advice.Match(s.Book(), c.m, stage.Minute(5)); !errors.Is(err, c.want) {
			t.Errorf("%s: got %+v, %v, want %v", c.name, got, err, c.want)
		}
	}
}

// Where nobody knows the light, pictures are compared in the one that the other camera
// renders neutral, and the answer says so.
func TestMatchWithoutAnyLightSaysSo(t *testing.T) {
	s := stage.New(t)
	s.SetUp = s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`, "referenceCamera", stage.Ref(s.A),
		"cameras/"+s.A.String()+"/inUse", "true", "cameras/"+s.B.String()+"/inUse", "true")
	s.Minute(5)
	s.Clip(s.A, s.Take(), "4300")
	got := s.Match()
	if got.Best.Words != "4300 K" || got.Light != nil || !strings.Contains(stage.CaveatsOf(got.Origin), "the light is not known") ||
		got.Basis != "from labels" || got.Matched {
		t.Errorf("got %q, light %+v, basis %q, %q", got.Best.Words, got.Light, got.Basis, stage.CaveatsOf(got.Origin))
	}
}

// What cards say of the camera that is matched to counts as much as what they say of
// the other: A on 5600 K whose white is really 20 mired warmer is met by B at
// 1e6/(178.6+20) = 5036 K, and a B that is 20 mired off as well by 5600 K.
func TestMatchCountsInTheErrorOfTheCameraThatIsMatchedTo(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "kelvinValues", "null", "kelvinRanges", `[{"min":2500,"max":9900,"step":20}]`)
	s.Minute(5)
	s.Clip(s.A, s.Take(), "5600")
	if got := s.Match(); got.Best.Words != "5600 K" || got.Basis != "from labels" {
		t.Errorf("by labels: got %q, basis %q", got.Best.Words, got.Basis)
	}
	s.Card(s.A, 5600, stage.Day5600, 20, 0, s.Reading)
	got := s.Match()
	if k := got.Best.Kelvin; k == nil || *k != 5040 || got.ToError == nil || got.ToError.Mired != 20 {
		t.Errorf("with a card of A: got %+v, error of A %+v, want 5040 K", got.Best, got.ToError)
	}
	s.Card(s.B, 5600, stage.Day5600, 20, 0, s.Reading)
	if got := s.Match(); got.Best.Words != "5600 K" || got.Basis != "from samples" {
		t.Errorf("with cards of both: got %+v, basis %q, want 5600 K", got.Best, got.Basis)
	}
}

// Where tint 0 lies on the daylight locus, the white of a kelvin does; that locus is
// 0.0032 above the black body. Where nobody knows, it is taken for what a nominal white is.
func TestWhereTintZeroLiesMovesTheWhiteOfALabel(t *testing.T) {
	for zero, want := range map[string]float64{"blackBody": 0, "daylight": 0.0033, "blend": 0.0033, "unknown": 0.0033} {
		s := stage.New(t)
		s.Set(s.BodyA, "tintZero", stage.Quoted(zero))
		s.Minute(5)
		s.Clip(s.A, s.Take(), "5600")
		got := s.Match()
		stage.Near(t, "Duv on "+zero, *got.ToSetting.White.Duv, want, 0.0001)
		if said := strings.Contains(stage.CaveatsOf(got.Origin), "not known"); said != (zero == "unknown") {
			t.Errorf("%s: got %q", zero, stage.CaveatsOf(got.Origin))
		}
	}
}
