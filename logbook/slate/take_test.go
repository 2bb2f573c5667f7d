package slate_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/amendtest"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
	"evenwhite/logbook/slate"
)

// floor is a set-up with cameras A and B, whose bodies count their clips.
type floor struct {
	*amendtest.Desk
	setUp   logbook.View
	cameras [2]logbook.View
	bodies  [2]logbook.View
}

func newFloor(t *testing.T) *floor {
	d := amendtest.New(t)
	s := &floor{Desk: d}
	d.Make(kinds.Production, `{"title":"Invented","timeZone":"Europe/Berlin","frameRate":"25","gelFamily":"typed"}`)
	day := d.Make(kinds.Day, `{"number":1,"date":"2026-03-04"}`)
	inUse := ""
	for i, letter := range []string{"A", "B"} {
		s.bodies[i] = ruled(d, "body "+letter, strings.Replace(ruleOfA, `"A"`, `"`+letter+`"`, 1))
		s.cameras[i] = d.Make(kinds.Camera, fmt.Sprintf(`{"letter":%q,"body":{"body":%s},"card":%q}`, letter, logbook.IDValue(s.bodies[i].ID), letter+"001"))
		inUse += fmt.Sprintf(`,%s:{"inUse":true,"lens":"35","plannedKelvin":%d}`, logbook.IDValue(s.cameras[i].ID), 4300+i)
	}
	s.setUp = d.Make(kinds.SetUp, fmt.Sprintf(`{"day":%s,"name":"A","place":"kitchen","cameras":{%s}}`, logbook.IDValue(day.ID), inUse[1:]))
	return s
}

// try makes the drafts of an event; A and B in it stand for the cameras' ids.
func (s *floor) try(object string) ([]logbook.Draft, error) {
	s.T.Helper()
	for i, letter := range []string{"A", "B"} {
		object = strings.ReplaceAll(object, `"`+letter+`"`, string(logbook.IDValue(s.cameras[i].ID)))
	}
	v, err := logbook.ParseValue(object)
	if err != nil {
		s.T.Fatal(err)
	}
	ev, err := slate.ReadEvent(s.setUp.ID, v)
	if err != nil {
		return nil, err
	}
	return slate.Drafts(s.Book, ev, s.NewID, s.Now)
}

// press logs an event a minute later.
func (s *floor) press(object string) []logbook.Draft {
	s.T.Helper()
	s.Now += 60_000
	drafts, err := s.try(object)
	if err != nil {
		s.T.Fatal(err)
	}
	s.Apply(drafts...)
	return drafts
}

// summary writes down the takes and clips of the set-up in short.
func (s *floor) summary() string {
	var out []string
	takes := s.Book.Referring(kinds.Take, "setUp", s.setUp.ID)
	slate.SortByNumber(takes)
	clips := func(views []logbook.View) string {
		var names []string
		for _, clip := range views {
			name, _ := clip.Value("name").Member("text").Text()
			name = strings.TrimSuffix(name, "_260304")
			if part := clip.Value("part"); part != "" {
				name += " part " + string(part)
			}
			names = append(names, name)
		}
		return strings.Join(names, " ")
	}
	for _, take := range takes {
		name := strings.TrimSpace(string(take.Value("number")) + take.Text("suffix") + " " + take.Text("state"))
		out = append(out, name+": "+clips(s.Book.Referring(kinds.Clip, "takes", take.ID)))
	}
	for _, clip := range s.Book.Referring(kinds.Clip, "setUp", s.setUp.ID) {
		if len(clip.Keys("takes")) == 0 {
			out = append(out, strings.TrimSpace("no take "+clip.Text("clipKind"))+": "+clips([]logbook.View{clip}))
		}
	}
	return strings.Join(out, "\n")
}

func (s *floor) takeNumbered(n string) logbook.View {
	s.T.Helper()
	for _, take := range s.Book.Referring(kinds.Take, "setUp", s.setUp.ID) {
		if string(take.Value("number")) == n {
			return take
		}
	}
	s.T.Fatalf("there is no take %s", n)
	return logbook.View{}
}

// clipOf is the last clip of a camera in a take.
func (s *floor) clipOf(number string, camera int) logbook.View {
	s.T.Helper()
	var found logbook.View
	for _, clip := range s.Book.Referring(kinds.Clip, "takes", s.takeNumbered(number).ID) {
		if clip.Ref("camera") == s.cameras[camera].ID {
			found = clip
		}
	}
	if !found.Known() {
		s.T.Fatalf("take %s has no clip of camera %d", number, camera)
	}
	return found
}

