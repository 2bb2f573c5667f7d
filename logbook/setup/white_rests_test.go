package setup_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

// resolved is a white of the stage as it reads now.
func resolved(s *stage.Stage, id logbook.ID) setup.White {
	s.T.Helper()
	b := s.Book()
	v, ok := b.RecordOf(kinds.White, id)
	if !ok {
		s.T.Fatalf("no white %s", id)
	}
	return setup.WhiteOf(b, v)
}

// dated is a reading of a light, or of everything where it is none, that is entered now and
// says it was made at a minute.
func dated(s *stage.Stage, light logbook.ID, measured string, minute int, more ...string) logbook.ID {
	s.T.Helper()
	of := `{"as":"everything"}`
	if !light.IsZero() {
		of = `{"as":"light","light":` + stage.Ref(light) + `}`
	}
	return s.Add(kinds.Reading, append([]string{"setUp", stage.Ref(s.SetUp), "measured", measured, "takenAt", stage.Stamp(minute), "of", of,
		"illuminance", `{"value":800,"unit":"lux"}`}, more...)...)
}

// listOf is what the service would write into a white with a rule.
func listOf(s *stage.Stage, rule string) string {
	s.T.Helper()
	list, ok := setup.RestsOn(s.Book(), []logbook.Change{
		{Field: "setUp", Value: logbook.IDValue(s.SetUp)}, {Field: "from", Value: logbook.Value(rule)},
	}, s.Clock)
	if !ok {
		s.T.Fatalf("what %s rests on can't be told", rule)
	}
	return string(list)
}

// Whatever comes in after a white was chosen, dated before it or not: one with its list keeps
// its colour, and so does one without, but for what was entered before it.
func TestAChosenWhiteStaysAsItWas(t *testing.T) {
	for _, c := range whiteCases {
		for _, listed := range []bool{true, false} {
			t.Run(fmt.Sprintf("%s_listed_%v", c.name, listed), func(t *testing.T) {
				s := stage.New(t)
				rule := c.rule(s)
				s.Minute(60)
				more := []string{}
				if listed {
					more = append(more, "restsOn", listOf(s, rule))
				}
				before := s.WhiteFrom(rule, more...)
				if before.Color == nil {
					t.Fatalf("no colour: %s", before.Problem)
				}
				if says := strings.Contains(stage.CaveatsOf(before.Origin), "worked out, not recorded"); says !=
					(!listed && before.From != "readings" && before.From != "nominal") {
					t.Errorf("caveats: got %q", before.Origin.Caveats)
				}
				for _, came := range afterwards {
					s.Minute(61)
					came.tell(s)
					after := resolved(s, before.White)
					if after.Color == nil || after.Color.XY != before.Color.XY {
						t.Errorf("%s: got %+v (%s), want %s", came.name, after.Color, after.Problem, before.Color.Words)
					}
				}
			})
		}
	}
}

// afterwards is what comes in after a white was chosen.
var afterwards = []struct {
	name string
	tell func(s *stage.Stage)
}{
	{"a reading of the key, dated before", func(s *stage.Stage) {
		dated(s, s.Key, stage.CctDuv(4000, 0), 50)
	}},
	{"a reading of everything, dated before", func(s *stage.Stage) { dated(s, logbook.ID{}, stage.CctDuv(3000, 0), 51) }},
	{"a reading that replaces one", func(s *stage.Stage) { s.Read(s.Key, stage.CctDuv(4100, 0), "supersedes", stage.Ref(s.Reading)) }},
	{"a light", func(s *stage.Stage) {
		dated(s, s.Light("torch", "fill"), stage.CctDuv(2500, 0), 52)
	}},
	{"a card of the body, dated before", func(s *stage.Stage) {
		s.Add(kinds.Sample, "setUp", stage.Ref(s.SetUp), "camera", stage.Ref(s.A), "body", stage.Ref(s.BodyA), "takenAt", stage.Stamp(53),
			"settings", `{"whiteMode":"kelvin","kelvin":4300}`, "light", fmt.Sprintf(`{"as":"reading","reading":%s}`, stage.Ref(s.Reading)),
			"rgb", `{"as":"percent","r":44,"g":41,"b":40,"encoding":"bt1886","primaries":"bt709"}`)
	}},
	{"a white of every other set-up", func(s *stage.Stage) {
		for _, v := range s.Book().Records(kinds.SetUp) {
			if v.ID != s.SetUp {
				s.Add(kinds.White, "setUp", stage.Ref(v.ID), "from", nominal(9000), "appliesFrom", fromStart)
			}
		}
	}},
	{"a take", func(s *stage.Stage) { s.Take() }},
	{"strikes of every reading, card and white of another set-up", func(s *stage.Stage) {
		b := s.Book()
		for _, kind := range []logbook.Kind{kinds.Reading, kinds.Sample, kinds.White} {
			for _, v := range b.Records(kind) {
				if kind != kinds.White || v.Ref("setUp") != s.SetUp {
					s.Set(v.ID, "struckOut", `{"reason":"typed wrong"}`)
				}
			}
		}
	}},
	{"and they are deleted, and every light", func(s *stage.Stage) {
		for _, v := range s.Book().Records(kinds.Light) {
			s.Set(v.ID, "deleted", "true")
		}
		for _, v := range s.Book().Records(kinds.Reading) {
			s.Set(v.ID, "deleted", "true")
		}
		for _, v := range s.Book().Records(kinds.Sample) {
			s.Set(v.ID, "deleted", "true")
		}
	}},
}

