package wrap_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/rigging"
	"evenwhite/logbook/stage"
	"evenwhite/logbook/wrap"
)

// readOff is a clip's name as somebody read it.
const readOff = `{"text":"A001C001","from":"readOff"}`

// done is a day on which nothing is open.
func done(t *testing.T) *stage.Stage {
	s := stage.New(t)
	s.Minute(10)
	take := s.Take()
	s.Clip(s.A, take, "5600", "name", readOff, "card", `"A001"`)
	s.Clip(s.B, take, "5600", "name", readOff, "card", `"B001"`)
	for _, clip := range s.Book().Records(kinds.Clip) {
		s.Set(clip.ID, "name", readOff)
	}
	s.Minute(30)
	s.Set(s.Day, "closed", "true")
	return s
}

func checked(t *testing.T, s *stage.Stage, known wrap.Known, minute int) wrap.WrapCheck {
	t.Helper()
	c, err := wrap.Of(s.Book(), s.Day, known, stage.Minute(minute))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func kindsOf(c wrap.WrapCheck) string {
	var all []string
	for _, i := range c.Items {
		all = append(all, i.Kind)
	}
	return strings.Join(all, " ")
}

// Each thing that may be open, made alone on a day on which nothing else is; it has a cure.
func TestEachThingThatIsOpen(t *testing.T) {
	three, none := 3, 0
	device := logbook.ID{15: 9} // that wrote the diary
	for _, c := range []struct {
		name, kind, words, place string
		open                     func(s *stage.Stage)
		known                    wrap.Known
	}{
		{"nothing", "", "", "", func(*stage.Stage) {}, wrap.Known{Phones: []wrap.Phone{{Device: device, Label: "DIT", Unsent: &none, Heard: stage.Minute(31)}}}},
		{"the day is open", wrap.DayNotClosed, "the day is not closed", "#handover/prep?kind=day&", func(s *stage.Stage) { s.Set(s.Day, "closed", "false") }, wrap.Known{}},
		{"a phone holds work", wrap.UnsentWork,
			"DIT holds 3 changes that no server has, heard last 09:40 UTC+1", "#handover?", func(*stage.Stage) {},
			wrap.Known{Phones: []wrap.Phone{{Device: device, Label: "DIT", Unsent: &three, Heard: stage.Minute(40)}}}},
		{"a phone that wrote was not heard", wrap.PhoneNotHeard,
			"DIT wrote on this day and was not heard until its end, heard last 09:05 UTC+1: it may hold more", "#handover?", func(*stage.Stage) {},
			wrap.Known{Phones: []wrap.Phone{{Device: device, Label: "DIT", Unsent: &none, Heard: stage.Minute(5)}}}},
		{"a phone that did not write was not heard", "", "", "", func(*stage.Stage) {},
			wrap.Known{Phones: []wrap.Phone{{Device: logbook.ID{15: 8}, Label: "grip", Heard: stage.Minute(5)}}}},
		{"edits are missing", wrap.EditsMissing, "2 changes known of and not here; held by DIT", "#handover?", func(*stage.Stage) {},
			wrap.Known{Missing: []wrap.Missing{{Count: 2, Holders: []string{"DIT"}}}}},
		{"two wrote one field", wrap.Undecided,
			"take 1 wanted is not decided: yes (Ada, 09:21 UTC+1) or no (Ada, 09:20 UTC+1)", "#settle?part=choose&",
			func(s *stage.Stage) {
				take := s.Book().Records(kinds.Take)[0].ID
				s.Minute(20)
				s.Set(take, "wanted", "false")
				s.Minute(21)
				s.Set(take, "wanted", "true")
				s.Edits[len(s.Edits)-1].Set[0].Over = nil
			}, wrap.Known{}},
		{"struck out by one and changed by another", wrap.Undecided,
			"take 1 was struck out by one and changed by another", "#settle?part=choose&",
			func(s *stage.Stage) {
				take := s.Book().Records(kinds.Take)[0]
				strike(s, take)
				s.Set(take.ID, "wanted", "true", "slate", `"tail"`)
			}, wrap.Known{}},
		{"two whites chosen apart", wrap.ChosenApart, "contested: 3200 K or 4300 K", "#settle?part=choose&", func(s *stage.Stage) {
			for i, kelvin := range []string{"4300", "3200"} {
				s.Minute(11 + i)
				s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":`+kelvin+`,"locus":"blackBody"}`,
					"appliesFrom", `{"as":"start"}`, "supersedes", stage.Ref(s.White))
			}
		}, wrap.Known{}},
		{"a twin", wrap.OneOrTwo, "camera A stands in 2 records: the same thing logged twice?", "#settle?part=choose&", func(s *stage.Stage) {
			s.Add(kinds.Camera, "letter", `"A"`, "body", fmt.Sprintf(`{"body":%s}`, stage.Ref(s.BodyA)))
		}, wrap.Known{}},
		{"no white", wrap.NoWhite, "no white was chosen in this set-up (take 1)", "#now/white?", func(s *stage.Stage) {
			s.Set(s.White, "struckOut", `{"reason":"wrong"}`)
		}, wrap.Known{}},
		{"no reading", wrap.NoReading, "not measured: fill", "#lights/measure?light=", func(s *stage.Stage) {
			s.Minute(4)
			s.Light("fill", "fill", "rigged/on", "true")
		}, wrap.Known{}},
		{"a name that was counted", wrap.NameNotSure,
			"camera A, card A001: 1 clip, of which nobody read the name off; counted: A001C002", "#takes/take?kind=take&",
			func(s *stage.Stage) {
				take := s.Book().Records(kinds.Take)[0].ID
				s.Minute(11)
				s.Clip(s.A, take, "5600", "part", "2", "card", `"A001"`, "name", `{"text":"A001C002","from":"counted"}`)
			}, wrap.Known{}},
		{"a question", wrap.QuestionOpen, "Ada asks the set about take 1 since 09:10 UTC+1: warm on purpose?", "#handover/note?answers=",
			func(s *stage.Stage) { ask(s, `{"as":"set"}`) }, wrap.Known{}},
		{"a remark to post", "", "", "", func(s *stage.Stage) { ask(s, `{"as":"post"}`) }, wrap.Known{}},
		{"a question that is done", "", "", "", func(s *stage.Stage) { s.Set(ask(s, `{"as":"set"}`), "state", `"done"`) }, wrap.Known{}},
		{"a question with an answer", "", "", "", func(s *stage.Stage) {
			note := ask(s, `{"as":"set"}`)
			s.Add(kinds.Note, "about", stage.Ref(s.SetUp), "text", `"yes"`, "to", `{"as":"post"}`, "answers", stage.Ref(note))
		}, wrap.Known{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := done(t)
			s.Minute(10)
			c.open(s)
			got := checked(t, s, c.known, 60)
			if kindsOf(got) != c.kind {
				t.Fatalf("got %q %+v, want %q", kindsOf(got), got.Items, c.kind)
			}
			if c.kind == "" {
				if got.Words != "Nothing is open" {
					t.Errorf("got %q", got.Words)
				}
				return
			}
			i := got.Items[0]
			if i.Words != c.words || !strings.HasPrefix(i.Address, c.place) || i.ToDo == "" || i.Count < 1 {
				t.Errorf("got %+v, want %q at %s", i, c.words, c.place)
			}
		})
	}
}

