package rigging_test

import (
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/rigging"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

// lightAt is the stage's key at a minute of the diary.
func lightAt(t *testing.T, s *stage.Stage, light logbook.ID, minute int) rigging.RiggedLight {
	t.Helper()
	b := s.Book()
	v, _ := b.RecordOf(kinds.Light, light)
	view, _ := b.RecordOf(kinds.SetUp, s.SetUp)
	return rigging.LightAt(setup.NewReader(b).ReadForRows(view), v, stage.Minute(minute))
}

// A light is told as it stood at the moment that is asked, whatever was done to it since.
func TestALightIsToldAsItStood(t *testing.T) {
	for _, c := range []struct {
		name   string
		later  func(s *stage.Stage) // what happened after the take of minute 10
		words  string
		at     string // where it stood
		caveat string
	}{
		{"nothing since", func(*stage.Stage) {}, "panel, dial 5600 K, 100 %", "camera left", ""},
		{"it was relit", func(s *stage.Stage) {
			s.Set(s.Key, "rigged/dialKelvin", "3200", "rigged/levelPercent", "40", "position", `"camera right"`)
		}, "panel, dial 5600 K, 100 %", "camera left", ""},
		{"its lamp was changed", func(s *stage.Stage) {
			other := s.Add(kinds.Lamp, "name", `"spot"`, "family", `"incandescent"`)
			s.Set(s.Key, "lamp", stage.Ref(other))
		}, "panel, dial 5600 K, 100 %", "camera left", ""},
		{"a gel was hung", func(s *stage.Stage) {
			gel := s.Add(kinds.Gel, "name", `"half warm"`, "gelKind", `"warm"`)
			s.Set(s.Key, "rigged/gels", "["+stage.Ref(gel)+"]")
		}, "panel, dial 5600 K, 100 %", "camera left", ""},
		{"a gel that hung since a reading before the take was entered", func(s *stage.Stage) {
			gel := s.Add(kinds.Gel, "name", `"half warm"`, "gelKind", `"warm"`)
			s.Set(s.Key, "rigged/gels", "["+stage.Ref(gel)+"]", "since/rigged/gels", stage.Ref(s.Reading))
		}, "panel, dial 5600 K, 100 %, half warm", "camera left", ""},
		{"it was switched off", func(s *stage.Stage) { s.Set(s.Key, "rigged/on", "false") }, "panel, dial 5600 K, 100 %", "camera left", ""},
		{"planned otherwise", func(s *stage.Stage) { s.Set(s.Key, "planned/dialKelvin", "4300") }, "panel, dial 5600 K, 100 %", "camera left", ""},
		{"two people set it apart", func(s *stage.Stage) {
			s.Set(s.Key, "rigged/dialKelvin", "3200")
			s.Set(s.Key, "rigged/dialKelvin", "4300")
			c := &s.Edits[len(s.Edits)-1].Set[0]
			c.Over = s.Edits[len(s.Edits)-2].Set[0].Over
		}, "panel, dial 5600 K, 100 %", "camera left", "not settled: rigged/dialKelvin 4300 (Ada) or 3200 (Ada)"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Minute(0)
			s.Set(s.Key, "position", `"camera left"`)
			s.Minute(10)
			s.Shoot("5600", "5600")
			s.Minute(40)
			c.later(s)
			got := lightAt(t, s, s.Key, 10)
			if got.Words != c.words || got.Position != c.at || strings.Join(got.Caveats, "; ") != c.caveat {
				t.Errorf("got %q at %q, %q; want %q at %q, %q", got.Words, got.Position, got.Caveats, c.words, c.at, c.caveat)
			}
			if got.Reading == nil || got.Reading.When != "10 min before" {
				t.Errorf("got reading %+v, want the one of 10 min before", got.Reading)
			}
		})
	}
}

