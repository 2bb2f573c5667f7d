package setup_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

// whites is a set-up with takes, whose whites have names.
type whites struct {
	*stage.Stage
	takes []logbook.ID // by number
	named map[string]logbook.ID
}

// withTakes logs so many takes, ten minutes apart from minute 10 on, each naming the first white.
func withTakes(t *testing.T, count int) *whites {
	s := &whites{Stage: stage.New(t), named: map[string]logbook.ID{}}
	s.named["w1"] = s.White
	for range count {
		s.Minute(10 + 10*s.Takes)
		s.takes = append(s.takes, s.Take("white", stage.Ref(s.White)))
	}
	return s
}

func nominal(kelvin int) string {
	return fmt.Sprintf(`{"as":"nominal","kelvin":%d,"locus":"blackBody"}`, kelvin)
}

func fromNumber(n int) string { return fmt.Sprintf(`{"as":"takeNumber","number":%d}`, n) }

const fromStart = `{"as":"start"}`

func (s *whites) fromTake(n int) string {
	return `{"as":"take","take":` + stage.Ref(s.takes[n-1]) + `}`
}

// choose adds a white by a rule from a start; names begin with that of supersedes, and the
// rest are what it settles.
func (s *whites) choose(name, rule, from string, names ...string) logbook.ID {
	s.T.Helper()
	fields := []string{"setUp", stage.Ref(s.SetUp), "from", rule, "appliesFrom", from}
	var settles []string
	for i, n := range names {
		if i == 0 {
			fields = append(fields, "supersedes", stage.Ref(s.named[n]))
		} else {
			settles = append(settles, stage.Ref(s.named[n]))
		}
	}
	if len(settles) > 0 {
		fields = append(fields, "settles", "["+strings.Join(settles, ",")+"]")
	}
	s.named[name] = s.Add(kinds.White, fields...)
	return s.named[name]
}

// at names the whites that count at a take, the one that is shown first; take 0 is what comes next.
func (s *whites) at(take int) string {
	s.T.Helper()
	b := s.Book()
	v, _ := b.RecordOf(kinds.SetUp, s.SetUp)
	read := setup.Read(b, v, stage.Minute(600))
	p := read.Current()
	if take > 0 {
		view, _ := b.RecordOf(kinds.Take, s.takes[take-1])
		p = read.PeriodOfTake(view)
		if one, ok := setup.WhiteOfTake(b, view); ok != p.White.Known() || one.ID != p.White.ID {
			s.T.Errorf("take %d: the white of the take is %s, that of its period %s", take, one.ID, p.White.ID)
		}
	} else if one, _ := setup.WhiteNow(b, s.SetUp, stage.Minute(600)); one.ID != p.White.ID {
		s.T.Errorf("now: %s, the current period says %s", one.ID, p.White.ID)
	}
	var names []string
	for _, w := range p.Whites() {
		for name, id := range s.named {
			if id == w.White {
				names = append(names, name)
			}
		}
	}
	return strings.Join(names, " ")
}

