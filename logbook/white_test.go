package logbook

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"evenwhite/colorimetry"
)

var whiteCases = []struct {
	name       string
	rule       func(s *stage) string
	kelvin     float64
	duv        float64
	confidence string
}{
	{"one_reading", func(s *stage) string {
		return fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, ref(s.reading))
	}, 5600, 0, "measured"},
	// The mix of 3200 K and 5600 K at equal lux: tristimulus values added by hand
	// from the two chromaticities below (TestTheMixByHand).
	{"readings_weighted", func(s *stage) string {
		s.mixed()
		ids := s.lastReadings()
		return fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s,"weight":2},{"reading":%s,"weight":2}]}`, ref(ids[0]), ref(ids[1]))
	}, 4138, -0.0026, "measured"},
	// Three parts of 3200 K and one of 5600 K: x 0.3971, y 0.3821, summed by another
	// program from Planck's law and the observer at 5 nm.
	{"readings_weighted_unequally", func(s *stage) string {
		bulb := s.mixed()
		reading := s.read(bulb, onLocus3200)
		return fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s,"weight":3},{"reading":%s}]}`, ref(reading), ref(s.reading))
	}, 3616, -0.0020, "measured"},
	{"nominal_on_the_black_body", func(s *stage) string { return `{"as":"nominal","kelvin":3200,"locus":"blackBody"}` }, 3200, 0, "nominal"},
	{"nominal_away_from_the_locus", func(s *stage) string { return `{"as":"nominal","kelvin":3200,"duv":0.004,"locus":"blackBody"}` }, 3200, 0.004, "nominal"},
	// D65's published point lies at Duv +0.0032 (Ohno 2014, example).
	{"nominal_on_the_daylight_locus", func(s *stage) string { return `{"as":"nominal","kelvin":6504,"locus":"daylight"}` }, 6504, 0.0032, "nominal"},
	{"mix_computed", func(s *stage) string { s.mixed(); return `{"as":"mix"}` }, 4138, -0.0026, "mixed"},
	{"mix_measured", func(s *stage) string {
		s.mixed()
		s.minute(9)
		s.add(KindReading, "setUp", ref(s.setUp), "measured", `{"as":"cctDuv","cctKelvin":4200,"duv":-0.001}`, "takenAt", stamp(9), "of", `{"as":"everything"}`)
		return `{"as":"mix"}`
	}, 4200, -0.001, "measured"},
	{"mix_computed_where_a_light_was_read_again", func(s *stage) string {
		s.add(KindReading, "setUp", ref(s.setUp), "measured", `{"as":"cctDuv","cctKelvin":4200,"duv":-0.001}`, "takenAt", stamp(9), "of", `{"as":"everything"}`)
		s.minute(10)
		s.mixed()
		s.read(s.key, onLocus5600, "illuminance", `{"value":800,"unit":"lux"}`)
		return `{"as":"mix"}`
	}, 4138, -0.0026, "mixed"},
	// The mean of the mireds: (1e6/3200 + 1e6/5600) / 2 = 245.5 mired = 4073 K.
	{"compromise", func(s *stage) string { s.mixed(); return `{"as":"compromise"}` }, 4073, 0, "computed"},
	// (3·312.5 + 178.571) / 4 = 279.02 mired = 3584 K.
	{"compromise_weighted", func(s *stage) string {
		bulb := s.mixed()
		return fmt.Sprintf(`{"as":"compromise","lights":[{"light":%s,"weight":3},{"light":%s}]}`, ref(bulb), ref(s.key))
	}, 3584, 0, "computed"},
	{"camera_setting", func(s *stage) string {
		return fmt.Sprintf(`{"as":"cameraSetting","camera":%s,"kelvin":4300,"tint":2}`, ref(s.a))
	}, 4300, 0.002, "label"},
	{"custom_from_a_card", func(s *stage) string {
		sample := s.add(KindSample, "setUp", ref(s.setUp), "camera", ref(s.a), "body", ref(s.bodyA), "settings", `{"whiteMode":"kelvin","kelvin":5600}`,
			"rgb", `{"as":"percent","r":40,"g":41,"b":42,"encoding":"bt1886","primaries":"bt709"}`, "light", fmt.Sprintf(`{"as":"reading","reading":%s}`, ref(s.reading)))
		return fmt.Sprintf(`{"as":"customFromCard","sample":%s}`, ref(sample))
	}, 5600, 0, "measured"},
	{"same_as_another_set_up", func(s *stage) string {
		other := s.add(KindSetUp, "day", ref(s.day), "name", `"B"`)
		s.add(KindWhite, "setUp", ref(other), "from", `{"as":"nominal","kelvin":3200,"locus":"blackBody"}`, "appliesFrom", `{"as":"start"}`)
		return fmt.Sprintf(`{"as":"sameAs","setUp":%s}`, ref(other))
	}, 3200, 0, "nominal"},
}

