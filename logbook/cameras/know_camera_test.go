package cameras_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

// onTint is the settings of a card at a tint.
func onTint(kelvin, tint float64) string {
	return fmt.Sprintf(`{"whiteMode":"kelvin","kelvin":%g,"tint":%g}`, kelvin, tint)
}

// What bodies have on them: each row is another B, asked to match A at 4500 K and
// tint 0 in light of 4500 K.
func TestMatchOnWhateverABodyHas(t *testing.T) {
	for _, c := range []struct {
		name   string
		fields []string
		light  string // of the reading
		a      string // what A is set to, in kelvin
		want   string // of B
		mired  float64
	}{
		{"presets_only", []string{"whiteModes", `["preset"]`, "presets/bulb", `{"name":"bulb","kelvin":3200}`, "presets/sun", `{"name":"sun","kelvin":5200}`}, "4500", "4500", "preset sun", 30},
		{"steps_of_100_K", []string{"whiteModes", `["kelvin"]`, "kelvinRanges", `[{"min":2500,"max":10000,"step":100}]`}, "4500", "4450", "4500 K", 2},
		{"several_ranges", []string{"whiteModes", `["kelvin"]`, "kelvinRanges", `[{"min":2500,"max":3600,"step":20},{"min":3800,"max":9000,"step":200}]`}, "4500", "4500", "4600 K", 5},
		{"the_gap_between_two_ranges", []string{"whiteModes", `["kelvin"]`, "kelvinRanges", `[{"min":2500,"max":3600,"step":100},{"min":5000,"max":9000,"step":100}]`}, "4500", "4500", "5000 K", 22},
		{"ranges_that_end_at_2500", []string{"whiteModes", `["kelvin"]`, "kelvinRanges", `[{"min":2500,"max":10000,"step":100}]`}, "2200", "2200", "2500 K", 55},
		{"ranges_that_end_at_10000", []string{"whiteModes", `["kelvin"]`, "kelvinRanges", `[{"min":2500,"max":10000,"step":100}]`}, "11000", "11000", "10000 K", -9},
		{"an_amber_blue_axis_where_plus_is_amber", []string{"whiteModes", `["preset"]`, "presets/sun", `{"name":"sun","kelvin":5000}`, "amberBlue", `{"min":-7,"max":7,"step":1,"miredPerUnit":5,"plusIs":"amber"}`}, "4500", "4500", "preset sun, amber–blue -4", 2},
		{"an_amber_blue_axis_where_plus_is_blue", []string{"whiteModes", `["preset"]`, "presets/sun", `{"name":"sun","kelvin":5000}`, "amberBlue", `{"min":-7,"max":7,"step":1,"miredPerUnit":5,"plusIs":"blue"}`}, "4500", "4500", "preset sun, amber–blue +4", 2},
		{"custom_from_a_card_without_a_kelvin", []string{"whiteModes", `["customFromCard"]`}, "4500", "4600", "custom white from a card", -5},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Minute(3)
			reading := s.Read(s.Key, fmt.Sprintf(`{"as":"cctDuv","cctKelvin":%s,"duv":0}`, c.light))
			s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, stage.Ref(reading)), "appliesFrom", `{"as":"time","at":`+stage.Stamp(3)+`}`)
			body := s.Add(kinds.Body, append([]string{"label", `"another"`, "tintZero", `"blackBody"`, "timecode", `"timeOfDay"`}, c.fields...)...)
			other := s.Add(kinds.Camera, "letter", `"C"`, "body", fmt.Sprintf(`{"body":%s}`, stage.Ref(body)))
			s.Minute(5)
			s.Clip(s.A, s.Take(), c.a)
			a, err := advice.Match(s.Book(), advice.MatchQuery{SetUp: s.SetUp, Camera: other, To: s.A}, s.Clock)
			if err != nil {
				t.Fatal(err)
			}
			if a.Best.Words != c.want {
				t.Errorf("got %q, want %q", a.Best.Words, c.want)
			}
			stage.Near(t, "residual in mired", *a.Best.Residual.Mired, c.mired, 0.6)
			if a.Best.Residual.Steps == nil || a.Best.DeltaE00 == nil || (*a.Best.Residual.Steps > 1.5) != (*a.Best.DeltaE00 > 0.6) {
				t.Errorf("steps and ΔE00: got %+v, %v", a.Best.Residual, a.Best.DeltaE00)
			}
			if strings.HasPrefix(c.name, "custom") {
				if a.Second != nil || !strings.Contains(stage.CaveatsOf(a.Origin), "shoot a card") {
					t.Errorf("got second %+v, caveats %q", a.Second, stage.CaveatsOf(a.Origin))
				}
			} else if a.Second == nil && !strings.Contains(c.name, "sun") {
				t.Errorf("there is no second-best: %+v", a)
			}
		})
	}
}

