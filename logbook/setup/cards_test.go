package setup_test

import (
	"math"
	"testing"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

// had is the white that a clip of body B had, with the clip's row.
func had(s *stage.Stage, clip logbook.ID) (setup.SettingWhite, glance.ClipSummary) {
	s.T.Helper()
	b := s.Book()
	v, _ := b.Record(clip)
	in, _ := b.Record(s.SetUp)
	body, _ := b.RecordOf(kinds.Body, v.Ref("body"))
	return setup.Read(b, in, s.Clock).WhiteAtClip(v, body, cameras.ClipSetting(v)), glance.Summarize(b, in).Clip(v)
}

// anotherDay is a set-up of another day.
func anotherDay(s *stage.Stage, number, date, unit string) logbook.ID {
	s.T.Helper()
	day := s.Add(kinds.Day, "number", number, "date", stage.Quoted(date), "unit", stage.Quoted(unit))
	return s.Add(kinds.SetUp, "day", stage.Ref(day), "name", `"Z"`)
}

// Which cards count for a clip of 4 March: by the date of their day, whichever the unit; one
// without a set-up by its own time.
func TestWhichCardsCountForAClip(t *testing.T) {
	const afternoon = 6 * 60
	for _, c := range []struct {
		name, date, unit string
		minute           int
		counts           bool
		later            string
	}{
		{"of_the_day_before", "2026-03-03", "main", -1440, true, ""},
		{"of_the_same_date,_another_unit,_later", "2026-03-04", "second", afternoon, true, ""},
		{"of_the_next_day", "2026-03-05", "main", 1440, false, "a card of day 7 says +6 mired"},
		{"of_the_next_day,_by_a_wrong_clock_earlier", "2026-03-05", "main", -60, false, "a card of day 7 says +6 mired"},
		{"of_no_day,_earlier", "", "", 1, true, ""},
		{"of_no_day,_later", "", "", afternoon, false, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Minute(5)
			_, _, clip := s.Shoot("5600", "5600")
			in := "null"
			if c.date != "" {
				in = stage.Ref(anotherDay(s, "7", c.date, c.unit))
			}
			s.Minute(c.minute)
			s.Card(s.B, 5600, stage.Day5600, 6, 0, s.Reading, "setUp", in)
			white, row := had(s, clip)
			if (white.Learnt != nil) != c.counts || row.LaterCards != c.later || (row.RestsOn == "label") == c.counts {
				t.Errorf("got %+v, rests on %q, later %q; want it to count: %v, later %q", white.Learnt, row.RestsOn, row.LaterCards, c.counts, c.later)
			}
		})
	}
}

// A card of months later, as near as can be, changes nothing of what is said of a clip; now it
// counts.
func TestALaterCardLeavesADayAsItWas(t *testing.T) {
	s := stage.New(t)
	s.Minute(5)
	s.Card(s.B, 5600, stage.Day5600, 6, 0, s.Reading)
	_, _, clip := s.Shoot("5600", "5600")
	said := func() (colorimetry.CCTDuv, string, string) {
		white, row := had(s, clip)
		correction, err := advice.Correct(s.Book(), clip, s.Clock)
		if err != nil {
			t.Fatal(err)
		}
		return white.White, row.RestsOn + row.OffAim.Words + row.LaterCards, correction.Words + correction.CameraError.Words
	}
	white, row, correction := said()
	s.Minute(268 * 24 * 60)
	in := anotherDay(s, "90", "2026-11-27", "main")
	s.Card(s.B, 5600, stage.Day5600, 31, 0, s.Reading, "setUp", stage.Ref(in))
	if w, r, c := said(); w != white || r != row || c != correction {
		t.Errorf("got %v, %q, %q; want %v, %q, %q as before", w, r, c, white, row, correction)
	}
	b := s.Book()
	v, _ := b.Record(s.SetUp)
	read := setup.Read(b, v, s.Clock)
	camera, _ := b.Record(s.B)
	body, _ := b.Record(s.BodyB)
	if e, ok := read.LearntHere(camera, body, read.Current(), cameras.ErrorQuery{Label: stage.Day5600}); !ok || len(e.Samples) != 2 {
		t.Errorf("now: got %+v, want both cards", e)
	}
}

