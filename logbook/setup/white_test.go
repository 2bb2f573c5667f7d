package setup_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

var whiteCases = []struct {
	name       string
	rule       func(s *stage.Stage) string
	kelvin     float64
	duv        float64
	confidence string
}{
	{"one_reading", func(s *stage.Stage) string {
		return fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, stage.Ref(s.Reading))
	}, 5600, 0, "measured"},
	// The mix of 3200 K and 5600 K at equal lux: tristimulus values added by hand
	// from the two chromaticities below (TestTheMixByHand).
	{"readings_weighted", func(s *stage.Stage) string {
		s.Mixed()
		ids := s.LastReadings()
		return fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s,"weight":2},{"reading":%s,"weight":2}]}`, stage.Ref(ids[0]), stage.Ref(ids[1]))
	}, 4138, -0.0026, "measured"},
	// Three parts of 3200 K and one of 5600 K: x 0.3971, y 0.3821, summed by another
	// program from Planck's law and the observer at 5 nm.
	{"readings_weighted_unequally", func(s *stage.Stage) string {
		bulb := s.Mixed()
		reading := s.Read(bulb, stage.OnLocus3200)
		return fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s,"weight":3},{"reading":%s}]}`, stage.Ref(reading), stage.Ref(s.Reading))
	}, 3616, -0.0020, "measured"},
	{"nominal_on_the_black_body", func(s *stage.Stage) string { return `{"as":"nominal","kelvin":3200,"locus":"blackBody"}` }, 3200, 0, "nominal"},
	{"nominal_away_from_the_locus", func(s *stage.Stage) string { return `{"as":"nominal","kelvin":3200,"duv":0.004,"locus":"blackBody"}` }, 3200, 0.004, "nominal"},
	// D65's published point lies at Duv +0.0032 (Ohno 2014, example).
	{"nominal_on_the_daylight_locus", func(s *stage.Stage) string { return `{"as":"nominal","kelvin":6504,"locus":"daylight"}` }, 6504, 0.0032, "nominal"},
	{"mix_computed", func(s *stage.Stage) string { s.Mixed(); return `{"as":"mix"}` }, 4138, -0.0026, "mixed"},
	{"mix_measured", func(s *stage.Stage) string {
		s.Mixed()
		s.Minute(9)
		s.Add(kinds.Reading, "setUp", stage.Ref(s.SetUp), "measured", `{"as":"cctDuv","cctKelvin":4200,"duv":-0.001}`, "takenAt", stage.Stamp(9), "of", `{"as":"everything"}`)
		return `{"as":"mix"}`
	}, 4200, -0.001, "measured"},
	{"mix_computed_where_a_light_was_read_again", func(s *stage.Stage) string {
		s.Add(kinds.Reading, "setUp", stage.Ref(s.SetUp), "measured", `{"as":"cctDuv","cctKelvin":4200,"duv":-0.001}`, "takenAt", stage.Stamp(9), "of", `{"as":"everything"}`)
		s.Minute(10)
		s.Mixed()
		s.Read(s.Key, stage.OnLocus5600, "illuminance", `{"value":800,"unit":"lux"}`)
		return `{"as":"mix"}`
	}, 4138, -0.0026, "mixed"},
	// The mean of the mireds: (1e6/3200 + 1e6/5600) / 2 = 245.5 mired = 4073 K.
	{"compromise", func(s *stage.Stage) string { s.Mixed(); return `{"as":"compromise"}` }, 4073, 0, "computed"},
	// (3·312.5 + 178.571) / 4 = 279.02 mired = 3584 K.
	{"compromise_weighted", func(s *stage.Stage) string {
		bulb := s.Mixed()
		return fmt.Sprintf(`{"as":"compromise","lights":[{"light":%s,"weight":3},{"light":%s}]}`, stage.Ref(bulb), stage.Ref(s.Key))
	}, 3584, 0, "computed"},
	{"camera_setting", func(s *stage.Stage) string {
		return fmt.Sprintf(`{"as":"cameraSetting","camera":%s,"kelvin":4300,"tint":2}`, stage.Ref(s.A))
	}, 4300, 0.002, "label"},
	{"custom_from_a_card", func(s *stage.Stage) string {
		sample := s.Add(kinds.Sample, "setUp", stage.Ref(s.SetUp), "camera", stage.Ref(s.A), "body", stage.Ref(s.BodyA), "settings", `{"whiteMode":"kelvin","kelvin":5600}`,
			"rgb", `{"as":"percent","r":40,"g":41,"b":42,"encoding":"bt1886","primaries":"bt709"}`, "light", fmt.Sprintf(`{"as":"reading","reading":%s}`, stage.Ref(s.Reading)))
		return fmt.Sprintf(`{"as":"customFromCard","sample":%s}`, stage.Ref(sample))
	}, 5600, 0, "measured"},
	{"same_as_another_set_up", func(s *stage.Stage) string {
		other := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`)
		s.Add(kinds.White, "setUp", stage.Ref(other), "from", `{"as":"nominal","kelvin":3200,"locus":"blackBody"}`, "appliesFrom", `{"as":"start"}`)
		return fmt.Sprintf(`{"as":"sameAs","setUp":%s}`, stage.Ref(other))
	}, 3200, 0, "nominal"},
}

func TestWhiteFrom(t *testing.T) {
	for _, c := range whiteCases {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			w := s.WhiteFrom(c.rule(s))
			if w.Color == nil {
				t.Fatalf("no colour: %s", w.Problem)
			}
			stage.Near(t, "CCT", *w.Color.CCTKelvin, c.kelvin, 1)
			stage.Near(t, "Duv", *w.Color.Duv, c.duv, 0.0001)
			if w.Origin.Confidence != c.confidence || w.Origin.Method == "" || w.Words == "" {
				t.Errorf("origin: got %+v (%s), want confidence %s with a method", w.Origin, w.Words, c.confidence)
			}
		})
	}
}

// A reading without lux cannot be added: the one before is, and it is said.
func TestTheMixSaysWhereANewerReadingHasNoLux(t *testing.T) {
	s := stage.New(t)
	s.Mixed()
	if w := s.WhiteFrom(`{"as":"mix"}`); strings.Contains(stage.CaveatsOf(w.Origin), "lux") {
		t.Errorf("got %q, want nothing to be said of lux", w.Origin.Caveats)
	}
	s.Minute(61)
	s.Read(s.OfName("bulb"), stage.CctDuv(2900, 0))
	s.Minute(62)
	id := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"mix"}`, "appliesFrom", `{"as":"time","at":`+stage.Stamp(62)+`}`)
	v, _ := s.Book().Record(id)
	w := setup.WhiteOf(s.Book(), v)
	stage.Near(t, "CCT", *w.Color.CCTKelvin, 4138, 1)
	if !strings.Contains(stage.CaveatsOf(w.Origin), "a newer reading of bulb has no lux") {
		t.Errorf("got %q", w.Origin.Caveats)
	}
}