func TestTintGoesTheWayThatTheBodyCounts(t *testing.T) {
	for plus, want := range map[string]string{"magenta": "5600 K, tint +6", "green": "5600 K, tint -6"} {
		s := stage.New(t)
		s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "tint", fmt.Sprintf(`{"min":-20,"max":20,"step":1,"duvPerUnit":0.0005,"plusIs":%q}`, plus))
		s.Minute(5)
		// A stands at tint +3 of 0.001 Duv each, + magenta: its white is 0.003 greener as a light.
		s.Clip(s.A, s.Take(), "5600", "tint", "3")
		if got := s.Match().Best.Words; got != want {
			t.Errorf("plus is %s: got %q, want %q", plus, got, want)
		}
	}
}

func TestAnUnknownTintUnitIsLearntFromTwoCards(t *testing.T) {
	for _, c := range []struct {
		name    string
		logged  string // what the body's record says of +
		moves   float64
		want    string
		caveats string
	}{
		{"as_logged", "magenta", 0.0005, "5600 K, tint +6", "0.00050 Duv"},
		{"another_size", "magenta", 0.001, "5600 K, tint +3", "0.00100 Duv"},
		{"the_other_way_round", "magenta", -0.0005, "5600 K, tint -6", "though the body is logged with + as magenta"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "tint", fmt.Sprintf(`{"min":-20,"max":20,"step":1,"plusIs":%q}`, c.logged))
			s.Minute(5)
			s.Clip(s.A, s.Take(), "5600", "tint", "3") // a white of Duv +0.003
			before := s.Match()
			if f := before.Best.Tint; f == nil || *f != 0 || !strings.Contains(stage.CaveatsOf(before.Origin), "not known") {
				t.Errorf("without cards: got %+v, %q", before.Best, stage.CaveatsOf(before.Origin))
			}
			s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, "settings", onTint(5600, 0))
			if got := s.Match().Best.Tint; *got != 0 {
				t.Errorf("one card teaches no unit: got tint %v", *got)
			}
			s.Card(s.B, 5600, stage.Day5600, 0, 10*c.moves, s.Reading, "settings", onTint(5600, 10))
			got := s.Match()
			if got.Best.Words != c.want || !strings.Contains(stage.CaveatsOf(got.Origin), c.caveats) {
				t.Errorf("got %q, %q; want %q, %q", got.Best.Words, stage.CaveatsOf(got.Origin), c.want, c.caveats)
			}
		})
	}
	t.Run("not_from_cards_under_two_families_of_lamps", func(t *testing.T) {
		s := stage.New(t)
		s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "tint", `{"min":-20,"max":20,"step":1,"plusIs":"magenta"}`)
		tube := s.Light("tube", "fill", "lamp", stage.Ref(s.Add(kinds.Lamp, "name", `"tube"`, "family", `"fluorescent"`)))
		s.Minute(5)
		other := s.Read(tube, stage.OnLocus5600)
		s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, "settings", onTint(5600, 0))
		s.Card(s.B, 5600, stage.Day5600, 0, 0.005, other, "settings", onTint(5600, 10))
		body, _ := s.Book().Record(s.BodyB)
		if unit, _, ok := cameras.LearnTint(body); ok {
			t.Errorf("two families taught a unit of %v", unit)
		}
	})
	t.Run("not_from_cards_that_differ_by_their_digits", func(t *testing.T) {
		s := stage.New(t)
		s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "tint", `{"min":-20,"max":20,"step":1,"plusIs":"magenta"}`)
		rgb := func(g int) string {
			return fmt.Sprintf(`{"as":"codeValues","r":107,"g":%d,"b":107,"bits":8,"range":"full","encoding":"bt1886","primaries":"bt709"}`, g)
		}
		s.Minute(5)
		s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, "settings", onTint(5600, 0), "rgb", rgb(107))
		s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, "settings", onTint(5600, 1), "rgb", rgb(106))
		body, _ := s.Book().Record(s.BodyB)
		if unit, spread, ok := cameras.LearnTint(body); ok {
			t.Errorf("one code of 8 bits taught a unit of %v ± %v", unit, spread)
		}
	})
}