// The mix is chosen at minute 30; a reading made at minute 10 is entered at minute 61. Without
// the list it is as the readings stood when it was entered.
func TestAReadingEnteredLateMovesNoMix(t *testing.T) {
	for _, listed := range []bool{true, false} {
		s := stage.New(t)
		s.Mixed()
		s.Minute(30)
		more := []string{"setUp", stage.Ref(s.SetUp), "from", `{"as":"mix"}`, "appliesFrom", fromNumber(1)}
		if listed {
			more = append(more, "restsOn", listOf(s, `{"as":"mix"}`))
		}
		id := s.Add(kinds.White, more...)
		s.Minute(61)
		dated(s, s.Key, stage.CctDuv(3581, 0), 10)
		stage.Near(t, "the mix", *resolved(s, id).Color.CCTKelvin, 4138, 1)
	}
}

// A take that is entered afterwards names another sky for the time before: the window's reading
// stood under the sky that was known.
func TestASkyEnteredLateMovesNoMix(t *testing.T) {
	s := stage.New(t)
	window := s.Light("window", "fill", "sky", `"cloud"`)
	s.Minute(10)
	s.Read(window, stage.OnLocus3200, "sky", `"cloud"`, "illuminance", `{"value":800,"unit":"lux"}`)
	s.Minute(30)
	id := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"mix"}`, "appliesFrom", fromNumber(1))
	stage.Near(t, "the mix", *resolved(s, id).Color.CCTKelvin, 4138, 1)
	s.Minute(61)
	s.Add(kinds.Take, "setUp", stage.Ref(s.SetUp), "number", "1", "sky", `"sun"`, "startedAt", stage.Stamp(20))
	if w := resolved(s, id); w.Color == nil {
		t.Fatalf("no colour: %s", w.Problem)
	}
	stage.Near(t, "the mix", *resolved(s, id).Color.CCTKelvin, 4138, 1)
}

// What was entered before the choice and is dated after it does not stand in for a reading.
func TestNoReadingAfterAWhiteStandsInForOneBefore(t *testing.T) {
	s := stage.New(t)
	bulb := s.Light("bulb", "fill")
	s.Minute(20)
	dated(s, bulb, stage.OnLocus3200, 40)
	s.Minute(30)
	for _, rule := range []string{`{"as":"mix"}`, fmt.Sprintf(`{"as":"compromise","lights":[{"light":%s}]}`, stage.Ref(bulb))} {
		id := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", rule, "appliesFrom", fromNumber(1))
		if w := resolved(s, id); w.Color != nil {
			t.Errorf("%s: got %s, want none", rule, w.Color.Words)
		}
	}
}

func TestAListCountsFromTheEditOfTheRuleAlone(t *testing.T) {
	s := stage.New(t)
	warm := s.Read(s.Light("bulb", "fill"), stage.OnLocus3200, "illuminance", `{"value":800,"unit":"lux"}`)
	s.Minute(30)
	id := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"mix"}`, "appliesFrom", fromNumber(1))
	before := resolved(s, id)
	s.Set(id, "restsOn", fmt.Sprintf(`[{"record":%s}]`, stage.Ref(warm)))
	if after := resolved(s, id); after.Color.XY != before.Color.XY || !strings.Contains(stage.CaveatsOf(after.Origin), "worked out") {
		t.Errorf("a list that was added later counts: got %s, want %s", after.Color.Words, before.Color.Words)
	}
	// An empty list is a list.
	none := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"mix"}`, "appliesFrom", fromNumber(1), "restsOn", `[]`)
	if w := resolved(s, none); w.Color != nil {
		t.Errorf("got %s from an empty list, want no colour", w.Color.Words)
	}
}

func TestAWhiteWhoseRecordsAreNotHereIsNotKnownYet(t *testing.T) {
	s := stage.New(t)
	s.Mixed()
	s.Minute(30)
	away := logbook.ID{6: 0x70, 8: 0x80, 15: 250}
	id := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"mix"}`, "appliesFrom", fromNumber(1),
		"restsOn", fmt.Sprintf(`[{"record":%s},{"record":%s}]`, stage.Ref(s.Reading), stage.Ref(away)))
	if w := resolved(s, id); w.Color != nil || !strings.Contains(w.Problem, "not known here yet") {
		t.Errorf("got %+v, %q, want no colour", w.Color, w.Problem)
	}
	s.Write(away, kinds.Reading, "setUp", stage.Ref(s.SetUp), "measured", stage.OnLocus3200, "takenAt", stage.Stamp(20),
		"of", `{"as":"light","light":`+stage.Ref(s.OfName("bulb"))+`}`, "illuminance", `{"value":800,"unit":"lux"}`)
	stage.Near(t, "when it came in", *resolved(s, id).Color.CCTKelvin, 4138, 1)
}