// TestTheMixByHand adds X, Y and Z of the two lights at equal Y.
func TestTheMixByHand(t *testing.T) {
	a := stage.TypedColor(t, `{"as":"cctDuv","cctKelvin":3200,"duv":0}`)
	b := stage.TypedColor(t, stage.OnLocus5600)
	x, y, z := a.X/a.Y+b.X/b.Y, 2.0, (1-a.X-a.Y)/a.Y+(1-b.X-b.Y)/b.Y
	mixed, err := colorimetry.XY{X: x / (x + y + z), Y: y / (x + y + z)}.CCTDuv()
	if err != nil {
		t.Fatal(err)
	}
	stage.Near(t, "CCT", float64(mixed.CCT), 4138, 1)
	stage.Near(t, "Duv", float64(mixed.Duv), -0.0026, 0.0001)
}

func TestAWhiteThatCannotBeComputedSaysWhy(t *testing.T) {
	cases := []struct {
		name, want string
		rule       func(s *stage.Stage) string
	}{
		{"mix_without_a_reading", "window: it was not measured", func(s *stage.Stage) string { s.Light("window", "ambient"); return `{"as":"mix"}` }},
		{"compromise_without_a_reading", "window: it was not measured", func(s *stage.Stage) string {
			return fmt.Sprintf(`{"as":"compromise","lights":[{"light":%s}]}`, stage.Ref(s.Light("window", "ambient")))
		}},
		{"reading_not_here", "is not in the log", func(s *stage.Stage) string {
			return fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, stage.Ref(logbook.ID{1: 1}))
		}},
		{"camera_setting_off_the_dial", "kelvin is 4310", func(s *stage.Stage) string {
			return fmt.Sprintf(`{"as":"cameraSetting","camera":%s,"kelvin":4310}`, stage.Ref(s.A))
		}},
		{"card_in_a_light_nobody_measured", "light on the card was not measured", func(s *stage.Stage) string {
			sample := s.Add(kinds.Sample, "body", stage.Ref(s.BodyA), "settings", `{"whiteMode":"auto"}`, "rgb", `{"as":"percent","r":40,"g":41,"b":42,"encoding":"bt1886","primaries":"bt709"}`)
			return fmt.Sprintf(`{"as":"customFromCard","sample":%s}`, stage.Ref(sample))
		}},
		{"daylight_below_its_locus", "4000 to 25000", func(s *stage.Stage) string { return `{"as":"nominal","kelvin":3200,"locus":"daylight"}` }},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			w := s.WhiteFrom(c.rule(s))
			if w.Color != nil || !strings.Contains(w.Problem, c.want) {
				t.Errorf("got %+v, problem %q, want a problem with %q", w.Color, w.Problem, c.want)
			}
		})
	}
}

