package logbook

import (
	"errors"
	"testing"
)

func TestSwatchesShowEachLightInEachWhite(t *testing.T) {
	s := newStage(t)
	bulb := s.light("bulb", "practical")
	s.read(bulb, `{"as":"cctDuv","cctKelvin":3200,"duv":0}`)
	sign := s.light("sign", "practical")
	s.read(sign, `{"as":"uvPrime","u":0.45,"v":0.523}`)
	s.light("window", "fill")
	s.shoot("5600", "3200")
	w, err := SwatchesOf(s.book(), s.setUp, minute(60))
	if err != nil {
		t.Fatal(err)
	}
	if len(w.Whites) != 3 || w.Whites[0].Key != "aim" || w.Whites[1].Key != "A" || w.Whites[2].Key != "B" {
		t.Fatalf("whites: got %+v", w.Whites)
	}
	now, err := Now(s.book(), s.setUp, minute(60))
	if err != nil {
		t.Fatal(err)
	}
	for i, told := range now.Lights {
		if told.Picture != nil && *w.Lights[i].Pictures[0].Swatch != *told.Picture {
			t.Errorf("%s: got %+v, now shows %+v", told.Name, w.Lights[i].Pictures[0].Swatch, told.Picture)
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
	if _, err := SwatchesOf(s.book(), s.day, minute(60)); !errors.Is(err, ErrNoRecord) {
		t.Errorf("got %v, want ErrNoRecord", err)
	}
}