func TestEventsMakeTakesAndClips(t *testing.T) {
	id := func(s *floor, number string) string { return string(logbook.IDValue(s.takeNumbered(number).ID)) }
	for _, c := range []struct {
		name   string
		events func(s *floor)
		want   string
	}{
		{"next take", func(s *floor) { s.press(`{"event":"nextTake"}`); s.press(`{"event":"nextTake"}`) },
			"1: A001C001 B001C001\n2: A001C002 B001C002"},
		{"false start before the slate", func(s *floor) { s.press(`{"event":"falseStart"}`); s.press(`{"event":"nextTake"}`) },
			"1: A001C002 B001C002\nno take falseStart: A001C001\nno take falseStart: B001C001"},
		{"false take, its number used", func(s *floor) {
			s.press(`{"event":"falseTake","falseTakeNumber":"used"}`)
			s.press(`{"event":"nextTake"}`)
		}, "1 falseStart: A001C001 B001C001\n2: A001C002 B001C002"},
		{"false take, its number used again, asked once", func(s *floor) {
			s.press(`{"event":"falseTake","falseTakeNumber":"usedAgain"}`)
			s.press(`{"event":"falseTake"}`)
			s.press(`{"event":"nextTake"}`)
		}, "1 numberUsedAgain: A001C001 B001C001\n1 numberUsedAgain: A001C002 B001C002\n1: A001C003 B001C003"},
		{"a take that turns out false is only marked", func(s *floor) {
			s.press(`{"event":"nextTake"}`)
			s.press(`{"event":"falseTake","falseTakeNumber":"used","take":` + id(s, "1") + `}`)
		}, "1 falseStart: A001C001 B001C001"},
		{"series", func(s *floor) {
			s.press(`{"event":"nextTake"}`)
			s.press(`{"event":"series","timecode":"10:20:30:00"}`)
		},
			"1: A001C001 B001C001\n2: A001C001 B001C001"},
		{"pick-ups", func(s *floor) {
			s.press(`{"event":"nextTake"}`)
			s.press(`{"event":"pickUp","sameNumber":true}`)
			s.press(`{"event":"pickUp","suffix":"X"}`)
		}, "1: A001C001 B001C001\n1PU: A001C002 B001C002\n2X: A001C003 B001C003"},
		{"one camera rolls again", func(s *floor) { s.press(`{"event":"nextTake"}`); s.press(`{"event":"reroll","camera":"B"}`) },
			"1: A001C001 B001C001 B001C002 part 2"},
		{"new cards", func(s *floor) {
			s.press(`{"event":"nextTake"}`)
			s.press(`{"event":"newCard","camera":"A"}`)
			s.press(`{"event":"newCard","camera":"B","card":"B007"}`)
			s.press(`{"event":"nextTake"}`)
			s.press(`{"event":"nextTake"}`)
		}, "1: A001C001 B001C001\n2: A002C001 B007C001\n3: A002C002 B007C002"},
		{"a camera that did not roll, and one that joins late", func(s *floor) {
			s.press(`{"event":"nextTake"}`)
			s.press(`{"event":"notRolling","camera":"B"}`)
			s.press(`{"event":"nextTake","cameras":{"B":{"rolled":false}}}`)
			s.press(`{"event":"joinsLate","camera":"B"}`)
		}, "1: A001C001 \n2: A001C002 B001C001"},
		{"charts", func(s *floor) { s.press(`{"event":"chart","camera":"A"}`); s.press(`{"event":"chart"}`) },
			"no take chart: A001C001\nno take chart: A001C002\nno take chart: B001C001"},
		{"a forgotten take, then its names shifted", func(s *floor) {
			s.press(`{"event":"nextTake"}`)
			s.press(`{"event":"nextTake","number":3}`)
			s.press(`{"event":"nextTake"}`)
			s.press(`{"event":"insertTake"}`)
			s.press(`{"event":"shiftNames","clip":` + string(logbook.IDValue(s.clipOf("3", 0).ID)) + `}`)
			s.press(`{"event":"nextTake"}`)
		}, "1: A001C001 B001C001\n2: A001C002 B001C002\n3: A001C003 B001C002\n4: A001C004 B001C003\n5: A001C005 B001C004"},
		{"a shift stops where a name was read off", func(s *floor) {
			s.press(`{"event":"nextTake"}`)
			s.press(`{"event":"nextTake"}`)
			s.press(`{"event":"nextTake","cameras":{"A":{"name":"A001C005_260304"}}}`)
			s.press(`{"event":"nextTake"}`)
			s.press(`{"event":"shiftNames","clip":` + string(logbook.IDValue(s.clipOf("1", 0).ID)) + `}`)
		}, "1: A001C002 B001C001\n2: A001C003 B001C002\n3: A001C005 B001C003\n4: A001C006 B001C004"},
		{"no slate", func(s *floor) { s.press(`{"event":"noSlate","place":"kitchen"}`) }, "no take: A001C001\nno take: B001C001"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newFloor(t)
			c.events(s)
			if got := s.summary(); got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
		})
	}
}