// Cards that say too little leave the row of a clip and its correction on the label.
func TestPoorCardsMoveNoClip(t *testing.T) {
	for name, shoot := range map[string]func(s *stage.Stage){
		"another_family": func(s *stage.Stage) {
			s.Card(s.B, 5600, stage.Day5600, 12, 0, s.Read(s.Fresnel("spot", "back"), stage.OnLocus5600))
		},
		"far": func(s *stage.Stage) { s.Card(s.B, 3200, stage.Day5600, 12, 0, s.Reading) },
		"against_each_other": func(s *stage.Stage) {
			s.Card(s.B, 5600, stage.Day5600, 12, 0, s.Reading)
			s.Card(s.B, 5600, stage.Day5600, 40, 0, s.Reading)
		},
	} {
		t.Run(name, func(t *testing.T) {
			s := stage.New(t)
			s.Minute(5)
			shoot(s)
			_, _, clip := s.Shoot("5600", "5600")
			white, row := had(s, clip)
			got, err := advice.Correct(s.Book(), clip, s.Clock)
			if err != nil {
				t.Fatal(err)
			}
			if white.Learnt != nil || row.RestsOn != "label" || got.CameraError != nil || got.Basis != "label" {
				t.Errorf("got %+v, row %q, correction %q by %+v; want the label", white.Learnt, row.RestsOn, got.Basis, got.CameraError)
			}
			plane, err := glance.Plane(s.Book(), s.SetUp, s.Clock)
			if err != nil {
				t.Fatal(err)
			}
			for _, at := range plane.Points {
				if at.Key == "B" && at.Off.Words != row.OffAim.Words {
					t.Errorf("the plane: got %q, want %q as in the row", at.Words, row.OffAim.Words)
				}
			}
		})
	}
}

// The light that cards are near to is that of the clip, also where the white in force is
// another.
func TestCardsAreNearToTheLightOfTheClip(t *testing.T) {
	s := stage.New(t)
	s.Set(s.SetUp, "referenceLight", stage.Ref(s.Key))
	s.Minute(5)
	warm := s.Read(s.Key, stage.CctDuv(1e6/(1e6/5600+30), 0))
	light := stage.Shift(stage.Day5600, 30, 0)
	s.Card(s.B, 5600, stage.Day5600, 2, 0, s.Reading)
	s.Card(s.B, 5600, light, 8, 0, warm)
	_, _, clip := s.Shoot("5600", "5600")
	white, _ := had(s, clip)
	if white.Learnt == nil {
		t.Fatal("no card counts")
	}
	// 30 mired from the light of the first, in that of the second: 1/(1+9) and 1.
	stage.Near(t, "mired", float64(white.Learnt.Cast.Mired), (0.1*2+8)/1.1, 0.1)
	stage.Near(t, "the white", float64(white.White.Mired()), 1e6/5600+float64(white.Learnt.Cast.Mired), 0.01)
	if math.Abs(float64(white.Label.Mired())-1e6/5600) > 0.01 {
		t.Errorf("the label: got %v", white.Label)
	}
}

// What a unit of a tint dial does is learnt from two cards until the day of the clip.
func TestATintUnitOfALaterDayIsNotThatOfAClip(t *testing.T) {
	for _, c := range []struct {
		date  string
		known bool
	}{{"2026-03-03", true}, {"2026-03-04", true}, {"2026-03-05", false}} {
		s := stage.New(t)
		s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "tint", `{"min":-20,"max":20,"step":1,"plusIs":"magenta"}`)
		s.Minute(5)
		clip := s.Clip(s.B, s.Take(), "5600", "tint", "10")
		in := stage.Ref(anotherDay(s, "7", c.date, "second"))
		s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, "setUp", in, "settings", `{"whiteMode":"kelvin","kelvin":5600,"tint":0}`)
		s.Card(s.B, 5600, stage.Day5600, 0, 0.005, s.Reading, "setUp", in, "settings", `{"whiteMode":"kelvin","kelvin":5600,"tint":10}`)
		white, row := had(s, clip)
		if (white.Err == nil) != c.known || (row.Problem == "") != c.known {
			t.Errorf("cards of %s: got %+v, row %q; want the unit known: %v", c.date, white, row.Problem, c.known)
			continue
		}
		if c.known {
			stage.Near(t, "Duv of the label", float64(white.Label.Duv), 0.005, 0.0002)
		}
	}
}

// Where no white was chosen, a light that was read hours after the clip is not its light: not in
// the row, and not in the correction.
func TestALightReadLongAfterAClipIsNotItsLight(t *testing.T) {
	for _, c := range []struct {
		minute int
		known  bool
	}{{4, true}, {300, false}} {
		s := stage.New(t)
		s.SetUp = s.Add(kinds.SetUp, "day", stage.Ref(s.Day), "name", `"B"`)
		key := s.Light("key", "key", "lamp", stage.Ref(s.Lamp), "rigged/on", "true")
		s.Set(s.SetUp, "referenceLight", stage.Ref(key))
		s.Minute(5)
		clip := s.Clip(s.B, logbook.ID{}, "5600")
		s.Minute(c.minute)
		s.Read(key, stage.CctDuv(5000, 0))
		s.Minute(301)
		_, row := had(s, clip)
		_, err := advice.Correct(s.Book(), clip, s.Clock)
		b := s.Book()
		in, _ := b.Record(s.SetUp)
		v, _ := b.Record(clip)
		if light := setup.Read(b, in, s.Clock).LightAtClip(v); light.Measured != c.known || (light.Color != nil) != c.known {
			t.Errorf("read at minute %d: asked now its light is %+v; want it known: %v", c.minute, light, c.known)
		}
		if (row.Cast != nil) != c.known || (err == nil) != c.known {
			t.Errorf("read at minute %d: the row says %+v, the correction %v; want the light known: %v", c.minute, row.Cast, err, c.known)
		}
	}
}