func TestWhichWhiteATakeHas(t *testing.T) {
	for _, c := range []struct {
		name  string
		takes int
		tell  func(s *whites)
		want  map[int]string // by take; 0: what comes next
	}{
		{"chosen_apart_from_two_takes", 8, func(s *whites) {
			s.choose("w2", nominal(3200), s.fromTake(6), "w1")
			s.choose("w3", nominal(4300), s.fromTake(7), "w1")
		}, map[int]string{5: "w1", 6: "w2", 7: "w3 w2", 8: "w3 w2", 0: "w3 w2"}},
		{"and_one_side_begins_another_later", 20, func(s *whites) {
			s.choose("w2", nominal(3200), s.fromTake(6), "w1")
			s.choose("w3", nominal(4300), s.fromTake(7), "w1")
			s.Minute(300)
			s.choose("w5", nominal(5000), s.fromTake(20), "w2")
		}, map[int]string{6: "w2", 19: "w3 w2", 20: "w5"}},
		{"and_a_third_between_them_knows_of_neither", 8, func(s *whites) {
			s.choose("w2", nominal(3200), s.fromTake(5), "w1")
			s.choose("w3", nominal(4300), s.fromTake(7), "w1")
			s.choose("w4", nominal(5000), s.fromTake(6))
		}, map[int]string{5: "w2", 6: "w4", 7: "w3 w2", 0: "w3 w2"}},
		{"and_one_side_is_chosen_anew_from_its_own_take", 8, func(s *whites) {
			s.choose("w2", nominal(3200), s.fromTake(6), "w1")
			s.choose("w3", nominal(4300), s.fromTake(7), "w1")
			s.Minute(300)
			s.choose("w5", nominal(5000), s.fromTake(6), "w2")
		}, map[int]string{6: "w5", 7: "w5 w3"}},
		{"the_same_mix_chosen_twice", 8, func(s *whites) {
			s.choose("w2", nominal(3200), s.fromTake(3), "w1")
			s.choose("w3", nominal(3210), s.fromTake(3), "w1")
			s.choose("w4", nominal(4300), s.fromTake(6), "w3")
		}, map[int]string{2: "w1", 3: "w3", 5: "w3", 6: "w4", 8: "w4", 0: "w4"}},
		{"the_same_chosen_twice_and_one_of_the_two_chosen_anew", 8, func(s *whites) {
			s.choose("w2", nominal(3200), s.fromTake(3), "w1")
			s.choose("w3", nominal(3210), s.fromTake(3), "w1")
			s.choose("w4", nominal(4300), s.fromTake(3), "w2")
		}, map[int]string{2: "w1", 3: "w4", 8: "w4"}},
		{"the_same_chosen_twice_from_two_takes", 8, func(s *whites) {
			s.choose("w2", nominal(3200), s.fromTake(3), "w1")
			s.choose("w3", nominal(3200), s.fromTake(5), "w1")
			s.choose("w4", nominal(4300), s.fromTake(3), "w2")
		}, map[int]string{4: "w4", 5: "w4 w3"}},
		{"two_that_differ_and_one_of_the_two_chosen_anew", 8, func(s *whites) {
			s.choose("w2", nominal(3200), s.fromTake(3), "w1")
			s.choose("w3", nominal(3600), s.fromTake(3), "w1")
			s.choose("w4", nominal(4300), s.fromTake(3), "w2")
		}, map[int]string{2: "w1", 3: "w4 w3"}},
		{"the_same_chosen_twice_that_name_others", 8, func(s *whites) {
			s.choose("w2", nominal(3200), s.fromTake(3), "w1")
			s.choose("w3", nominal(3200), s.fromTake(3))
			s.choose("w4", nominal(4300), s.fromTake(3), "w2")
		}, map[int]string{3: "w4 w3"}},
		{"chosen_at_lunch_from_take_6", 8, func(s *whites) {
			s.Minute(300)
			s.choose("w2", nominal(3200), s.fromTake(6), "w1")
		}, map[int]string{5: "w1", 6: "w2", 7: "w2", 8: "w2", 0: "w2"}},
		{"chosen_at_lunch_from_the_start", 8, func(s *whites) {
			s.Minute(300)
			s.choose("w2", nominal(3200), fromStart, "w1")
		}, map[int]string{5: "w1", 7: "w1", 0: "w2"}},
		{"from_a_number_not_logged_yet", 8, func(s *whites) {
			s.choose("w2", nominal(3200), fromNumber(9), "w1")
			s.choose("w3", nominal(4300), fromNumber(12), "w2")
		}, map[int]string{8: "w1", 0: "w2"}},
		{"from_a_time", 8, func(s *whites) {
			s.Minute(300)
			s.choose("w2", nominal(3200), `{"as":"time","at":`+stage.Stamp(60)+`}`, "w1") // take 6 begins then
		}, map[int]string{5: "w1", 6: "w2", 0: "w2"}},
		{"a_struck_out_one_reaches_nothing_but_passes_on_what_it_replaced", 8, func(s *whites) {
			s.choose("w2", nominal(3200), s.fromTake(3), "w1")
			s.choose("w3", nominal(4300), s.fromTake(5), "w2")
			s.Set(s.named["w2"], "struckOut", `{"reason":"typed wrong"}`)
		}, map[int]string{3: "w1", 4: "w1", 5: "w3"}},
		{"two_from_the_start_that_name_nothing", 3, func(s *whites) {
			s.choose("w2", nominal(3200), fromStart)
		}, map[int]string{1: "w1", 0: "w2 w1"}},
		{"what_settles_names_both", 8, func(s *whites) {
			s.choose("w2", nominal(3200), s.fromTake(6), "w1")
			s.choose("w3", nominal(4300), s.fromTake(6), "w1")
			s.choose("w4", nominal(4300), s.fromTake(6), "w3", "w2")
		}, map[int]string{5: "w1", 6: "w4", 8: "w4"}},
		{"a_circle_replaces_nothing", 4, func(s *whites) {
			s.named["w3"] = logbook.ID{6: 0x70, 8: 0x80, 15: 200}
			s.choose("w2", nominal(3200), s.fromTake(2), "w3")
			third := s.named["w3"]
			s.Write(third, kinds.White, "setUp", stage.Ref(s.SetUp), "from", nominal(4300), "appliesFrom", s.fromTake(2),
				"supersedes", stage.Ref(s.named["w2"]))
		}, map[int]string{1: "w1", 2: "w3 w2"}},
		{"a_later_one_that_names_nothing_wins", 8, func(s *whites) {
			s.choose("w2", nominal(3200), s.fromTake(3))
			s.choose("w3", nominal(4300), s.fromTake(5))
		}, map[int]string{2: "w1", 3: "w2", 5: "w3"}},
		{"a_struck_out_take_keeps_its_number", 8, func(s *whites) {
			s.choose("w2", nominal(3200), s.fromTake(6), "w1")
			s.Set(s.takes[5], "deleted", "true")
			s.Minute(100)
			s.takes = append(s.takes, s.Add(kinds.Take, "setUp", stage.Ref(s.SetUp), "number", "5",
				"suffix", `"PU"`, "startedAt", stage.Stamp(100), "white", stage.Ref(s.White)))
		}, map[int]string{5: "w1", 7: "w2", 9: "w1"}},
		{"three_apart_of_which_two_are_one", 8, func(s *whites) {
			s.choose("w2", nominal(3200), s.fromTake(6), "w1")
			s.choose("w3", nominal(4300), s.fromTake(6), "w1")
			s.choose("w4", nominal(3205), s.fromTake(6), "w1")
		}, map[int]string{6: "w4 w3"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := withTakes(t, c.takes)
			c.tell(s)
			for take, want := range c.want {
				if got := s.at(take); got != want {
					t.Errorf("take %d: got %q, want %q", take, got, want)
				}
			}
		})
	}
}

