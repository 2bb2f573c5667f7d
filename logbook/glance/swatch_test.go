package glance_test

import (
	"errors"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

func TestSwatchesShowEachLightInEachWhite(t *testing.T) {
	s := stage.New(t)
	bulb := s.Light("bulb", "practical")
	s.Read(bulb, `{"as":"cctDuv","cctKelvin":3200,"duv":0}`)
	sign := s.Light("sign", "practical")
	s.Read(sign, `{"as":"uvPrime","u":0.45,"v":0.523}`)
	s.Light("window", "fill")
	s.Shoot("5600", "3200")
	w, err := glance.Swatches(s.Book(), s.SetUp, stage.Minute(60))
	if err != nil {
		t.Fatal(err)
	}
	if len(w.Whites) != 3 || w.Whites[0].Key != "aim" || w.Whites[1].Key != "A" || w.Whites[2].Key != "B" {
		t.Fatalf("whites: got %+v", w.Whites)
	}
	now, err := glance.Now(s.Book(), s.SetUp, stage.Minute(60))
	if err != nil {
		t.Fatal(err)
	}
	for i, light := range now.Lights {
		if light.Picture != nil && *w.Lights[i].Pictures[0].Swatch != *light.Picture {
			t.Errorf("%s: got %+v, now shows %+v", light.Name, w.Lights[i].Pictures[0].Swatch, light.Picture)
		}
	}
	inB := w.Lights[1].Pictures[2]
	if c := inB.Swatch; c.R != c.G || c.G != c.B || *inB.Cast.Mired != 0 {
		t.Errorf("3200 K in a camera on 3200 K: got %+v, want neutral", inB)
	}
	if c := w.Lights[2].Pictures[0].Swatch; !c.Clipped || c.R <= c.B {
		t.Errorf("a red beacon: got %+v, want clipped red", c)
	}
	if w.Lights[3].Problem == "" || len(w.Lights[3].Pictures) != 0 {
		t.Errorf("a light without a reading: got %+v", w.Lights[3])
	}
	if _, err := glance.Swatches(s.Book(), s.Day, stage.Minute(60)); !errors.Is(err, logbook.ErrNoRecord) {
		t.Errorf("got %v, want ErrNoRecord", err)
	}
}

// The picture that is aimed at has the intended cast in it: the reference light of a
// warm evening is warm there, and neutral in a camera on the reference.
func TestSwatchesOfTheAimShowTheIntendedCast(t *testing.T) {
	s := stage.New(t)
	s.Minute(3)
	s.Add(kinds.White, "setUp", stage.Ref(s.SetUp), "from", `{"as":"nominal","kelvin":5600,"locus":"blackBody"}`,
		"appliesFrom", `{"as":"time","at":`+stage.Stamp(3)+`}`, "intendedCast", `{"mired":40}`)
	s.Read(s.Light("bulb", "fill", "rigged/on", "true"), stage.OnLocus3200, "illuminance", `{"value":800,"unit":"lux"}`)
	s.Minute(5)
	s.Shoot("5600", "5600")
	w, err := glance.Swatches(s.Book(), s.SetUp, stage.Minute(60))
	if err != nil {
		t.Fatal(err)
	}
	key, mix := w.Lights[0], w.Lights[len(w.Lights)-1]
	stage.Near(t, "the key as it is meant to look", *key.Pictures[0].Cast.Mired, 40, 0)
	if c := key.Pictures[0].Swatch; !(c.R > c.G && c.G > c.B) {
		t.Errorf("got %+v, want a warm grey", c)
	}
	stage.Near(t, "the key in a camera on 5600 K", *key.Pictures[1].Cast.Mired, 0, 0)
	// 4138 K is 63 mired from 5600 K.
	if mix.Key != "mix" || mix.Problem != "" {
		t.Fatalf("got %+v, want the mix last", mix)
	}
	stage.Near(t, "the mix in a camera on 5600 K", *mix.Pictures[1].Cast.Mired, 63, 0)
}