func ask(s *stage.Stage, to string) logbook.ID {
	return s.Add(kinds.Note, "about", stage.Ref(s.Book().Records(kinds.Take)[0].ID), "text", `"warm on purpose?"`, "to", to)
}

// strike strikes out what a record holds.
func strike(s *stage.Stage, v logbook.View) {
	s.Set(v.ID, "deleted", "true")
	for _, e := range v.Edits() {
		s.Edits[len(s.Edits)-1].Set[0].Over = append(s.Edits[len(s.Edits)-1].Set[0].Over, e.Dot)
	}
}

// A camera without a grey card, and a reading that is old: of the set-up as it was left.
func TestWhatIsMissingIsThatOfDeviations(t *testing.T) {
	s := stage.New(t)
	for _, clip := range s.Book().Records(kinds.Clip) {
		strike(s, clip)
	}
	s.Minute(10 + 100)
	take := s.Take()
	s.Clip(s.A, take, "5600", "name", readOff)
	s.Set(s.Day, "closed", "true")
	got := checked(t, s, wrap.Known{}, 120)
	if kindsOf(got) != "old-reading no-grey-card" || got.Items[0].Address[:len("#lights/measure?light=")] != "#lights/measure?light=" {
		t.Fatalf("got %q: %+v", kindsOf(got), got.Items)
	}
	if later := checked(t, s, wrap.Known{}, 120+400*24*60); kindsOf(later) != kindsOf(got) || later.Items[0].Words != got.Items[0].Words {
		t.Errorf("400 days later it is %+v", later.Items)
	}
	s.Add(kinds.Acceptance, "deviation", `"no-chart"`, "subjects", "["+strings.Join(sorted(s.A, s.SetUp), ",")+"]", "scope", `"setUp"`,
		"reason", `"no card on board"`)
	if got := checked(t, s, wrap.Known{}, 120); kindsOf(got) != "old-reading" {
		t.Errorf("got %q of what was accepted", kindsOf(got))
	}
}

