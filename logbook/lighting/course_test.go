package lighting_test

import (
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

// read measures a light at a minute, at so many mired.
func read(s *stage.Stage, light logbook.ID, minute int, mired float64, more ...string) logbook.ID {
	s.T.Helper()
	s.Minute(minute)
	return s.Read(light, stage.CctDuv(1e6/mired, 0), more...)
}

// turn types a field of a light at a minute.
func turn(s *stage.Stage, light logbook.ID, minute int, fields ...string) {
	s.T.Helper()
	s.Minute(minute)
	s.Set(light, fields...)
}

// lampIn is a light with a lamp, entered on minute 1 with fields.
func lampIn(s *stage.Stage, dims string, fields ...string) logbook.ID {
	s.T.Helper()
	s.Minute(1)
	lamp := s.Add(kinds.Lamp, "name", `"tile"`, "family", `"twoColorLed"`, "dimsWarmer", stage.Quoted(dims))
	return s.Light("tile", "fill", append([]string{"lamp", stage.Ref(lamp)}, fields...)...)
}

func TestWhichReadingSpeaksOfALight(t *testing.T) {
	for _, c := range []struct {
		name  string
		day   func(s *stage.Stage) logbook.ID
		asked int // minute
		mired float64
		says  string // when, or why it is not known
	}{
		{"two gels in the other order are the same two", func(s *stage.Stage) logbook.ID {
			a := s.Add(kinds.Gel, "name", `"a"`, "gelKind", `"warm"`)
			b := s.Add(kinds.Gel, "name", `"b"`, "gelKind", `"green"`)
			l := lampIn(s, "no", "rigged/gels", "["+stage.Ref(a)+","+stage.Ref(b)+"]")
			read(s, l, 10, 180)
			turn(s, l, 20, "rigged/gels", "["+stage.Ref(b)+","+stage.Ref(a)+"]")
			return l
		}, 30, 180, "20 min before"},
		{"gels that nobody named are none", func(s *stage.Stage) logbook.ID {
			a := s.Add(kinds.Gel, "name", `"quarter warm"`, "gelKind", `"warm"`)
			l := lampIn(s, "no")
			read(s, l, 10, 180)
			turn(s, l, 20, "rigged/gels", "["+stage.Ref(a)+"]")
			return l
		}, 30, 0, "last read before its gels were changed from none to quarter warm"},
		{"a level is no matter where the lamp does not dim warmer", func(s *stage.Stage) logbook.ID {
			l := lampIn(s, "no", "rigged/levelPercent", "100")
			read(s, l, 10, 180)
			turn(s, l, 20, "rigged/levelPercent", "40")
			return l
		}, 30, 180, "20 min before"},
		{"and is one where that is not known", func(s *stage.Stage) logbook.ID {
			l := lampIn(s, "unknown", "rigged/levelPercent", "100")
			read(s, l, 10, 180)
			turn(s, l, 20, "rigged/levelPercent", "40")
			return l
		}, 30, 0, "last read before its level was changed from 100 to 40"},
		{"a value that holds since a reading was another before", func(s *stage.Stage) logbook.ID {
			l := lampIn(s, "no")
			read(s, l, 10, 180)
			later := read(s, l, 40, 300)
			turn(s, l, 50, "rigged/dialKelvin", "3200", "since/rigged/dialKelvin", stage.Ref(later))
			return l
		}, 30, 180, "20 min before"},
		{"and holds from it on", func(s *stage.Stage) logbook.ID {
			l := lampIn(s, "no")
			read(s, l, 10, 180)
			later := read(s, l, 40, 300)
			turn(s, l, 50, "rigged/dialKelvin", "3200", "since/rigged/dialKelvin", stage.Ref(later))
			return l
		}, 60, 300, "20 min before"},
		{"the state comes back, and its reading with it", func(s *stage.Stage) logbook.ID {
			l := lampIn(s, "no", "rigged/dialKelvin", "5600")
			read(s, l, 10, 180)
			turn(s, l, 20, "rigged/dialKelvin", "3200")
			read(s, l, 25, 312)
			turn(s, l, 30, "rigged/dialKelvin", "5600")
			return l
		}, 35, 180, "25 min before"},
		{"but not over a change that nobody typed", func(s *stage.Stage) logbook.ID {
			l := lampIn(s, "no", "rigged/dialKelvin", "5600")
			read(s, l, 10, 180)
			turn(s, l, 20, "rigged/dialKelvin", "3200")
			read(s, l, 22, 312)
			read(s, l, 25, 250) // touched, and not typed
			turn(s, l, 30, "rigged/dialKelvin", "5600")
			return l
		}, 35, 0, "last read before its kelvin dial was turned from 3200 to 5600"},
		{"a first reading soon after speaks", func(s *stage.Stage) logbook.ID {
			l := lampIn(s, "no")
			read(s, l, 40, 180)
			return l
		}, 30, 180, "read 10 min later"},
		{"not where the dial was turned in between", func(s *stage.Stage) logbook.ID {
			l := lampIn(s, "no", "rigged/dialKelvin", "5600")
			turn(s, l, 35, "rigged/dialKelvin", "3200")
			turn(s, l, 37, "rigged/dialKelvin", "5600")
			read(s, l, 40, 180)
			return l
		}, 30, 0, "first read 10 min later"},
		{"nor one long after", func(s *stage.Stage) logbook.ID {
			l := lampIn(s, "no")
			read(s, l, 130, 180)
			return l
		}, 30, 0, "first read 100 min later"},
		{"off and on again, it is the same", func(s *stage.Stage) logbook.ID {
			l := lampIn(s, "no")
			read(s, l, 10, 180)
			turn(s, l, 20, "rigged/on", "false")
			turn(s, l, 60, "rigged/on", "true")
			return l
		}, 65, 180, "55 min before"},
		{"the sky lies between two readings", func(s *stage.Stage) logbook.ID {
			l := s.Light("window", "fill", "sky", `"sun"`)
			read(s, l, 10, 170, "sky", `"sun"`)
			read(s, l, 50, 190, "sky", `"sun"`)
			return l
		}, 20, 175, "between 08:10 UTC and 08:50 UTC"},
		{"not with another sky in between", func(s *stage.Stage) logbook.ID {
			l := s.Light("window", "fill", "sky", `"sun"`)
			read(s, l, 10, 170, "sky", `"sun"`)
			s.Minute(30)
			s.Take("sky", `"cloud"`)
			s.Minute(40)
			s.Take("sky", `"sun"`)
			read(s, l, 50, 190, "sky", `"sun"`)
			return l
		}, 20, 170, "10 min before"},
		{"a lamp is on no line", func(s *stage.Stage) logbook.ID {
			l := lampIn(s, "no")
			read(s, l, 10, 170, "sky", `"sun"`)
			read(s, l, 50, 180, "sky", `"sun"`)
			return l
		}, 20, 170, "10 min before"},
		{"a gel test says nothing of the light", func(s *stage.Stage) logbook.ID {
			l := lampIn(s, "no")
			read(s, l, 10, 180)
			read(s, l, 20, 300, "purpose", `"gelTest"`)
			return l
		}, 30, 180, "20 min before"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			id := c.day(s)
			b := s.Book()
			light, _ := b.Record(id)
			in, _ := b.Record(s.SetUp)
			got := setup.Read(b, in, stage.Minute(200)).Light(light, stage.Minute(c.asked))
			if c.mired == 0 {
				if got.Reading != nil || got.Problem != c.says {
					t.Errorf("got %+v, want it not known: %q", got, c.says)
				}
				return
			}
			if got.Reading == nil || got.When() != c.says {
				t.Fatalf("got %q, %+v; want %q", got.When(), got, c.says)
			}
			k, err := got.Color.CCTDuv()
			if err != nil {
				t.Fatal(err)
			}
			stage.Near(t, "mired", float64(k.Mired()), c.mired, 0.01)
		})
	}
}