func TestAWhiteSaysWhenItIsToBeChosenAgain(t *testing.T) {
	s := stage.New(t)
	if w := resolved(s, s.White); w.ChooseAgain != "" {
		t.Errorf("got %q, want nothing", w.ChooseAgain)
	}
	s.Minute(4)
	s.Read(s.Key, stage.CctDuv(3200, 0), "supersedes", stage.Ref(s.Reading))
	w := resolved(s, s.White)
	if w.ChooseAgain != "the white rests on a reading that was replaced; choose again" || *w.Color.CCTKelvin != 5600 {
		t.Errorf("got %q at %s", w.ChooseAgain, w.Color.Words)
	}
	s.Set(s.Reading, "struckOut", `{"reason":"typed wrong"}`)
	if w := resolved(s, s.White); w.ChooseAgain != "the white rests on a reading that was struck out; choose again" {
		t.Errorf("got %q", w.ChooseAgain)
	}
	// The white of another set-up that rests on it says so too.
	other := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`)
	same := s.Add(kinds.White, "setUp", stage.Ref(other), "from", `{"as":"sameAs","setUp":`+stage.Ref(s.SetUp)+`}`, "appliesFrom", fromStart,
		"restsOn", `[{"record":`+stage.Ref(s.White)+`}]`)
	if w := resolved(s, same); w.ChooseAgain == "" || w.Color == nil {
		t.Errorf("got %q, want it to be chosen again", w.ChooseAgain)
	}
}

// Tint +2 of 0.001 Duv each is Duv 0.002; of 0.002 each it is 0.004.
func TestADialThatIsTypedAnewMovesAWhiteAndSaysSo(t *testing.T) {
	s := stage.New(t)
	s.Minute(30)
	rule := fmt.Sprintf(`{"as":"cameraSetting","camera":%s,"kelvin":5600,"tint":2}`, stage.Ref(s.A))
	id := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", rule, "appliesFrom", fromNumber(1), "restsOn", `[]`)
	before := resolved(s, id)
	stage.Near(t, "Duv", *before.Color.Duv, 0.002, 0.0001)
	if strings.Contains(stage.CaveatsOf(before.Origin), "typed anew") {
		t.Errorf("got %q before anything was", before.Origin.Caveats)
	}
	s.Minute(40)
	s.Set(s.BodyA, "tint", `{"min":-10,"max":10,"step":1,"duvPerUnit":0.002,"plusIs":"magenta"}`)
	w := resolved(s, id)
	stage.Near(t, "Duv", *w.Color.Duv, 0.004, 0.0001)
	if !strings.Contains(stage.CaveatsOf(w.Origin), "typed anew") {
		t.Errorf("got %q, want it said", w.Origin.Caveats)
	}
}

// A card that is 20 mired warmer than its label weighs three times one that is 12 warmer: 18.
func TestCardsBehindASettingKeepTheirWeights(t *testing.T) {
	s := stage.New(t)
	one := s.Card(s.A, 5600, stage.Day5600, 20, 0, s.Reading)
	other := s.Card(s.A, 5600, stage.Day5600, 12, 0, s.Reading)
	s.Minute(30)
	rule := fmt.Sprintf(`{"as":"cameraSetting","camera":%s,"kelvin":5600}`, stage.Ref(s.A))
	id := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", rule, "appliesFrom", fromNumber(1),
		"restsOn", fmt.Sprintf(`[{"record":%s,"weight":0.75},{"record":%s,"weight":0.25},{"record":%s}]`, stage.Ref(one), stage.Ref(other), stage.Ref(s.Reading)))
	w := resolved(s, id)
	stage.Near(t, "mired", 1e6 / *w.Color.CCTKelvin - 1e6/5600, 18, 0.3)
	plain := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", rule, "appliesFrom", fromNumber(1),
		"restsOn", fmt.Sprintf(`[{"record":%s},{"record":%s}]`, stage.Ref(one), stage.Ref(other)))
	stage.Near(t, "mired where no weight is said", 1e6 / *resolved(s, plain).Color.CCTKelvin - 1e6/5600, 16, 0.3)
	s.Set(one, "deleted", "true")
	after := resolved(s, id)
	if after.Color.XY != w.Color.XY || !strings.Contains(after.ChooseAgain, "a card that was struck out") {
		t.Errorf("got %s, %q, want %s as before, to be chosen again", after.Color.Words, after.ChooseAgain, w.Color.Words)
	}
	for _, part := range []string{one.String(), other.String(), s.Reading.String()} {
		if list := listOf(s, rule); part != one.String() != strings.Contains(list, part) {
			t.Errorf("got %s: %s", list, part)
		}
	}
	if math.Abs(1e6 / *w.Color.CCTKelvin - 1e6/5600) < 1 {
		t.Error("the cards do not move it")
	}
}