func TestWhiteFrom(t *testing.T) {
	for _, c := range whiteCases {
		t.Run(c.name, func(t *testing.T) {
			s := newStage(t)
			w := s.whiteFrom(c.rule(s))
			if w.Color == nil {
				t.Fatalf("no colour: %s", w.Problem)
			}
			near(t, "CCT", *w.Color.CCTKelvin, c.kelvin, 1)
			near(t, "Duv", *w.Color.Duv, c.duv, 0.0001)
			if w.Origin.Confidence != c.confidence || w.Origin.Method == "" || w.Words == "" {
				t.Errorf("origin: got %+v (%s), want confidence %s with a method", w.Origin, w.Words, c.confidence)
			}
		})
	}
}

// A reading without lux cannot be added: the one before is, and it is said.
func TestTheMixSaysWhereANewerReadingHasNoLux(t *testing.T) {
	s := newStage(t)
	s.mixed()
	if w := s.whiteFrom(`{"as":"mix"}`); len(w.Origin.Caveats) != 0 {
		t.Errorf("got %q, want nothing to be said", w.Origin.Caveats)
	}
	s.minute(61)
	s.read(s.ofName("bulb"), cctDuv(2900, 0))
	s.minute(62)
	id := s.add(KindWhite, "setUp", ref(s.setUp), "from", `{"as":"mix"}`, "appliesFrom", `{"as":"time","at":`+stamp(62)+`}`)
	v, _ := s.book().Record(id)
	w := WhiteInForceOf(s.book(), v)
	near(t, "CCT", *w.Color.CCTKelvin, 4138, 1)
	if !strings.Contains(caveatsOf(w.Origin), "a newer reading of bulb has no lux") {
		t.Errorf("got %q", w.Origin.Caveats)
	}
}

// TestTheMixByHand adds X, Y and Z of the two lights at equal Y.
func TestTheMixByHand(t *testing.T) {
	a := colorOf(t, `{"as":"cctDuv","cctKelvin":3200,"duv":0}`)
	b := colorOf(t, onLocus5600)
	x, y, z := a.X/a.Y+b.X/b.Y, 2.0, (1-a.X-a.Y)/a.Y+(1-b.X-b.Y)/b.Y
	mixed, err := colorimetry.XY{X: x / (x + y + z), Y: y / (x + y + z)}.CCTDuv()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "CCT", float64(mixed.CCT), 4138, 1)
	near(t, "Duv", float64(mixed.Duv), -0.0026, 0.0001)
}

