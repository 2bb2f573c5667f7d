package setup_test

import (
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

// The stage's white is 5600 K: 178.57 mired.
func TestWhitesThatCannotBeToldApart(t *testing.T) {
	nominal := func(kelvin, duv string) string {
		return `{"as":"nominal","kelvin":` + kelvin + `,"duv":` + duv + `,"locus":"blackBody"}`
	}
	for _, c := range []struct {
		name, rule string
		more       func(s *stage.Stage) []string
		apart      bool
	}{
		{"the_same_again", nominal("5600", "0"), nil, false},
		{"by_two_mired", nominal("5665", "0"), nil, false},  // 176.52: 2.05, shown as 2
		{"by_three_mired", nominal("5680", "0"), nil, true}, // 176.06: 2.52, shown as 3
		{"by_a_trace_of_green", nominal("5600", "0.0005"), nil, false},
		{"by_green", nominal("5600", "0.0006"), nil, true},
		{"by_magenta", nominal("5600", "-0.0006"), nil, true},
		{"by_the_cast", nominal("5600", "0"), func(*stage.Stage) []string { return []string{"intendedCast", `{"mired":1}`} }, true},
		{"by_the_name_of_no_cast", nominal("5600", "0"), func(*stage.Stage) []string {
			return []string{"intendedCast", `{"name":"plain","mired":0,"duv":0}`}
		}, false},
		{"by_one_camera", nominal("5600", "0"), func(s *stage.Stage) []string {
			return []string{"exceptions/" + s.B.String(), `{"mired":-20}`}
		}, true},
		// The cast of the white takes its colour back: the aim of every camera is the same.
		{"by_the_cast_though_the_aim_is_one", nominal("5000", "0"), func(*stage.Stage) []string {
			return []string{"intendedCast", `{"mired":21}`}
		}, true},
		{"without_a_colour", `{"as":"sameAs","setUp":` + stage.Ref(logbook.ID{1: 1}) + `}`, nil, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			fields := []string{"setUp", stage.Ref(s.SetUp), "from", c.rule, "appliesFrom", `{"as":"start"}`}
			if c.more != nil {
				fields = append(fields, c.more(s)...)
			}
			other := s.Add(kinds.White, fields...)
			b := s.Book()
			resolved := func(id logbook.ID) setup.White {
				v, ok := b.RecordOf(kinds.White, id)
				if !ok {
					t.Fatalf("no white %s", id)
				}
				return setup.WhiteOf(b, v)
			}
			for _, pair := range [][2]logbook.ID{{s.White, other}, {other, s.White}} {
				if got := setup.ToldApart(b, resolved(pair[0]), resolved(pair[1])); got != c.apart {
					t.Errorf("told apart: got %v, want %v (%s)", got, c.apart, fmt.Sprint(resolved(pair[1]).Color))
				}
			}
			if w := resolved(other); setup.ToldApart(b, w, w) {
				t.Error("a white can be told apart from itself")
			}
		})
	}
}

func TestRecordsThatAreWhitesAlike(t *testing.T) {
	s := stage.New(t)
	other := s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":5620,"locus":"blackBody"}`, "appliesFrom", `{"as":"start"}`)
	b := s.Book()
	view, _ := b.RecordOf(kinds.SetUp, s.SetUp)
	read := setup.Read(b, view, stage.Minute(5))
	for _, c := range []struct {
		name       string
		one, other logbook.ID
		want       bool
	}{
		{"itself", s.Key, s.Key, true},
		{"20 K apart", s.White, other, true},
		{"another kind of record", s.White, s.Key, false},
		{"not in the log", logbook.ID{1: 1}, s.White, false},
	} {
		for range 2 { // the second time it is remembered
			if got := read.Alike(c.one, c.other); got != c.want {
				t.Errorf("%s: got %v, want %v", c.name, got, c.want)
			}
		}
	}
}
