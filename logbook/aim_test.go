package logbook

import (
	"fmt"
	"testing"
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
			s := newStage(t)
			s.set(s.productionID(), "intendedCasts/moon", `{"name":"moon","mired":-80}`)
			field := map[string]string{"white": "intendedCast", "exception": "exceptions/" + s.a.String()}[c.on]
			var more []string
			switch {
			case c.on == "scene":
				s.set(s.scene, "intendedCast", c.cast)
			case field != "":
				more = []string{field, c.cast}
			}
			w := s.whiteFrom(`{"as":"nominal","kelvin":5600,"locus":"blackBody"}`, more...)
			b := s.book()
			a, other := AimOfCamera(b, w, s.a), AimOfCamera(b, w, s.b)
			if a.Aim == nil || other.Aim == nil {
				t.Fatalf("no aim: %s %s", a.Problem, other.Problem)
			}
			near(t, "A's aim", *a.Aim.CCTKelvin, c.kelvinA, 0.5)
			near(t, "A's Duv", *a.Aim.Duv, c.duvOfA, 0.00005)
			near(t, "B's aim", *other.Aim.CCTKelvin, c.kelvinB, 0.5)
			if a.IntendedCast.From != c.fromWhat {
				t.Errorf("cast from: got %s, want %s", a.IntendedCast.From, c.fromWhat)
			}
		})
	}
}

func TestAnAimThatLeadsNowhere(t *testing.T) {
	s := newStage(t)
	w := s.whiteFrom(`{"as":"nominal","kelvin":10000,"locus":"blackBody"}`, "intendedCast", `{"mired":100}`)
	if a := AimOfCamera(s.book(), w, s.a); a.Aim != nil || a.Problem == "" {
		t.Errorf("got %+v, want a problem", a)
	}
}

func TestTheReferenceCamera(t *testing.T) {
	s := newStage(t)
	reference := func() ID {
		b := s.book()
		v, _ := b.Record(s.setUp)
		return ReferenceCamera(b, v)
	}
	if got := reference(); got != s.a {
		t.Errorf("got %s, want the first by letter, %s", got, s.a)
	}
	s.set(s.setUp, "referenceCamera", ref(s.b))
	if got := reference(); got != s.b {
		t.Errorf("got %s, want %s", got, s.b)
	}
}

func TestWithoutAWhiteTheReferenceLightOrTheMixIsTheReference(t *testing.T) {
	s := newStage(t)
	s.set(s.white, "struckOut", `{"reason":"another"}`)
	s.mixed()
	kelvin := func() float64 {
		n, err := Now(s.book(), s.setUp, minute(10))
		if err != nil || n.Reference == nil {
			t.Fatalf("no reference: %v", err)
		}
		return *n.Reference.CCTKelvin
	}
	near(t, "the mix", kelvin(), 4138, 1)
	s.set(s.setUp, "referenceLight", ref(s.key))
	near(t, "the reference light", kelvin(), 5600, 0.5)
}

func TestIntentByRole(t *testing.T) {
	s := newStage(t)
	for role, want := range map[string]string{"key": "match", "fill": "match", "back": "match", "background": "match", "practical": "leave", "ambient": "leave", "screen": "leave"} {
		light := s.light("a "+role, role)
		v, _ := s.book().Record(light)
		if got := LightIntent(v); got != want {
			t.Errorf("%s: got %s, want %s", role, got, want)
		}
	}
	own := s.light("sign", "key", "intent", `"holdOwnColor"`)
	v, _ := s.book().Record(own)
	if got := LightIntent(v); got != "holdOwnColor" {
		t.Errorf("got %s", got)
	}
}

func TestCamerasInUse(t *testing.T) {
	s := newStage(t)
	c := s.add(KindCamera, "letter", `"C"`, "body", fmt.Sprintf(`{"body":%s}`, ref(s.bodyA)))
	s.add(KindCamera, "letter", `"D"`, "body", fmt.Sprintf(`{"body":%s}`, ref(s.bodyA)))
	s.clip(c, ID{}, "5600")
	s.set(s.setUp, "cameras/"+s.b.String()+"/inUse", "false")
	b := s.book()
	v, _ := b.Record(s.setUp)
	letters := ""
	for _, camera := range CamerasOf(b, v) {
		letters += camera.Text("letter")
	}
	if letters != "AC" {
		t.Errorf("got %s, want AC: B is not in use, C has a clip, D has nothing here", letters)
	}
}
