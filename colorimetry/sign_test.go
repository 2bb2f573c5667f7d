package colorimetry

import (
	"testing"

	"pgregory.net/rapid"
)

// look is what a grey looks like in the picture, against the display's white:
// + is warmer and greener, in no unit.
type look struct{ warmth, greenness float64 }

// seen goes the long way, by adaptation to the display's X, Y and Z, and shares
// nothing with the differences of mired and Duv that it checks. Strongly blue
// pictures have no CCT, hence the ratios.
func seen(t interface {
	Helper()
	Fatal(...any)
}, light, white CCTDuv) look {
	t.Helper()
	l, err := light.XY()
	if err != nil {
		t.Fatal(err)
	}
	w, err := white.XY()
	if err != nil {
		t.Fatal(err)
	}
	p, err := Picture(l, w, CAT16)
	if err != nil {
		t.Fatal(err)
	}
	neutral := D65.XYZ(1)
	x, z := p.X/p.Y/neutral.X, p.Z/p.Y/neutral.Z
	return look{x - z, 1 - (x+z)/2}
}

func sign[T ~float64](v T) int {
	switch {
	case v > 0:
		return 1
	case v < 0:
		return -1
	}
	return 0
}

// The table of signs, row by row: every word describes the picture, plus is
// warmer and greener.
func TestSigns(t *testing.T) {
	tungsten, daylight := CCTDuv{3200, 0}, CCTDuv{5600, 0}
	green, magenta := CCTDuv{5600, 0.004}, CCTDuv{5600, -0.004}

	t.Run("a warm light on a daylight white makes the picture warmer", func(t *testing.T) {
		c, p := CastOf(tungsten, daylight), seen(t, tungsten, daylight)
		if !within(float64(c.Mired), 133.93, 0.005) || sign(p.warmth) != 1 {
			t.Errorf("got a cast of %v mired and a picture of %v, want +133.93 and a warmer one", c.Mired, p.warmth)
		}
	})
	t.Run("a cool light on a tungsten white makes the picture cooler", func(t *testing.T) {
		c, p := CastOf(daylight, tungsten), seen(t, daylight, tungsten)
		if !within(float64(c.Mired), -133.93, 0.005) || sign(p.warmth) != -1 {
			t.Errorf("got a cast of %v mired and a picture of %v, want -133.93 and a cooler one", c.Mired, p.warmth)
		}
	})
	t.Run("a light above the white makes the picture greener", func(t *testing.T) {
		c, p := CastOf(green, daylight), seen(t, green, daylight)
		if !within(float64(c.Duv), 0.004, 1e-15) || sign(p.greenness) != 1 {
			t.Errorf("got a cast of Duv %v and a picture of %v, want +0.004 and a greener one", c.Duv, p.greenness)
		}
	})
	t.Run("B on a lower kelvin than A makes the cooler picture of the same light", func(t *testing.T) {
		d := PictureDifference(CCTDuv{3200, 0}, CCTDuv{4300, 0})
		b, a := seen(t, daylight, CCTDuv{3200, 0}), seen(t, daylight, CCTDuv{4300, 0})
		if sign(d.Mired) != -1 || sign(b.warmth-a.warmth) != -1 {
			t.Errorf("got %v mired and a picture of %v against %v, want B's cooler", d.Mired, b.warmth, a.warmth)
		}
	})
	t.Run("B on a higher Duv than A makes the more magenta picture of the same light", func(t *testing.T) {
		d := PictureDifference(green, magenta)
		b, a := seen(t, daylight, green), seen(t, daylight, magenta)
		if !within(float64(d.Duv), -0.008, 1e-15) || !(b.greenness < a.greenness) {
			t.Errorf("got Duv %v and a picture of %v against %v, want -0.008 and B's more magenta", d.Duv, b.greenness, a.greenness)
		}
	})
	t.Run("a light that drifts down in kelvin got warmer", func(t *testing.T) {
		c := CastOf(CCTDuv{3000, 0}, tungsten)
		before, after := seen(t, tungsten, tungsten), seen(t, CCTDuv{3000, 0}, tungsten)
		if sign(c.Mired) != 1 || sign(after.warmth-before.warmth) != 1 {
			t.Errorf("got a drift of %v mired and a picture of %v after %v, want it warmer", c.Mired, after.warmth, before.warmth)
		}
	})
	t.Run("a cool night is aimed at by a lower kelvin", func(t *testing.T) {
		// Common practice, no source: 5600 K with −80 and with −134 mired.
		for cast, want := range map[Mired]float64{-80: 3867, -134: 3199} {
			aim, err := Aim(daylight, Cast{Mired: cast})
			if err != nil {
				t.Fatal(err)
			}
			if !within(float64(aim.CCT), want, 0.5) {
				t.Errorf("%v mired: got an aim of %v K, want %v", cast, aim.CCT, want)
			}
			if p := seen(t, daylight, aim); sign(p.warmth) != -1 {
				t.Errorf("%v mired: got a picture of %v, want a cooler one", cast, p.warmth)
			}
		}
	})
	t.Run("a wanted green is aimed at by a lower Duv", func(t *testing.T) {
		aim, err := Aim(daylight, Cast{Duv: 0.003})
		if err != nil {
			t.Fatal(err)
		}
		if p := seen(t, daylight, aim); !within(float64(aim.Duv), -0.003, 1e-15) || sign(p.greenness) != 1 {
			t.Errorf("got an aim of Duv %v and a picture of %v, want -0.003 and a greener one", aim.Duv, p.greenness)
		}
	})
	// What a light wants is the cast of its white: the sign of its own cast, turned.
	t.Run("what a cool light wants is orange, and a gel of it matches", func(t *testing.T) {
		w := CastOf(tungsten, daylight)
		behind, err := Through(daylight, Gel{Shift: w.Mired})
		if err != nil {
			t.Fatal(err)
		}
		if sign(w.Mired) != 1 || !within(float64(behind.CCT), 3200, 1e-6) {
			t.Errorf("got a shift of %v mired to %v K, want plus and 3200", w.Mired, behind.CCT)
		}
	})
	t.Run("what a magenta light wants is green", func(t *testing.T) {
		w := CastOf(daylight, magenta)
		cc, err := DuvToCC(w.Duv, magenta)
		if err != nil {
			t.Fatal(err)
		}
		if sign(w.Duv) != 1 || sign(cc) != 1 {
			t.Errorf("got Duv %v and CC %v, want both plus", w.Duv, cc)
		}
	})
	t.Run("kelvin up on the camera makes the picture warmer", func(t *testing.T) {
		low, high := seen(t, daylight, CCTDuv{4300, 0}), seen(t, daylight, CCTDuv{5000, 0})
		if !(CCTDuv{5000, 0}.Mired() < CCTDuv{4300, 0}.Mired()) || !(high.warmth > low.warmth) {
			t.Errorf("got a picture of %v at 5000 K and of %v at 4300 K, want the first warmer", high.warmth, low.warmth)
		}
	})
	t.Run("tint towards magenta on the camera raises its white's Duv", func(t *testing.T) {
		zero, tinted := seen(t, daylight, daylight), seen(t, daylight, green)
		if !(tinted.greenness < zero.greenness) {
			t.Errorf("got a picture of Duv %v on a white of +0.004 and of %v on 0, want the first more magenta", tinted.greenness, zero.greenness)
		}
		for _, plusIsGreen := range []bool{false, true} {
			d := Dials{
				Kelvin: KelvinDial{Ranges: []KelvinRange{{2500, 9900, 100}}},
				Tint:   TintDial{Min: -20, Max: 20, Step: 1, DuvPerUnit: 0.0005, PlusIsGreen: plusIsGreen},
			}
			w, err := d.White(Setting{Kelvin: 5600, Tint: 8})
			if err != nil {
				t.Fatal(err)
			}
			want := 1
			if plusIsGreen {
				want = -1
			}
			if sign(w.Duv) != want {
				t.Errorf("plus is green %v: got a white of Duv %v at tint +8, want sign %d", plusIsGreen, w.Duv, want)
			}
		}
	})
	t.Run("the two CC read-outs of a meter have opposite signs", func(t *testing.T) {
		light, err := LightIs.Duv(15, 5600)
		if err != nil {
			t.Fatal(err)
		}
		needed, err := FilterNeeded.Duv(15, 5600)
		if err != nil {
			t.Fatal(err)
		}
		if sign(light) != 1 || sign(needed) != -1 {
			t.Errorf("got Duv %v for a green light and %v where green is needed, want plus and minus", light, needed)
		}
		if _, err := CCReadout(2).Duv(15, 5600); err == nil {
			t.Error("an unknown read-out: got no error")
		}
	})
}

