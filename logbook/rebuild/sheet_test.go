package rebuild_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/rebuild"
	"evenwhite/logbook/stage"
)

func sheetOf(t *testing.T, s *stage.Stage, take logbook.ID, minute int) rebuild.RebuildSheet {
	t.Helper()
	sheet, err := rebuild.Of(s.Book(), rebuild.Query{SetUp: s.SetUp, Take: take}, stage.Minute(minute))
	if err != nil {
		t.Fatal(err)
	}
	return sheet
}

// told is a sheet in a few lines: the white, each light with its reading and level, each camera.
func told(sheet rebuild.RebuildSheet) string {
	lines := []string{"white none"}
	if w := sheet.White; w != nil {
		lines[0] = "white " + w.Words
		if w.ContestedWords != "" {
			lines[0] += ", " + w.ContestedWords
		}
		if sheet.WhiteAfter {
			lines[0] += ", chosen after"
		}
	}
	for _, l := range sheet.Lights {
		line := l.Rigged.Name + ": " + l.Rigged.Words
		if r := l.Rigged.Reading; r != nil {
			line += ", " + r.Color.Words + " " + r.When
		} else {
			line += ", " + l.Rigged.Problem
		}
		if l.Level != nil {
			line += ", " + l.Level.Words
		}
		lines = append(lines, line)
	}
	for _, c := range sheet.Cameras {
		line := c.Letter + ": " + c.Problem
		if c.Setting != nil {
			line = c.Letter + ": " + c.BodyLabel + " " + c.Setting.Words
		}
		lines = append(lines, line)
	}
	return strings.Join(lines, "\n")
}

const asShot = `white panel left, measured
panel left: panel, dial 5600 K, 100 %, 5600 K, Duv +0.0000 10 min before
fill: tile, 50 %, 5600 K, Duv +0.0000 5 min before, 2 stops under panel left (4 : 1)
A: body 1 5600 K
B: body 2 5600 K`

// shot is a stage with a fill, of which a take was shot at minute 10.
func shot(t *testing.T) (s *stage.Stage, take, fill logbook.ID) {
	s = stage.New(t)
	s.Minute(5)
	tile := s.Add(kinds.Lamp, "name", `"tile"`, "family", `"twoColorLed"`)
	fill = s.Light("fill", "fill", "lamp", stage.Ref(tile), "rigged/levelPercent", "50", "rigged/on", "true")
	s.Read(fill, stage.OnLocus5600, "illuminance", `{"value":200,"unit":"lux"}`)
	s.Minute(10)
	take, _, _ = s.Shoot("5600", "5600")
	return s, take, fill
}

func choose(s *stage.Stage, kelvin, from string, more ...string) logbook.ID {
	return s.Add(kinds.White, append([]string{"setUp", stage.Ref(s.SetUp), "from",
		`{"as":"nominal","kelvin":` + kelvin + `,"locus":"blackBody"}`, "appliesFrom", from}, more...)...)
}