// A light that was entered after the take, and not read before, may have stood or not.
func TestALightFromPaperSaysSo(t *testing.T) {
	s := stage.New(t)
	s.Minute(10)
	s.Shoot("5600", "5600")
	s.Minute(70)
	fill := s.Light("fill", "fill", "rigged/levelPercent", "50")
	got := lightAt(t, s, fill, 10)
	want := "entered at 10:10 UTC+1, after this moment, and not read before: whether it stood then is not said"
	if strings.Join(got.Caveats, "; ") != want {
		t.Errorf("got %q, want %q", got.Caveats, want)
	}
	s.Add(kinds.Reading, "setUp", stage.Ref(s.SetUp), "measured", stage.OnLocus5600, "takenAt", stage.Stamp(5),
		"of", `{"as":"light","light":`+stage.Ref(fill)+`}`)
	if got := lightAt(t, s, fill, 10); len(got.Caveats) > 0 || got.Reading == nil {
		t.Errorf("got %q of a light that was read before", got.Caveats)
	}
}

func dayOf(t *testing.T, s *stage.Stage, minute int) rigging.RiggingList {
	t.Helper()
	list, err := rigging.ListOfDay(s.Book(), s.Day, stage.Minute(minute))
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func lineOf(t *testing.T, list rigging.RiggingList, name string) rigging.StockLine {
	t.Helper()
	for _, l := range list.Stock {
		if l.Name == name {
			return l
		}
	}
	t.Fatalf("no line %s in %+v", name, list.Stock)
	return rigging.StockLine{}
}

// second adds another set-up of the day with the stage's lamp in it.
func second(s *stage.Stage) (setUp, key logbook.ID) {
	setUp = s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "scene", stage.Ref(s.Scene), "name", `"B"`)
	key = s.Add(kinds.Light, "setUp", stage.Ref(setUp), "name", `"key B"`, "role", `"key"`, "lamp", stage.Ref(s.Lamp))
	return setUp, key
}

func readIn(s *stage.Stage, setUp, light logbook.ID) {
	minute := int((s.Clock - stage.DayBegins) / 60000)
	s.Add(kinds.Reading, "setUp", stage.Ref(setUp), "measured", stage.OnLocus5600, "takenAt", stage.Stamp(minute),
		"of", `{"as":"light","light":`+stage.Ref(light)+`}`)
}