// The predicted cast and the picture agree in sign wherever the cast is large
// enough to be seen.
func TestCastAndPictureAgreeInSign(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) CCTDuv {
			return CCTDuv{Kelvin(1e6 / rapid.Float64Range(130, 400).Draw(t, name+" mired")),
				Duv(rapid.Float64Range(-0.003, 0.003).Draw(t, name+" duv"))}
		}
		light, white := draw("light"), draw("white")
		if c := CastOf(light, white); c.Mired > 30 || c.Mired < -30 {
			if p := seen(t, light, white); sign(p.warmth) != sign(c.Mired) {
				t.Errorf("cast %v mired, picture %v", c.Mired, p.warmth)
			}
		}
	})
}

func TestAimUndoesTheCast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		reference := CCTDuv{Kelvin(rapid.Float64Range(2500, 8000).Draw(t, "kelvin")), Duv(rapid.Float64Range(-0.02, 0.02).Draw(t, "duv"))}
		want := Cast{Mired(rapid.Float64Range(-100, 100).Draw(t, "cast")), Duv(rapid.Float64Range(-0.02, 0.02).Draw(t, "cast duv"))}
		aim, err := Aim(reference, want)
		if err != nil {
			t.Fatal(err)
		}
		got := CastOf(reference, aim)
		if !within(float64(got.Mired), float64(want.Mired), 1e-9) || !within(float64(got.Duv), float64(want.Duv), 1e-12) {
			t.Errorf("got %v, want %v", got, want)
		}
		if back := PictureDifference(aim, reference); !within(float64(back.Mired), float64(want.Mired), 1e-9) {
			t.Errorf("the picture on the aim differs by %v mired, want %v", back.Mired, want.Mired)
		}
	})
}