func TestALampThatReadsDifferentlyIsAChangeNobodyTyped(t *testing.T) {
	for _, c := range []struct {
		mired   float64 // of the second reading; the first is 180, the limit of a fill 10
		place   string
		changes int
	}{{200, "", 0}, {201, "", 1}, {159, "", 1}, {201, "door", 0}} {
		s := stage.New(t)
		l := lampIn(s, "no")
		read(s, l, 10, 180)
		more := []string{}
		if c.place != "" {
			more = append(more, "position", stage.Quoted(c.place))
		}
		read(s, l, 20, c.mired, more...)
		b := s.Book()
		light, _ := b.Record(l)
		course := lighting.NewCourse(light, lighting.ReadingsOf(b, s.SetUp), nil, setup.LimitsOf(b, logbook.View{}, "fill"), 90)
		if got := course.Changes(); len(got) != c.changes {
			t.Errorf("180, then %g mired at %q: got %d changes, want %d", c.mired, c.place, len(got), c.changes)
		}
	}
}

// A reading that replaces another stands where that one stood, unless somebody typed a time.
func TestAReadingThatReplacesAnotherStandsAtItsTime(t *testing.T) {
	for typed, want := range map[string]int{"": 10, stage.Stamp(3): 3} {
		s := stage.New(t)
		l := lampIn(s, "no")
		first := read(s, l, 10, 180, "position", `"face"`, "illuminance", `{"value":500,"unit":"lux"}`)
		s.Minute(14)
		at := typed
		if at == "" {
			at = stage.Stamp(14)
		}
		s.Add(kinds.Reading, "setUp", stage.Ref(s.SetUp), "measured", stage.CctDuv(1e6/200, 0), "takenAt", at, "supersedes", stage.Ref(first),
			"of", fmt.Sprintf(`{"as":"light","light":%s}`, stage.Ref(l)))
		all := lighting.ReadingsOf(s.Book(), s.SetUp)
		var got *lighting.Reading
		for _, m := range all {
			if m.OfLight(l) {
				got = m
			}
		}
		if got == nil || got.TakenAt != stage.Minute(want) || got.Position != "face" || got.IlluminanceLux == nil || *got.IlluminanceLux != 500 {
			t.Errorf("typed %q: got %+v, want minute %d with the place and the lux of the first", typed, got, want)
		}
	}
}