func TestSettingsGoOver(t *testing.T) {
	wants := func(t *testing.T, clip logbook.View, want string) {
		t.Helper()
		var got []string
		for _, field := range []string{"whiteMode", "kelvin", "tint", "preset", "settingsAre", "readOffAt", "lens", "card"} {
			if v := clip.Value(field); v != "" {
				got = append(got, strings.ReplaceAll(string(v), `"`, ""))
			}
		}
		if text := strings.Join(got, " "); text != want {
			t.Errorf("got  %s\nwant %s", text, want)
		}
	}
	t.Run("from what is planned, then from the last clip; what is said is read off", func(t *testing.T) {
		s := newFloor(t)
		s.press(`{"event":"nextTake"}`)
		wants(t, s.clipOf("1", 0), "kelvin 4300 carriedOver 35 A001")
		s.press(`{"event":"nextTake","cameras":{"A":{"kelvin":4400.0,"lens":"50"}}}`)
		wants(t, s.clipOf("2", 0), "kelvin 4400.0 readOff 2026-03-04T04:55:20.000Z 50 A001")
		wants(t, s.clipOf("2", 1), "kelvin 4301 carriedOver 35 B001")
		s.press(`{"event":"nextTake"}`)
		wants(t, s.clipOf("3", 0), "kelvin 4400.0 carriedOver 2026-03-04T04:55:20.000Z 50 A001")
	})
	t.Run("but not the numbers of another mode", func(t *testing.T) {
		s := newFloor(t)
		s.press(`{"event":"nextTake","cameras":{"A":{"whiteMode":"preset","preset":"sun"}}}`)
		wants(t, s.clipOf("1", 0), "preset sun readOff 2026-03-04T04:54:20.000Z 35 A001")
	})
	t.Run("as they were at the end of a clip in which the white was changed", func(t *testing.T) {
		s := newFloor(t)
		s.press(`{"event":"nextTake"}`)
		drafts := s.press(`{"event":"whiteChanged","camera":"A","timecode":"10:20:30:00","cameras":{"A":{"kelvin":5000}}}`)
		if got := drafts[0].Set[0].Value; got != `{"kelvin":5000,"timecode":"10:20:30:00","whiteMode":"kelvin"}` || !strings.HasPrefix(drafts[0].Set[0].Field, "changes/") {
			t.Errorf("got %v", drafts)
		}
		s.press(`{"event":"nextTake"}`)
		wants(t, s.clipOf("1", 0), "kelvin 4300 carriedOver 35 A001")
		wants(t, s.clipOf("2", 0), "kelvin 5000 carriedOver 35 A001")
	})
	t.Run("of the body, when it is swapped for a spare; the lens stays, the card does not", func(t *testing.T) {
		s := newFloor(t)
		s.press(`{"event":"nextTake"}`)
		spare := s.Body("")
		s.Now++
		s.Patch(s.cameras[0], fmt.Sprintf(`{"body":{"body":%s}}`, logbook.IDValue(spare.ID)))
		s.press(`{"event":"nextTake","cameras":{"A":{"kelvin":4000,"lens":"50"}}}`)
		wants(t, s.clipOf("2", 0), "kelvin 4000 readOff 2026-03-04T04:55:20.001Z 50")
	})
	t.Run("not from another body: what is set on it is to be read off", func(t *testing.T) {
		s := newFloor(t)
		s.press(`{"event":"nextTake","cameras":{"A":{"kelvin":4000,"recordingMode":"log","lens":"50"}}}`)
		s.Patch(s.setUp, `{"cameras":{`+string(logbook.IDValue(s.cameras[0].ID))+`:{"plannedKelvin":null}}}`)
		s.Now++
		s.Patch(s.cameras[0], fmt.Sprintf(`{"body":{"body":%s}}`, logbook.IDValue(s.Body("").ID)))
		s.press(`{"event":"nextTake"}`)
		wants(t, s.clipOf("2", 0), "50")
		if got := s.clipOf("2", 0).Text("recordingMode"); got != "" {
			t.Errorf("got recording mode %q of the other body", got)
		}
		wants(t, s.clipOf("2", 1), "kelvin 4301 carriedOver 35 B001")
		s.press(`{"event":"nextTake","cameras":{"A":{"preset":"sun"}}}`)
		wants(t, s.clipOf("3", 0), "preset sun readOff 2026-03-04T04:56:20.001Z 50")
	})
	t.Run("from the last clip by its time, in whatever set-up", func(t *testing.T) {
		s := newFloor(t)
		s.press(`{"event":"nextTake","cameras":{"A":{"kelvin":4000}}}`)
		first := s.setUp
		day := s.Make(kinds.Day, `{"number":2,"date":"2026-03-05"}`)
		s.setUp = s.Make(kinds.SetUp, fmt.Sprintf(`{"day":%s,"name":"B"}`, logbook.IDValue(day.ID)))
		s.Now += 86_400_000
		s.press(`{"event":"nextTake","cameras":{"A":{"kelvin":5000,"card":"A007"}}}`)
		s.setUp = first
		s.press(`{"event":"nextTake"}`)
		wants(t, s.clipOf("2", 0), "kelvin 5000 carriedOver 2026-03-05T04:55:20.000Z 35 A007")
		if got, _ := s.clipOf("2", 0).Value("name").Member("text").Text(); got != "A007C002_260305" {
			t.Errorf("got the name %s: the counter belongs to body and card, the date to the day that is shot", got)
		}
		if got, _ := s.clipOf("2", 1).Value("name").Member("text").Text(); got != "B001C002_260304" {
			t.Errorf("got the name %s of a body that did not record since", got)
		}
	})
	t.Run("of a take entered later from paper, from what was before it", func(t *testing.T) {
		s := newFloor(t)
		s.press(`{"event":"nextTake","startedAt":"2026-03-04T04:00:00Z","cameras":{"A":{"kelvin":4000}}}`)
		s.press(`{"event":"nextTake","cameras":{"A":{"kelvin":5000}}}`)
		s.press(`{"event":"nextTake","startedAt":"2026-03-04T04:10:00Z"}`)
		wants(t, s.clipOf("3", 0), "kelvin 4000 carriedOver 2026-03-04T04:00:00.000Z 35 A001")
	})
	t.Run("of a take that a slow clock dates before the last one, from that", func(t *testing.T) {
		s := newFloor(t)
		s.press(`{"event":"nextTake","cameras":{"A":{"kelvin":5000}}}`)
		s.press(`{"event":"nextTake","startedAt":"2026-03-04T04:54:00Z"}`)
		wants(t, s.clipOf("2", 0), "kelvin 5000 carriedOver 2026-03-04T04:54:20.000Z 35 A001")
	})
	t.Run("an inserted take is like the one before it", func(t *testing.T) {
		s := newFloor(t)
		s.press(`{"event":"nextTake","cameras":{"A":{"kelvin":4000}},"sky":"sun"}`)
		s.press(`{"event":"nextTake","number":3,"cameras":{"A":{"kelvin":5000}},"sky":"cloud"}`)
		s.press(`{"event":"insertTake","number":2}`)
		wants(t, s.clipOf("2", 0), "kelvin 4000 carriedOver 2026-03-04T04:54:20.000Z 35 A001")
	})
	t.Run("the sky does not go over: nobody looked up; the white in force is named", func(t *testing.T) {
		s := newFloor(t)
		white := s.Make(kinds.White, fmt.Sprintf(`{"setUp":%s,"from":{"as":"nominal","kelvin":4300,"locus":"blackBody"},"appliesFrom":{"as":"start"}}`, logbook.IDValue(s.setUp.ID)))
		s.press(`{"event":"nextTake","sky":"cloud"}`)
		s.press(`{"event":"nextTake"}`)
		if take := s.takeNumbered("2"); take.Value("sky") != "" || take.Ref("white") != white.ID {
			t.Errorf("got %s", amend.Object(take))
		}
	})
}