// Two phones choose the mix of the same two readings; the next white names one of the two.
func TestTheSameChoiceTwiceIsNoQuestion(t *testing.T) {
	s := withTakes(t, 8)
	s.Mixed()
	s.choose("w2", `{"as":"mix"}`, s.fromTake(2), "w1")
	s.choose("w3", `{"as":"mix"}`, s.fromTake(2), "w1")
	s.choose("w4", nominal(3200), s.fromTake(5), "w2")
	for take, want := range map[int]string{1: "w1", 2: "w3", 4: "w3", 5: "w4", 8: "w4", 0: "w4"} {
		if got := s.at(take); got != want {
			t.Errorf("take %d: got %q, want %q", take, got, want)
		}
	}
	if got := setup.ApartIn(s.Book(), stage.Minute(600)); len(got) != 0 {
		t.Errorf("got %+v, want no question", got)
	}
}

func TestContestedWhitesAreNamed(t *testing.T) {
	s := withTakes(t, 8)
	s.choose("w2", nominal(3200), s.fromTake(6), "w1")
	s.choose("w3", nominal(4300), s.fromTake(7), "w1")
	b := s.Book()
	v, _ := b.RecordOf(kinds.SetUp, s.SetUp)
	p := setup.Read(b, v, stage.Minute(600)).Current()
	if want := "contested: 4300 K or 3200 K"; p.InForce.ContestedWords != want {
		t.Errorf("got %q, want %q", p.InForce.ContestedWords, want)
	}
	if got := p.InForce.Contested; len(got) != 1 || got[0].White != s.named["w2"] || got[0].By != "Ada" || got[0].Since != "take 6" {
		t.Errorf("got %+v, want w2 by Ada from take 6", got)
	}
	read := setup.Read(b, v, stage.Minute(600))
	for range 2 { // worked out, and looked up
		var aims []float64
		for _, a := range read.Aims(read.Current(), s.A) {
			aims = append(aims, math.Round(*a.Aim.CCTKelvin))
		}
		if !slices.Equal(aims, []float64{4300, 3200}) {
			t.Errorf("aims of A: got %v, want 4300 and 3200", aims)
		}
	}
	first, _ := b.RecordOf(kinds.Take, s.takes[0])
	if aims := read.Aims(read.PeriodOfTake(first), s.A); len(aims) != 1 || math.Round(*aims[0].Aim.CCTKelvin) != 5600 {
		t.Errorf("aims of A at take 1: got %+v, want 5600 alone", aims)
	}
	all := setup.ApartIn(b, stage.Minute(600))
	if len(all) != 1 {
		t.Fatalf("got %+v, want one question", all)
	}
	if q := all[0]; len(q.Choices) != 2 || q.Choices[0].Record != s.named["w3"] || !slices.Equal(q.Takes, s.takes[6:]) || q.SetUp != s.SetUp {
		t.Errorf("got %+v, want w3 and w2 at takes 7 and 8", q)
	}
	s.choose("w4", nominal(4300), s.fromTake(7), "w3", "w2")
	if got := setup.ApartIn(s.Book(), stage.Minute(600)); len(got) != 0 {
		t.Errorf("settled: got %+v, want no question", got)
	}
}