func TestACameraWithoutALabelIsMatchedByItsCard(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Clip(s.A, s.Take(), "", "whiteMode", `"autoHeld"`, "kelvin", "null")
	if got, err := advice.Match(s.Book(), advice.MatchQuery{SetUp: s.SetUp, Camera: s.B, To: s.A}, s.Clock); err == nil {
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

func TestAWhiteFromACameraSettingGoesThroughTheLearntError(t *testing.T) {
	s := stage.New(t)
	from := func(at int) setup.White {
		id := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"cameraSetting","camera":%s,"kelvin":4300}`, stage.Ref(s.A)), "appliesFrom", fmt.Sprintf(`{"as":"time","at":%s}`, stage.Stamp(at)))
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
	if got := s.Match().CameraError; got.Confidence != "poor" || !(got.SpreadMired > 8) {
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
		got, ok := cameras.ErrorByCards(s.Book(), body, cameras.ErrorQuery{Family: family, Label: stage.Day5600, Now: s.Clock})
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
	got, ok := cameras.ErrorByCards(s.Book(), body, cameras.ErrorQuery{Label: stage.Day5600, Now: s.Clock, Inferred: true})
	if words := strings.Join(got.Caveats, "; "); !ok || len(got.Samples) != 2 || !strings.Contains(words, "inferred") || strings.Contains(words, "several families") {
		t.Errorf("got %+v, want two cards, one of them inferred, and no word of several families", got)
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
			if c.Camera == s.B && (c.CameraError == nil || c.Last == nil || c.CameraError.Counts() != want || (c.Last.OffAimByCards != nil) != want) {
				t.Errorf("cards %g mired apart: got %+v, %+v; want a verdict by cards: %v", apart, c.CameraError, c.Last, want)
			}
		}
	}
}

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
	m, err := advice.Match(s.Book(), advice.MatchQuery{SetUp: s.SetUp, Camera: s.A, To: s.B}, s.Clock)
	if err != nil || m.ToError != nil || m.Best.Kelvin == nil || *m.Best.Kelvin != 5600 {
		t.Errorf("match: got %+v (%v), want A at 5600 K and no error of B's dial", m, err)
	}
	correction, err := advice.Correct(s.Book(), clip, s.Clock)
	if err != nil || correction.CameraError != nil {
		t.Errorf("correction: got %+v (%v), want none of the dial's error in it", correction.CameraError, err)
	}
}

// A dial of 100 K whose tint 0 is the black body: towards a green aim the lower kelvin is
// nearer in the picture, and it is said why.
func TestADialThatIsNotTheNearestSaysWhy(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "presets/shade", "null", "kelvinValues", "null", "kelvinRanges", `[{"min":2500,"max":9900,"step":100}]`)
	why := func(duv string) (string, float64) {
		t.Helper()
		s.Minute(1)
		reading := s.Read(s.Key, `{"as":"cctDuv","cctKelvin":5600,"duv":`+duv+`}`)
		s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, stage.Ref(reading)), "appliesFrom", `{"as":"time","at":"`+s.Clock.Time().Format("2006-01-02T15:04:05Z")+`"}`)
		n, err := glance.Now(s.Book(), s.SetUp, s.Clock)
		if err != nil || n.Cameras[1].Dial == nil || n.Cameras[1].Dial.Kelvin == nil {
			t.Fatalf("got %+v (%v)", n.Cameras, err)
		}
		return n.Cameras[1].Dial.Why, *n.Cameras[1].Dial.Kelvin
	}
	if words, kelvin := why("0"); words != "" || kelvin != 5600 {
		t.Errorf("on the locus: got %v K, %q, want 5600 K and no word", kelvin, words)
	}
	words, kelvin := why("0.006")
	if kelvin == 5600 || !strings.HasPrefix(words, "5600 K, which is nearer by its label, would leave ") {
		t.Fatalf("got %v K, %q, want another dial and why not 5600 K", kelvin, words)
	}
	raised := stage.DeviationOf(t, s.Deviations(s.SetUp, 10), deviation.AimNotReachable)
	if !strings.HasSuffix(raised.Words, "; "+words) {
		t.Errorf("raised is %q, want it with %q", raised.Words, words)
	}
	var other, chosen float64
	if _, err := fmt.Sscanf(words, "5600 K, which is nearer by its label, would leave %f steps and not %f", &other, &chosen); err != nil || other < chosen+0.4 {
		t.Errorf("got %q (%v), want 5600 K worse by half a step or more", words, err)
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

func TestACustomWhiteOfNoCardHasNoLabel(t *testing.T) {
	s := stage.New(t)
	body, _ := s.Book().Record(s.BodyB)
	if _, _, err := (cameras.Setting{Mode: "customFromCard"}).LabelWhite(s.Book(), body); !errors.Is(err, figure.ErrUnknown) || !strings.Contains(err.Error(), "which card") {
		t.Errorf("got %v, want that the card is not said", err)
	}
}

// It is said why, where the kelvin nearest by its label leaves half a step more than the
// one advised, and only there.
func TestWhyIsSaidWhereItMatters(t *testing.T) {
	s := stage.New(t)
	s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "presets/shade", "null", "kelvinValues", "null", "kelvinRanges", `[{"min":2500,"max":9900,"step":100}]`)
	book := s.Book()
	body, _ := book.Record(s.BodyB)
	check := func(t rapid.TB, aim colorimetry.CCTDuv, off colorimetry.Cast) (said bool) {
		light, err := aim.XY()
		if err != nil {
			t.Fatal(err)
		}
		best, _, _, err := cameras.NewMemo(book).WhatToDialWith(body, aim, light, off)
		if err != nil {
			t.Skip("no setting")
		}
		nearest, apart := 0.0, math.Inf(1)
		for k := 2500.0; k <= 9900; k += 100 {
			if d := math.Abs(1e6/k + float64(off.Mired) - 1e6/float64(aim.CCT)); d < apart {
				nearest, apart = k, d
			}
		}
		white, err := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(1e6 / (1e6/nearest + float64(off.Mired)))}.XY()
		if err != nil {
			t.Skip("a white outside")
		}
		picture, err := colorimetry.Picture(light, white, colorimetry.CAT16)
		if err != nil {
			t.Fatal(err)
		}
		worse := colorimetry.StepsFromNeutral(picture) - *best.Residual.Steps
		if math.Abs(worse-0.5) < 0.06 {
			t.Skip("on the edge: steps are rounded")
		}
		words := cameras.WhyNotNearest(body, aim, light, off, best)
		if want := *best.Kelvin != nearest && worse > 0.5; (words != "") != want || want && !strings.HasPrefix(words, fmt.Sprintf("%g K", nearest)) {
			t.Fatalf("%v K is advised, %v K is nearest by its label and leaves %.2f steps more: got %q", *best.Kelvin, nearest, worse, words)
		}
		return words != ""
	}
	if !check(t, colorimetry.CCTDuv{CCT: 5600, Duv: 0.006}, colorimetry.Cast{}) {
		t.Error("nothing was said")
	}
	rapid.Check(t, func(t *rapid.T) {
		aim := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(rapid.Float64Range(2700, 9000).Draw(t, "aim")), Duv: colorimetry.Duv(rapid.Float64Range(-0.006, 0.006).Draw(t, "Duv"))}
		check(t, aim, colorimetry.Cast{Mired: colorimetry.Mired(rapid.Float64Range(-30, 30).Draw(t, "error"))})
	})
}