func TestEventsWriteDown(t *testing.T) {
	t.Run("a battery, on the camera", func(t *testing.T) {
		s := newFloor(t)
		s.press(`{"event":"newBattery","camera":"A"}`)
		if got := s.View(s.cameras[0].ID).Text("newBatteryAt"); got != "2026-03-04T04:54:20.000Z" {
			t.Errorf("got %q", got)
		}
	})
	t.Run("a series, with the time at which the take begins", func(t *testing.T) {
		s := newFloor(t)
		s.press(`{"event":"nextTake"}`)
		s.press(`{"event":"series","timecode":"10:20:30:00","cameras":{"B":{"beginsAt":"11:00:00:00"}}}`)
		take := s.takeNumbered("2")
		for i, want := range []logbook.Value{`{"beginsAt":"10:20:30:00"}`, `{"beginsAt":"11:00:00:00"}`} {
			if got := s.clipOf("2", i).Value("takes/" + take.ID.String()); got != want {
				t.Errorf("got %s, want %s", got, want)
			}
		}
		if !take.Flag("series", false) || !s.takeNumbered("1").Flag("series", false) {
			t.Error("the takes are not marked as a series")
		}
	})
	t.Run("another place, as a set-up named by place and time", func(t *testing.T) {
		s := newFloor(t)
		s.press(`{"event":"noSlate","place":"a market with a very long name, near the river","startedAt":"2026-03-04T14:05:00+01:00"}`)
		for _, v := range s.Book.Records(kinds.SetUp) {
			if v.ID == s.setUp.ID {
				continue
			}
			if v.Text("name") != "a market with a very long name, ne 14:05" || len(v.Keys("cameras")) != 2 || v.Ref("day").IsZero() {
				t.Errorf("got %s", amend.Object(v))
			}
			if got := len(s.Book.Referring(kinds.Clip, "setUp", v.ID)); got != 2 {
				t.Errorf("got %d clips, want 2", got)
			}
		}
	})
}