func TestAWhiteThatCannotBeComputedSaysWhy(t *testing.T) {
	cases := []struct {
		name, want string
		rule       func(s *stage) string
	}{
		{"mix_without_a_reading", "window has no reading with lux", func(s *stage) string { s.light("window", "ambient"); return `{"as":"mix"}` }},
		{"compromise_without_a_reading", "window has no reading", func(s *stage) string {
			return fmt.Sprintf(`{"as":"compromise","lights":[{"light":%s}]}`, ref(s.light("window", "ambient")))
		}},
		{"reading_not_here", "is not in the log", func(s *stage) string {
			return fmt.Sprintf(`{"as":"readings","readings":[{"reading":%s}]}`, ref(ID{1: 1}))
		}},
		{"camera_setting_off_the_dial", "kelvin is 4310", func(s *stage) string {
			return fmt.Sprintf(`{"as":"cameraSetting","camera":%s,"kelvin":4310}`, ref(s.a))
		}},
		{"card_in_a_light_nobody_measured", "light on the card was not measured", func(s *stage) string {
			sample := s.add(KindSample, "body", ref(s.bodyA), "settings", `{"whiteMode":"auto"}`, "rgb", `{"as":"percent","r":40,"g":41,"b":42,"encoding":"bt1886","primaries":"bt709"}`)
			return fmt.Sprintf(`{"as":"customFromCard","sample":%s}`, ref(sample))
		}},
		{"daylight_below_its_locus", "4000 to 25000", func(s *stage) string { return `{"as":"nominal","kelvin":3200,"locus":"daylight"}` }},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := newStage(t)
			w := s.whiteFrom(c.rule(s))
			if w.Color != nil || !strings.Contains(w.Problem, c.want) {
				t.Errorf("got %+v, problem %q, want a problem with %q", w.Color, w.Problem, c.want)
			}
		})
	}
}

func TestWhitesThatNameEachOtherInACircle(t *testing.T) {
	s := newStage(t)
	other := s.add(KindSetUp, "day", ref(s.day), "name", `"B"`)
	same := func(on, as ID) string {
		return ref(s.add(KindWhite, "setUp", ref(on), "from", fmt.Sprintf(`{"as":"sameAs","setUp":%s}`, ref(as)), "appliesFrom", `{"as":"start"}`))
	}
	same(other, s.setUp)
	same(s.setUp, other)
	b := s.book()
	for _, v := range b.Records(KindWhite)[1:] {
		if w := WhiteInForceOf(b, v); w.Color != nil || !strings.Contains(w.Problem, "circle") {
			t.Errorf("got %+v, problem %q, want a circle", w.Color, w.Problem)
		}
	}
}

func TestALaterReadingDoesNotMoveAChosenWhite(t *testing.T) {
	s := newStage(t)
	s.mixed()
	before := s.whiteFrom(`{"as":"mix"}`)
	s.minute(90)
	s.read(s.key, `{"as":"cctDuv","cctKelvin":9000,"duv":0}`, "illuminance", `{"value":800,"unit":"lux"}`)
	b := s.book()
	v, _ := b.Record(before.White)
	if after := WhiteInForceOf(b, v); *after.Color.CCTKelvin != *before.Color.CCTKelvin {
		t.Errorf("got %s, want %s", after.Color.Words, before.Color.Words)
	}
}