func TestWhitesThatNameEachOtherInACircle(t *testing.T) {
	s := stage.New(t)
	other := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`)
	same := func(on, as logbook.ID) string {
		return stage.Ref(s.Add(kinds.White, "setUp", stage.Ref(on), "from", fmt.Sprintf(`{"as":"sameAs","setUp":%s}`, stage.Ref(as)), "appliesFrom", `{"as":"start"}`))
	}
	same(other, s.SetUp)
	same(s.SetUp, other)
	b := s.Book()
	for _, v := range b.Records(kinds.White)[1:] {
		if w := setup.WhiteOf(b, v); w.Color != nil || !strings.Contains(w.Problem, "circle") {
			t.Errorf("got %+v, problem %q, want a circle", w.Color, w.Problem)
		}
	}
}

func TestALaterReadingDoesNotMoveAChosenWhite(t *testing.T) {
	s := stage.New(t)
	s.Mixed()
	before := s.WhiteFrom(`{"as":"mix"}`)
	s.Minute(90)
	s.Read(s.Key, `{"as":"cctDuv","cctKelvin":9000,"duv":0}`, "illuminance", `{"value":800,"unit":"lux"}`)
	b := s.Book()
	v, _ := b.Record(before.White)
	if after := setup.WhiteOf(b, v); *after.Color.CCTKelvin != *before.Color.CCTKelvin {
		t.Errorf("got %s, want %s", after.Color.Words, before.Color.Words)
	}
}

func TestTheWhiteInForce(t *testing.T) {
	s := stage.New(t)
	nominal := func(kelvin int, from string, more ...string) logbook.ID {
		return s.Add(kinds.White, append([]string{"setUp", stage.Ref(s.SetUp), "from", fmt.Sprintf(`{"as":"nominal","kelvin":%d,"locus":"blackBody"}`, kelvin), "appliesFrom", from}, more...)...)
	}
	var takes []logbook.ID
	for i := range 8 {
		s.Minute(10 + i)
		takes = append(takes, s.Take())
	}
	fromTake6 := nominal(6500, fmt.Sprintf(`{"as":"take","take":%s}`, stage.Ref(takes[5])), "supersedes", stage.Ref(s.White))
	wrong := nominal(9000, `{"as":"start"}`)
	s.Set(wrong, "struckOut", `{"reason":"typed wrong"}`)
	s.Minute(30)
	fromTime := nominal(4300, `{"as":"time","at":`+stage.Stamp(30)+`}`)
	s.Minute(31)
	late := s.Take()
	named := s.Take("white", stage.Ref(s.White))
	b := s.Book()
	ofTake := func(id logbook.ID) logbook.ID {
		take, _ := b.Record(id)
		w, _ := setup.WhiteOfTake(b, take)
		return w.ID
	}
	for i, want := range []logbook.ID{s.White, s.White, s.White, s.White, s.White, fromTake6, fromTake6, fromTake6} {
		if got := ofTake(takes[i]); got != want {
			t.Errorf("take %d: got %s, want %s", i+1, got, want)
		}
	}
	if got := ofTake(late); got != fromTime {
		t.Errorf("a take after the time: got %s, want %s", got, fromTime)
	}
	// It names the first white, which the one from take 6 replaces; what begins later wins.
	if got := ofTake(named); got != fromTime {
		t.Errorf("a take that names a white which was replaced: got %s, want %s", got, fromTime)
	}
	for at, want := range map[int]logbook.ID{5: s.White, 16: fromTake6, 29: fromTake6, 30: fromTime} {
		if w, _ := setup.WhiteAt(b, s.SetUp, stage.Minute(at)); w.ID != want {
			t.Errorf("minute %d: got %s, want %s", at, w.ID, want)
		}
	}
}

func TestAWhiteFromTheStartThatSupersedesAnother(t *testing.T) {
	s := stage.New(t)
	s.Minute(-30) // a phone whose clock is behind
	newer := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":5000,"locus":"blackBody"}`, "appliesFrom", `{"as":"start"}`, "supersedes", stage.Ref(s.White))
	if w, _ := setup.WhiteAt(s.Book(), s.SetUp, stage.Minute(60)); w.ID != newer {
		t.Errorf("got %s, want %s", w.ID, newer)
	}
}