func TestEventsAreRefused(t *testing.T) {
	for _, c := range []struct{ name, event, want string }{
		{"an unknown event", `{"event":"lunch"}`, `event is "lunch"; allowed is one of nextTake`},
		{"no event", `{}`, "event is missing"},
		{"a member that says nothing here", `{"event":"newBattery","camera":"A","number":3}`, "number is 3; allowed is none: newBattery takes camera"},
		{"a camera missing", `{"event":"reroll"}`, "camera is missing; allowed is the id of a camera"},
		{"a camera that is not in the log", `{"event":"nextTake","cameras":{` + logtest.SomeID + `:{"kelvin":5600}}}`, "allowed is a camera that is in the log"},
		{"a bad kelvin", `{"event":"nextTake","cameras":{"A":{"kelvin":-3}}}`, "/kelvin is -3; allowed is a number from 1000"},
		{"settings of another camera", `{"event":"reroll","camera":"A","cameras":{"B":{"kelvin":5600}}}`, "allowed is settings of that camera alone"},
		{"a name of a camera that did not roll", `{"event":"nextTake","cameras":{"A":{"rolled":false,"name":"x"}}}`, "this camera did not roll"},
		{"a take marked with more", `{"event":"falseTake","falseTakeNumber":"used","sky":"sun","take":` + logtest.SomeID + `}`, `sky is "sun"; allowed is none`},
		{"a take of elsewhere", `{"event":"falseTake","falseTakeNumber":"used","take":` + logtest.SomeID + `}`, "allowed is a take of this set-up"},
		{"a forgotten take whose number is taken", `{"event":"insertTake","number":0}`, "number is 0; allowed is a whole number"},
		{"a clip of elsewhere", `{"event":"shiftNames","clip":` + logtest.SomeID + `}`, "allowed is a clip of this set-up"},
		{"a change of nothing", `{"event":"whiteChanged","camera":"A"}`, "is missing; allowed is the settings that were changed"},
		{"a change on a clip of elsewhere", `{"event":"whiteChanged","camera":"A","clip":` + logtest.SomeID + `,"cameras":{"A":{"kelvin":5600}}}`,
			"allowed is a clip of this camera in this set-up"},
		{"an unknown setting", `{"event":"nextTake","cameras":{"A":{"aura":1}}}`, "/aura is 1; allowed is no field of this name"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := newFloor(t)
			drafts, err := s.try(c.event)
			var field *logbook.FieldError
			if !errors.As(err, &field) || !strings.Contains(err.Error(), c.want) || len(drafts) > 0 {
				t.Errorf("got %v and %d drafts, want %q", err, len(drafts), c.want)
			}
		})
	}
	t.Run("a change of tint alone, where nobody knows how the white is set", func(t *testing.T) {
		s := newFloor(t)
		s.Patch(s.setUp, `{"cameras":null}`)
		_, err := s.try(`{"event":"whiteChanged","camera":"A","cameras":{"A":{"tint":3}}}`)
		if err == nil || !strings.Contains(err.Error(), "/whiteMode is missing; allowed is one of kelvin preset") {
			t.Errorf("got %v", err)
		}
	})
	t.Run("an inserted take whose number is taken", func(t *testing.T) {
		s := newFloor(t)
		s.press(`{"event":"nextTake"}`)
		if _, err := s.try(`{"event":"insertTake","number":1}`); err == nil || !strings.Contains(err.Error(), "a number from 1 to 999 that is free") {
			t.Errorf("got %v", err)
		}
	})
}