func TestTheWhiteInForce(t *testing.T) {
	s := newStage(t)
	nominal := func(kelvin int, from string, more ...string) ID {
		return s.add(KindWhite, append([]string{"setUp", ref(s.setUp), "from", fmt.Sprintf(`{"as":"nominal","kelvin":%d,"locus":"blackBody"}`, kelvin), "appliesFrom", from}, more...)...)
	}
	var takes []ID
	for i := range 8 {
		s.minute(10 + i)
		takes = append(takes, s.take())
	}
	fromTake6 := nominal(6500, fmt.Sprintf(`{"as":"take","take":%s}`, ref(takes[5])), "supersedes", ref(s.white))
	wrong := nominal(9000, `{"as":"start"}`)
	s.set(wrong, "struckOut", `{"reason":"typed wrong"}`)
	s.minute(30)
	fromTime := nominal(4300, `{"as":"time","at":`+stamp(30)+`}`)
	s.minute(31)
	late := s.take()
	named := s.take("white", ref(s.white))
	b := s.book()
	ofTake := func(id ID) ID {
		take, _ := b.Record(id)
		w, _ := WhiteOfTake(b, take)
		return w.ID
	}
	for i, want := range []ID{s.white, s.white, s.white, s.white, s.white, fromTake6, fromTake6, fromTake6} {
		if got := ofTake(takes[i]); got != want {
			t.Errorf("take %d: got %s, want %s", i+1, got, want)
		}
	}
	if got := ofTake(late); got != fromTime {
		t.Errorf("a take after the time: got %s, want %s", got, fromTime)
	}
	if got := ofTake(named); got != s.white {
		t.Errorf("a take that names its white: got %s, want %s", got, s.white)
	}
	for at, want := range map[int]ID{5: s.white, 16: fromTake6, 29: fromTake6, 30: fromTime} {
		if w, _ := WhiteAt(b, s.setUp, minute(at)); w.ID != want {
			t.Errorf("minute %d: got %s, want %s", at, w.ID, want)
		}
	}
}

func TestAWhiteFromTheStartThatSupersedesAnother(t *testing.T) {
	s := newStage(t)
	s.minute(-30) // a phone whose clock is behind
	newer := s.add(KindWhite, "setUp", ref(s.setUp), "from", `{"as":"nominal","kelvin":5000,"locus":"blackBody"}`, "appliesFrom", `{"as":"start"}`, "supersedes", ref(s.white))
	if w, _ := WhiteAt(s.book(), s.setUp, minute(60)); w.ID != newer {
		t.Errorf("got %s, want %s", w.ID, newer)
	}
}

func TestTheTimeOfATake(t *testing.T) {
	s := newStage(t)
	s.minute(50)
	said := s.add(KindTake, "setUp", ref(s.setUp), "number", "1", "startedAt", stamp(10))
	byClip := s.add(KindTake, "setUp", ref(s.setUp), "number", "2")
	s.clip(s.a, byClip, "5600", "startedAt", stamp(21))
	s.clip(s.b, byClip, "5600", "startedAt", stamp(20))
	byEntry := s.add(KindTake, "setUp", ref(s.setUp), "number", "3")
	b := s.book()
	for id, want := range map[ID]int{said: 10, byClip: 20, byEntry: 50} {
		take, _ := b.Record(id)
		if got := TakeTime(b, take); got != minute(want) {
			t.Errorf("%s: got %v, want minute %d", TakeName(take), got.Time(), want)
		}
	}
}

func TestAKelvinAloneMeansWhatTheProductionSays(t *testing.T) {
	s := newStage(t)
	if got := nominalLocus(s.book()); got != colorimetry.Blend {
		t.Errorf("by default: got %v, want the blend to daylight", got)
	}
	s.set(s.productionID(), "nominalWhite", `"blackBody"`)
	if got := nominalLocus(s.book()); got != colorimetry.BlackBody {
		t.Errorf("got %v, want the black body", got)
	}
}

func TestAWithdrawnReadingIsSaidOfTheWhiteThatRestsOnIt(t *testing.T) {
	s := newStage(t)
	s.set(s.reading, "struckOut", `{"reason":"typed wrong"}`)
	b := s.book()
	v, _ := b.Record(s.white)
	w := WhiteInForceOf(b, v)
	if w.Color == nil || len(w.Origin.Caveats) != 1 {
		t.Errorf("got %+v, caveats %q, want the colour with a caveat", w.Color, w.Origin.Caveats)
	}
}

func TestErrorsOfWhitesAreUnknown(t *testing.T) {
	r := newResolver(NewBook(ID{1: 1}, KindRules))
	if _, err := r.mix(ID{2: 2}, "", 0); !errors.Is(err, ErrUnknown) {
		t.Errorf("got %v, want ErrUnknown", err)
	}
}