// A lamp is short only where two set-ups surely stood at once.
func TestStockIsCountedAcrossSetUpsThatStandAtOnce(t *testing.T) {
	for _, c := range []struct {
		name            string
		fill            func(s *stage.Stage)
		verdict         string
		atOnce, whether int
	}{
		{"one set-up", func(*stage.Stage) {}, "enough", 1, 1},
		{"the next is lit while the first is shot", func(s *stage.Stage) {
			s.Minute(20)
			b, key := second(s)
			readIn(s, b, key)
			s.Minute(30)
			s.Shoot("5600", "5600")
		}, "short", 2, 2},
		{"the lamp went over to the next, which nobody shot yet", func(s *stage.Stage) {
			s.Minute(10)
			s.Shoot("5600", "5600")
			s.Minute(30)
			b, key := second(s)
			readIn(s, b, key)
		}, "shortIfTogether", 1, 2},
		{"the next is only planned", func(s *stage.Stage) { second(s) }, "shortIfTogether", 1, 2},
		{"the truck holds two", func(s *stage.Stage) {
			s.Set(s.Lamp, "count", "2")
			s.Minute(20)
			b, key := second(s)
			readIn(s, b, key)
			s.Minute(30)
			s.Shoot("5600", "5600")
		}, "enough", 2, 2},
		{"the lamp was changed before the next was lit", func(s *stage.Stage) {
			other := s.Add(kinds.Lamp, "name", `"spot"`, "family", `"incandescent"`)
			s.Minute(10)
			s.Shoot("5600", "5600")
			s.Minute(15)
			s.Set(s.Key, "lamp", stage.Ref(other))
			s.Minute(20)
			b, key := second(s)
			readIn(s, b, key)
			s.Minute(30)
			s.Shoot("5600", "5600")
		}, "enough", 1, 1},
		{"both were entered from paper an hour later", func(s *stage.Stage) {
			s.Minute(90)
			b := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`)
			key := s.Add(kinds.Light, "setUp", stage.Ref(b), "name", `"key B"`, "role", `"key"`, "lamp", stage.Ref(s.Lamp))
			s.Add(kinds.Reading, "setUp", stage.Ref(b), "measured", stage.OnLocus5600, "takenAt", stage.Stamp(1),
				"of", `{"as":"light","light":`+stage.Ref(key)+`}`)
		}, "short", 2, 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			c.fill(s)
			l := lineOf(t, dayOf(t, s, 95), "panel")
			if l.Verdict != c.verdict || l.AtOnce != c.atOnce || l.IfTogether != c.whether {
				t.Errorf("got %s, %d at once, %d if together: %s; want %s, %d, %d", l.Verdict, l.AtOnce, l.IfTogether, l.Words,
					c.verdict, c.atOnce, c.whether)
			}
		})
	}
}

// Nobody left a set-up that is only planned, however long nothing was entered.
func TestWhatIsPlannedStaysPlanned(t *testing.T) {
	s := stage.New(t)
	b, _ := second(s)
	s.Light("fill", "fill")
	key := s.Add(kinds.Light, "setUp", stage.Ref(b), "name", `"fill B"`, "role", `"fill"`, "lamp", stage.Ref(s.Lamp),
		"planned/levelPercent", "40")
	list, err := rigging.ListOfSetUp(s.Book(), b, stage.Minute(3*24*60))
	if err != nil {
		t.Fatal(err)
	}
	if len(list.SetUps) != 1 || list.SetUps[0].Begun || list.SetUps[0].AsOf != "as of now" {
		t.Fatalf("got %+v", list.SetUps)
	}
	if l := list.SetUps[0].Lights[1]; l.Light != key || l.Words != "panel, 40 % (planned)" {
		t.Errorf("got %q", l.Words)
	}
	if l := lineOf(t, list, "panel"); l.Verdict != "shortIfTogether" || l.IfTogether != 2 {
		t.Errorf("got %+v, want two of the only panel", l)
	}
}

func TestGelsAreCountedByPiece(t *testing.T) {
	s := stage.New(t)
	gel := s.Add(kinds.Gel, "name", `"half warm"`, "gelKind", `"warm"`, "quantity", "1")
	bare := s.Add(kinds.Gel, "name", `"frost"`, "gelKind", `"diffusion"`)
	s.Light("fill", "fill", "rigged/gels", "["+stage.Ref(gel)+","+stage.Ref(bare)+"]")
	s.Light("back", "back", "planned/gels", "["+stage.Ref(gel)+"]")
	list := dayOf(t, s, 3)
	if l := lineOf(t, list, "half warm"); l.Verdict != "shortIfTogether" || l.IfTogether != 2 || l.AtOnce != 1 ||
		l.Words != "half warm would be used 2 times if these stand together, the truck holds 1: 12 A fill and 12 A back" {
		t.Errorf("got %+v", l)
	}
	if l := lineOf(t, list, "frost"); l.Verdict != "notKnown" || l.Held != nil {
		t.Errorf("got %+v, want not known", l)
	}
	if back := list.SetUps[0].Lights[2]; back.Words != "no lamp named, half warm (planned)" {
		t.Errorf("got %q, want the planned gel marked", back.Words)
	}
	if list.Stock[0].Name != "half warm" {
		t.Errorf("got %s first, want what is short", list.Stock[0].Name)
	}
}

func TestTheListSaysWhatToMind(t *testing.T) {
	s := stage.New(t)
	s.Fresnel("spot", "back")
	list := dayOf(t, s, 3)
	if n := len(list.Cautions); n != 3 || !strings.Contains(list.Cautions[0], "Hot lamps") || !strings.Contains(list.Cautions[1], "Mains") ||
		!strings.HasPrefix(list.Cautions[2], "Local rules") {
		t.Errorf("got %q, want hot lamps, mains and who comes first", list.Cautions)
	}
}