func TestTheTimeOfATake(t *testing.T) {
	s := stage.New(t)
	s.Minute(50)
	said := s.Add(kinds.Take, "setUp", stage.Ref(s.SetUp), "number", "1", "startedAt", stage.Stamp(10))
	byClip := s.Add(kinds.Take, "setUp", stage.Ref(s.SetUp), "number", "2")
	s.Clip(s.A, byClip, "5600", "startedAt", stage.Stamp(21))
	s.Clip(s.B, byClip, "5600", "startedAt", stage.Stamp(20))
	byEntry := s.Add(kinds.Take, "setUp", stage.Ref(s.SetUp), "number", "3")
	b := s.Book()
	for id, want := range map[logbook.ID]int{said: 10, byClip: 20, byEntry: 50} {
		take, _ := b.Record(id)
		if got := lighting.TakeTime(b, take); got != stage.Minute(want) {
			t.Errorf("%s: got %v, want minute %d", lighting.TakeName(take), got.Time(), want)
		}
	}
}

func TestAKelvinAloneMeansWhatTheProductionSays(t *testing.T) {
	s := stage.New(t)
	if got := setup.NominalLocus(s.Book()); got != colorimetry.Blend {
		t.Errorf("by default: got %v, want the blend to daylight", got)
	}
	s.Set(s.ProductionID(), "nominalWhite", `"blackBody"`)
	if got := setup.NominalLocus(s.Book()); got != colorimetry.BlackBody {
		t.Errorf("got %v, want the black body", got)
	}
}

func TestAWithdrawnReadingIsSaidOfTheWhiteThatRestsOnIt(t *testing.T) {
	s := stage.New(t)
	s.Set(s.Reading, "struckOut", `{"reason":"typed wrong"}`)
	b := s.Book()
	v, _ := b.Record(s.White)
	w := setup.WhiteOf(b, v)
	if w.Color == nil || len(w.Origin.Caveats) != 1 {
		t.Errorf("got %+v, caveats %q, want the colour with a caveat", w.Color, w.Origin.Caveats)
	}
}

func TestErrorsOfWhitesAreUnknown(t *testing.T) {
	if _, err := setup.MixOf(logbook.NewBook(logbook.ID{1: 1}, kinds.Rules), logbook.ID{2: 2}); !errors.Is(err, figure.ErrUnknown) {
		t.Errorf("got %v, want ErrUnknown", err)
	}
}