// Whatever whites are chosen, in whatever order their edits arrive: a take has the same ones,
// there is one wherever one reaches, and none of them is replaced by another.
func TestWhitesReachTheSameInAnyOrder(t *testing.T) {
	for seed := range uint64(60) {
		r := rand.New(rand.NewPCG(seed, 11))
		s := withTakes(t, 6)
		for i := range 1 + r.IntN(5) {
			s.Minute(80 + 10*i)
			from := [...]string{
				fromStart, fromNumber(1 + r.IntN(8)), s.fromTake(1 + r.IntN(6)), `{"as":"time","at":` + stage.Stamp(10*r.IntN(8)) + `}`,
			}[r.IntN(4)]
			var names []string
			for name := range s.named {
				names = append(names, name)
			}
			slices.Sort(names)
			r.Shuffle(len(names), func(a, b int) { names[a], names[b] = names[b], names[a] })
			s.choose(fmt.Sprint("w", i+2), nominal(2800+400*r.IntN(8)), from, names[:r.IntN(min(len(names), 3))]...)
			if r.IntN(6) == 0 {
				s.Set(s.named[names[0]], "struckOut", `{"reason":"wrong"}`)
			}
		}
		var before []string
		for take := range 7 {
			before = append(before, s.at(take))
		}
		r.Shuffle(len(s.Edits), func(a, b int) { s.Edits[a], s.Edits[b] = s.Edits[b], s.Edits[a] })
		for take := range 7 {
			if got := s.at(take); got != before[take] {
				t.Errorf("seed %d, take %d: got %q in another order, %q before", seed, take, got, before[take])
			}
		}
		for take := 1; take < 7; take++ {
			// Each take names the first white, so that one is missing only where all were struck out.
			v, _ := s.Book().RecordOf(kinds.White, s.White)
			if before[take] == "" && v.Value("struckOut") == "" {
				t.Errorf("seed %d, take %d: no white, though it names one that stands", seed, take)
			}
		}
	}
}