func sorted(x, y logbook.ID) []string {
	if y.Less(x) {
		x, y = y, x
	}
	return []string{stage.Ref(x), stage.Ref(y)}
}

// What is open on another day is not open on this one; what belongs to no day is.
func TestADayIsLookedAtAlone(t *testing.T) {
	s := done(t)
	other := s.Add(kinds.Day, "number", "2", "date", `"2026-03-05"`)
	setUp := s.Add(kinds.SetUp, "day", stage.Ref(other), "name", `"B"`)
	s.Clip(s.A, logbook.ID{}, "5600", "setUp", stage.Ref(setUp), "name", `{"text":"X","from":"counted"}`)
	s.Set(setUp, "place", `"here"`)
	s.Set(setUp, "place", `"there"`)
	s.Edits[len(s.Edits)-1].Set[0].Over = nil
	if got := checked(t, s, wrap.Known{}, 60); len(got.Items) > 0 {
		t.Errorf("got %+v of another day", got.Items)
	}
	if last, ok := rigging.LastDay(s.Book()); !ok || last != other {
		t.Errorf("got %s as the last day, want the second", last)
	}
	s.Set(s.BodyA, "label", `"one"`)
	s.Set(s.BodyA, "label", `"two"`)
	s.Edits[len(s.Edits)-1].Set[0].Over = nil
	if got := checked(t, s, wrap.Known{}, 60); kindsOf(got) != wrap.Undecided {
		t.Errorf("got %q, want what is undecided of a body", kindsOf(got))
	}
}

// longJob is a job of many days, of which one is asked.
func longJob(days int) (*logbook.Book, logbook.ID) {
	b := logbook.NewBook(growth.Production, kinds.Rules)
	for _, e := range growth.LongJob(days) {
		if err := b.Apply(e); err != nil {
			panic(err)
		}
	}
	b.Settle()
	day, _ := rigging.LastDay(b)
	return b, day
}

// What is asked of a day costs a day, however many are held: counted in what is allocated.
func TestADayCostsADay(t *testing.T) {
	cost := func(days int) float64 {
		b, day := longJob(days)
		look := func() {
			if _, err := wrap.Of(b, day, wrap.Known{}, logbook.Ever-1); err != nil {
				t.Fatal(err)
			}
		}
		look() // what is kept of all records is made once
		return testing.AllocsPerRun(1, look)
	}
	one, four := cost(1), cost(4)
	t.Logf("%.0f allocations of 1 day held, %.0f of 4", one, four)
	if four > 1.5*one {
		t.Errorf("a day costs %.0f allocations of one day held, and %.0f of four", one, four)
	}
}