// A sheet is of the moment of its take: what came later is not in it.
func TestASheetIsOfItsTake(t *testing.T) {
	for _, c := range []struct {
		name  string
		later func(s *stage.Stage, fill logbook.ID)
		want  string // "": as shot
	}{
		{"nothing later", func(*stage.Stage, logbook.ID) {}, ""},
		{"relit", func(s *stage.Stage, fill logbook.ID) {
			s.Set(s.Key, "rigged/dialKelvin", "3200")
			s.Set(fill, "rigged/levelPercent", "100")
			s.Minute(25)
			s.Read(s.Key, stage.OnLocus3200, "illuminance", `{"value":900,"unit":"lux"}`)
			s.Read(fill, stage.OnLocus5600, "illuminance", `{"value":700,"unit":"lux"}`)
			s.Minute(30)
			s.Shoot("3200", "3200")
		}, ""},
		{"a lamp read again", func(s *stage.Stage, fill logbook.ID) {
			s.Read(fill, stage.CctDuv(5450, 0.001), "illuminance", `{"value":180,"unit":"lux"}`)
			s.Read(s.Key, stage.CctDuv(5500, 0.001), "illuminance", `{"value":640,"unit":"lux"}`)
		}, ""},
		{"a body swapped and the cameras set anew", func(s *stage.Stage, _ logbook.ID) {
			spare := s.Add(kinds.Body, "label", `"spare"`, "whiteModes", `["kelvin"]`, "tintZero", `"blackBody"`, "timecode", `"timeOfDay"`)
			s.Set(s.A, "body", fmt.Sprintf(`{"body":%s}`, stage.Ref(spare)))
			take := s.Take()
			s.Clip(s.A, take, "4300", "body", stage.Ref(spare))
			s.Clip(s.B, take, "4300")
		}, ""},
		{"a card shot", func(s *stage.Stage, _ logbook.ID) {
			s.Card(s.B, 5600, stage.Day5600, 25, 0.002, logbook.ID{})
		}, ""},
		{"a light brought in later", func(s *stage.Stage, _ logbook.ID) {
			s.Light("back", "back", "rigged/on", "true")
		}, strings.Replace(asShot, "\nA: body", "\nback: no lamp named, it was not measured\nA: body", 1)},
		{"a white chosen from the next take on", func(s *stage.Stage, _ logbook.ID) {
			choose(s, "4300", `{"as":"takeNumber","number":2}`, "supersedes", stage.Ref(s.White))
		}, ""},
		{"a white chosen afterwards for this take", func(s *stage.Stage, _ logbook.ID) {
			choose(s, "4300", `{"as":"takeNumber","number":1}`, "supersedes", stage.Ref(s.White))
		}, strings.Replace(asShot, "white panel left, measured", "white nominal 4300 K, chosen after", 1)},
		{"two whites chosen apart for this take", func(s *stage.Stage, _ logbook.ID) {
			choose(s, "4300", `{"as":"takeNumber","number":1}`, "supersedes", stage.Ref(s.White))
			s.Minute(21)
			choose(s, "3200", `{"as":"takeNumber","number":1}`, "supersedes", stage.Ref(s.White))
		}, strings.Replace(asShot, "white panel left, measured", "white nominal 3200 K, contested: 3200 K or 4300 K, chosen after", 1)},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, take, fill := shot(t)
			s.Minute(20)
			c.later(s, fill)
			want := c.want
			if want == "" {
				want = asShot
			}
			if got := told(sheetOf(t, s, take, 60)); got != want {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
			if a, b := told(sheetOf(t, s, take, 60)), told(sheetOf(t, s, take, 60+400*24*60)); a != b {
				t.Errorf("400 days later it is\n%s\nand was\n%s", b, a)
			}
		})
	}
}

// A take from paper stands before the next one, whenever it was entered.
func TestASheetOfATakeFromPaper(t *testing.T) {
	s, _, fill := shot(t)
	s.Minute(20)
	s.Set(s.Key, "rigged/dialKelvin", "3200")
	s.Minute(22)
	s.Read(s.Key, stage.OnLocus3200)
	s.Minute(25)
	s.Takes = 2
	s.Shoot("3200", "3200") // take 3
	s.Minute(85)
	late := s.Add(kinds.Take, "setUp", stage.Ref(s.SetUp), "number", "2")
	s.Clip(s.A, late, "5600", "startedAt", "")
	s.Set(fill, "rigged/levelPercent", "10")
	got := told(sheetOf(t, s, late, 90))
	for _, want := range []string{"panel left: panel, dial 3200 K, 100 %, 3200 K, Duv +0.0000 3 min before", "fill: tile, 50 %",
		"A: body 1 5600 K", "B: it did not roll in this take"} {
		if !strings.Contains(got, want) {
			t.Errorf("got\n%s\nwant in it %q", got, want)
		}
	}
}

func TestWithoutATakeItIsTheLastThatIsFootage(t *testing.T) {
	s, take, _ := shot(t)
	s.Minute(15)
	s.Take("takeKind", `"chart"`)
	sheet := sheetOf(t, s, logbook.ID{}, 20)
	if sheet.Take != take || sheet.AsOf != "as rigged at take 1, 09:10 UTC+1" {
		t.Errorf("got %s, %s", sheet.TakeName, sheet.AsOf)
	}
	if _, err := rebuild.Of(s.Book(), rebuild.Query{SetUp: s.SetUp, Take: s.Key}, s.Clock); !errors.Is(err, logbook.ErrNoRecord) {
		t.Errorf("got %v of a take that is a light", err)
	}
	empty := s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"C"`)
	other, err := rebuild.Of(s.Book(), rebuild.Query{SetUp: empty}, s.Clock)
	if err != nil || other.AsOf != "as rigged now" || other.At != nil {
		t.Errorf("got %+v, %v of a set-up without a take", other, err)
	}
	if _, err := rebuild.Of(s.Book(), rebuild.Query{SetUp: empty, Take: take}, s.Clock); !errors.Is(err, logbook.ErrNoRecord) {
		t.Errorf("got %v of a take of another set-up", err)
	}
}

func TestTheSheetListsWhatItRestsOn(t *testing.T) {
	s, take, fill := shot(t)
	rests := map[logbook.ID]bool{}
	for _, f := range sheetOf(t, s, take, 60).RestsOn {
		rests[f.Record] = true
	}
	for _, id := range []logbook.ID{take, s.White, s.Key, fill, s.Reading} {
		if !rests[id] {
			t.Errorf("it does not name %s", id)
		}
	}
}