func TestReadingsThatReplaceOneApart(t *testing.T) {
	s := stage.New(t)
	replace := func(kelvin float64, what logbook.ID) logbook.ID {
		return s.Read(s.Key, stage.CctDuv(kelvin, 0), "supersedes", stage.Ref(what))
	}
	s.Minute(4)
	one := replace(3200, s.Reading)
	if got := setup.ApartIn(s.Book(), stage.Minute(60)); len(got) != 0 {
		t.Fatalf("one alone: got %+v, want no question", got)
	}
	s.Minute(5)
	replace(3200, s.Reading)
	if got := setup.ApartIn(s.Book(), stage.Minute(60)); len(got) != 0 {
		t.Fatalf("the same twice: got %+v, want no question", got)
	}
	other := replace(4300, s.Reading)
	got := setup.ApartIn(s.Book(), stage.Minute(60))
	if len(got) != 1 || got[0].Kind != kinds.Reading || got[0].SetUp != s.SetUp ||
		len(got[0].Choices) != 2 || got[0].Choices[0].Record != other {
		t.Fatalf("got %+v, want the two, the latest first", got)
	}
	s.Set(other, "struckOut", `{"reason":"typed wrong"}`)
	if got := setup.ApartIn(s.Book(), stage.Minute(60)); len(got) != 0 {
		t.Errorf("one struck out: got %+v, want no question", got)
	}
	replace(3300, one)
	if got := setup.ApartIn(s.Book(), stage.Minute(60)); len(got) != 1 {
		t.Errorf("one replaced again: got %+v, want a question", got)
	}
}

// A chart is no take: a white from a take on reaches it from that take, or, where the take was
// still to come when the white was chosen, from then.
func TestWhichWhiteAChartHas(t *testing.T) {
	s := withTakes(t, 2) // at minutes 10 and 20
	s.Minute(30)
	s.choose("w2", nominal(3200), fromNumber(3), "w1")
	s.Minute(35)
	s.choose("w3", nominal(4300), fromNumber(5), "w2")
	s.Minute(50)
	s.takes = append(s.takes, s.Take(), s.Take()) // 3 and 4
	for at, want := range map[int]string{5: "w1", 29: "w1", 30: "w2", 40: "w2", 49: "w2", 51: "w3"} {
		if w, _ := setup.WhiteAt(s.Book(), s.SetUp, stage.Minute(at)); w.ID != s.named[want] {
			t.Errorf("minute %d: got %s, want %s", at, w.ID, want)
		}
	}
	s.Minute(90)
	s.choose("w4", nominal(5000), s.fromTake(3), "w2")
	if w, _ := setup.WhiteAt(s.Book(), s.SetUp, stage.Minute(49)); w.ID != s.named["w2"] {
		t.Errorf("chosen afterwards from take 3: got %s at minute 49, want w2", w.ID)
	}
}

// A phone whose clock is 20 minutes fast fills in "from now" at minute 45; its clock is known.
// A time that somebody types stands.
func TestATimeThatAClockFilledInIsCorrected(t *testing.T) {
	for _, c := range []struct {
		at   int // that the white says, in an edit at minute 65 by a clock that is 20 minutes fast
		want map[int]string
	}{
		{65, map[int]string{3: "w1", 4: "w2"}}, // takes 3 and 4 are at minutes 30 and 45
		{60, map[int]string{4: "w1", 5: "w1", 6: "w2"}},
	} {
		s := withTakes(t, 3)
		for _, at := range []int{45, 50, 61} {
			s.Minute(at)
			s.takes = append(s.takes, s.Take())
		}
		s.Minute(65)
		s.choose("w2", nominal(3200), `{"as":"time","at":`+stage.Stamp(c.at)+`}`, "w1")
		s.Edits[len(s.Edits)-1].Offset = -20 * 60 * 1000
		for take, want := range c.want {
			if got := s.at(take); got != want {
				t.Errorf("from minute %d: take %d: got %q, want %q", c.at, take, got, want)
			}
		}
	}
}

// Now, at minute 600, knows what a phone dates ahead whose clock is fast; but a time that
// somebody typed is still to come.
func TestNowKnowsWhatAFastClockDatesAhead(t *testing.T) {
	for _, c := range []struct{ from, want string }{
		{fromNumber(3), "w2"},
		{fromNumber(4), "w1"},
		{`{"as":"time","at":` + stage.Stamp(620) + `}`, "w2"},
		{`{"as":"time","at":` + stage.Stamp(630) + `}`, "w1"},
	} {
		s := withTakes(t, 2)
		s.Minute(620)
		s.choose("w2", nominal(3200), c.from, "w1")
		if got := s.at(0); got != c.want {
			t.Errorf("from %s: got %q, want %q", c.from, got, c.want)
		}
	}
}
