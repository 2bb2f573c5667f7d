package cameras_test

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/logbook/cameras"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

func TestTintGoesTheWayThatTheBodyCounts(t *testing.T) {
	for plus, want := range map[string]string{"magenta": "5600 K, tint +6", "green": "5600 K, tint -6"} {
		s := stage.New(t)
		s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "tint", fmt.Sprintf(`{"min":-20,"max":20,"step":1,"duvPerUnit":0.0005,"plusIs":%q}`, plus))
		s.Minute(5)
		// A stands at tint +3 of 0.001 Duv each, + magenta: its white is 0.003 greener as a light.
		s.Clip(s.A, s.Take(), "5600", "tint", "3")
		if got := s.Match().Best.Words; got != want {
			t.Errorf("plus is %s: got %q, want %q", plus, got, want)
		}
	}
}

// onTint is the settings of a card at a tint.
func onTint(kelvin, tint float64) string {
	return fmt.Sprintf(`{"whiteMode":"kelvin","kelvin":%g,"tint":%g}`, kelvin, tint)
}

func TestAnUnknownTintUnitIsLearntFromTwoCards(t *testing.T) {
	for _, c := range []struct {
		name    string
		logged  string // what the body's record says of +
		moves   float64
		want    string
		caveats string
	}{
		{"as_logged", "magenta", 0.0005, "5600 K, tint +6", "0.00050 Duv"},
		{"another_size", "magenta", 0.001, "5600 K, tint +3", "0.00100 Duv"},
		{"the_other_way_round", "magenta", -0.0005, "5600 K, tint -6", "though the body is logged with + as magenta"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "tint", fmt.Sprintf(`{"min":-20,"max":20,"step":1,"plusIs":%q}`, c.logged))
			s.Minute(5)
			s.Clip(s.A, s.Take(), "5600", "tint", "3") // a white of Duv +0.003
			before := s.Match()
			if f := before.Best.Tint; f == nil || *f != 0 || !strings.Contains(stage.CaveatsOf(before.Origin), "not known") {
				t.Errorf("without cards: got %+v, %q", before.Best, stage.CaveatsOf(before.Origin))
			}
			s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, "settings", onTint(5600, 0))
			if got := s.Match().Best.Tint; *got != 0 {
				t.Errorf("one card teaches no unit: got tint %v", *got)
			}
			s.Card(s.B, 5600, stage.Day5600, 0, 10*c.moves, s.Reading, "settings", onTint(5600, 10))
			got := s.Match()
			if got.Best.Words != c.want || !strings.Contains(stage.CaveatsOf(got.Origin), c.caveats) {
				t.Errorf("got %q, %q; want %q, %q", got.Best.Words, stage.CaveatsOf(got.Origin), c.want, c.caveats)
			}
		})
	}
	t.Run("not_from_cards_under_two_families_of_lamps", func(t *testing.T) {
		s := stage.New(t)
		s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "tint", `{"min":-20,"max":20,"step":1,"plusIs":"magenta"}`)
		tube := s.Light("tube", "fill", "lamp", stage.Ref(s.Add(kinds.Lamp, "name", `"tube"`, "family", `"fluorescent"`)))
		s.Minute(5)
		other := s.Read(tube, stage.OnLocus5600)
		s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, "settings", onTint(5600, 0))
		s.Card(s.B, 5600, stage.Day5600, 0, 0.005, other, "settings", onTint(5600, 10))
		body, _ := s.Book().Record(s.BodyB)
		if unit, _, ok := cameras.LearnTint(body); ok {
			t.Errorf("two families taught a unit of %v", unit)
		}
	})
	t.Run("not_from_cards_that_differ_by_their_digits", func(t *testing.T) {
		s := stage.New(t)
		s.Set(s.BodyB, "whiteModes", `["kelvin"]`, "tint", `{"min":-20,"max":20,"step":1,"plusIs":"magenta"}`)
		rgb := func(g int) string {
			return fmt.Sprintf(`{"as":"codeValues","r":107,"g":%d,"b":107,"bits":8,"range":"full","encoding":"bt1886","primaries":"bt709"}`, g)
		}
		s.Minute(5)
		s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, "settings", onTint(5600, 0), "rgb", rgb(107))
		s.Card(s.B, 5600, stage.Day5600, 0, 0, s.Reading, "settings", onTint(5600, 1), "rgb", rgb(106))
		body, _ := s.Book().Record(s.BodyB)
		if unit, spread, ok := cameras.LearnTint(body); ok {
			t.Errorf("one code of 8 bits taught a unit of %v ± %v", unit, spread)
		}
	})
}
