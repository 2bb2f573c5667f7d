package setup_test

import (
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/cameras"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/stage"
)

// The two aims are the design's own sums: 1e6/(1e6/5600 + 80) = 3867 K and
// 1e6/(1e6/5600 + 134) = 3199 K.
func TestAimIsTheReferenceMinusTheIntendedCast(t *testing.T) {
	cases := []struct {
		name     string
		cast     string
		on       string // where the cast is set
		kelvinA  float64
		kelvinB  float64
		duvOfA   float64
		fromWhat string
	}{
		{"no_cast", "", "", 5600, 5600, 0, "none"},
		{"a_cool_night_is_a_lower_kelvin", `{"mired":-80}`, "white", 3867, 3867, 0, "white"},
		{"a_cool_night_of_134", `{"mired":-134}`, "white", 3199, 3199, 0, "white"},
		{"warmer_is_a_higher_kelvin", `{"mired":50}`, "white", 7778, 7778, 0, "white"},
		{"greener_is_a_lower_Duv", `{"duv":0.004}`, "white", 5600, 5600, -0.004, "white"},
		{"the_scene_s_cast", `{"mired":-80}`, "scene", 3867, 3867, 0, "scene"},
		{"a_cast_by_name", `{"name":"moon"}`, "white", 3867, 3867, 0, "white"},
		{"an_exception_of_one_camera", `{"mired":-80}`, "exception", 3867, 5600, 0, "exception"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := stage.New(t)
			s.Set(s.ProductionID(), "intendedCasts/moon", `{"name":"moon","mired":-80}`)
			field := map[string]string{"white": "intendedCast", "exception": "exceptions/" + s.A.String()}[c.on]
			var more []string
			switch {
			case c.on == "scene":
				s.Set(s.Scene, "intendedCast", c.cast)
			case field != "":
				more = []string{field, c.cast}
			}
			w := s.WhiteFrom(`{"as":"nominal","kelvin":5600,"locus":"blackBody"}`, more...)
			b := s.Book()
			a, other := setup.AimFor(b, w, s.A), setup.AimFor(b, w, s.B)
			if a.Aim == nil || other.Aim == nil {
				t.Fatalf("no aim: %s %s", a.Problem, other.Problem)
			}
			stage.Near(t, "A's aim", *a.Aim.CCTKelvin, c.kelvinA, 0.5)
			stage.Near(t, "A's Duv", *a.Aim.Duv, c.duvOfA, 0.00005)
			stage.Near(t, "B's aim", *other.Aim.CCTKelvin, c.kelvinB, 0.5)
			if a.IntendedCast.From != c.fromWhat {
				t.Errorf("cast from: got %s, want %s", a.IntendedCast.From, c.fromWhat)
			}
		})
	}
}

func TestAnAimThatLeadsNowhere(t *testing.T) {
	s := stage.New(t)
	w := s.WhiteFrom(`{"as":"nominal","kelvin":10000,"locus":"blackBody"}`, "intendedCast", `{"mired":100}`)
	if a := setup.AimFor(s.Book(), w, s.A); a.Aim != nil || a.Problem == "" {
		t.Errorf("got %+v, want a problem", a)
	}
}

func TestTheReferenceCamera(t *testing.T) {
	s := stage.New(t)
	reference := func() logbook.ID {
		b := s.Book()
		v, _ := b.Record(s.SetUp)
		return cameras.Reference(b, v)
	}
	if got := reference(); got != s.A {
		t.Errorf("got %s, want the first by letter, %s", got, s.A)
	}
	s.Set(s.SetUp, "referenceCamera", stage.Ref(s.B))
	if got := reference(); got != s.B {
		t.Errorf("got %s, want %s", got, s.B)
	}
}

func TestWithoutAWhiteTheReferenceLightOrTheMixIsTheReference(t *testing.T) {
	s := stage.New(t)
	s.Set(s.White, "struckOut", `{"reason":"another"}`)
	s.Mixed()
	kelvin := func() float64 {
		n, err := glance.Now(s.Book(), s.SetUp, stage.Minute(10))
		if err != nil || n.Reference == nil {
			t.Fatalf("no reference: %v", err)
		}
		return *n.Reference.CCTKelvin
	}
	stage.Near(t, "the mix", kelvin(), 4138, 1)
	s.Set(s.SetUp, "referenceLight", stage.Ref(s.Key))
	stage.Near(t, "the reference light", kelvin(), 5600, 0.5)
}

func TestIntentByRole(t *testing.T) {
	s := stage.New(t)
	for role, want := range map[string]string{
		"key": "match", "fill": "match", "back": "match", "background": "match",
		"practical": "leave", "ambient": "leave", "screen": "leave",
	} {
		light := s.Light("a "+role, role)
		v, _ := s.Book().Record(light)
		if got := lighting.Intent(v); got != want {
			t.Errorf("%s: got %s, want %s", role, got, want)
		}
	}
	own := s.Light("sign", "key", "intent", `"holdOwnColor"`)
	v, _ := s.Book().Record(own)
	if got := lighting.Intent(v); got != "holdOwnColor" {
		t.Errorf("got %s", got)
	}
}

func TestCamerasInUse(t *testing.T) {
	s := stage.New(t)
	c := s.Add(kinds.Camera, "letter", `"C"`, "body", fmt.Sprintf(`{"body":%s}`, stage.Ref(s.BodyA)))
	s.Add(kinds.Camera, "letter", `"D"`, "body", fmt.Sprintf(`{"body":%s}`, stage.Ref(s.BodyA)))
	s.Clip(c, logbook.ID{}, "5600")
	s.Set(s.SetUp, "cameras/"+s.B.String()+"/inUse", "false")
	b := s.Book()
	v, _ := b.Record(s.SetUp)
	letters := ""
	for _, camera := range cameras.InUse(b, v) {
		letters += camera.Text("letter")
	}
	if letters != "AC" {
		t.Errorf("got %s, want AC: B is not in use, C has a clip, D has nothing here", letters)
	}
}