func TestAimsOutsideTheDomainAreRefused(t *testing.T) {
	for _, c := range []struct {
		reference CCTDuv
		cast      Cast
	}{
		{CCTDuv{5600, 0}, Cast{Mired: 200}}, {CCTDuv{5600, 0}, Cast{Mired: -900}}, {CCTDuv{5600, 0.04}, Cast{Duv: -0.02}}, {CCTDuv{0, 0}, Cast{}},
	} {
		if got, err := Aim(c.reference, c.cast); err == nil {
			t.Errorf("%v: got %v, want an error", c, got)
		}
	}
}

// Each difference of two lights turns its sign with the order, and a light differs
// from itself by nothing.
func TestDifferencesTurnWithTheOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := drawWhite.Draw(t, "a"), drawWhite.Draw(t, "b")
		for name, difference := range map[string]func(CCTDuv, CCTDuv) Cast{
			"CastOf": CastOf, "PictureDifference": PictureDifference, "CameraError": CameraError,
		} {
			if there, back := difference(a, b), difference(b, a); there.Mired != -back.Mired || there.Duv != -back.Duv {
				t.Errorf("%s: got %v one way and %v the other", name, there, back)
			}
			if same := difference(a, a); same != (Cast{}) {
				t.Errorf("%s: got %v between a light and itself", name, same)
			}
		}
		if CastOf(a, b) != CameraError(a, b) || CastOf(a, b) != PictureDifference(b, a) {
			t.Errorf("%v and %v: the differences do not fit each other", a, b)
		}
	})
}
