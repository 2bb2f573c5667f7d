package colorimetry

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

var twoColour = Lamp{
	Reading: CCTDuv{5200, 0.004}, At: 5600,
	Dial:   KelvinDial{Ranges: []KelvinRange{{2700, 6500, 50}}},
	Tint:   TintDial{-10, 10, 1, 0.001, true},
	TintAt: 2,
}

// on is the light on other positions of the dials, as a plan counts with it.
func (l Lamp) on(dial Kelvin, tint float64) (CCTDuv, error) {
	if err := l.Check(); err != nil {
		return CCTDuv{}, err
	}
	by := l.dialMoves(dial)
	return moved(l.Reading, by.Duv+l.tintDuv(tint), by.Mired)
}

func TestLampIsExpectedRelativeToItsReading(t *testing.T) {
	for _, c := range []struct {
		name  string
		shown []DialPoint
		dial  Kelvin
		tint  float64
		want  CCTDuv
	}{
		{"where it was read it is what was read", nil, 5600, 2, CCTDuv{5200, 0.004}},
		{"the dial moves it by mired, not by kelvin", nil, 3200, 2, CCTDuv{Kelvin(1e6 / (1e6/5200 + 1e6/3200 - 1e6/5600)), 0.004}},
		// 1e6/3200 − 1e6/5600 = 133.9 mired on the dial, of which the light does 120.
		{"a dial that does less than it says", []DialPoint{{5600, CCTDuv{5300, 0.001}}, {3200, CCTDuv{Kelvin(1e6 / (1e6/5300 + 120)), -0.001}}}, 3200, 2, CCTDuv{Kelvin(1e6 / (1e6/5200 + 120)), 0.002}},
		{"one point alone says nothing of a move", []DialPoint{{3200, CCTDuv{3000, 0.02}}}, 3200, 2, CCTDuv{Kelvin(1e6 / (1e6/5200 + 1e6/3200 - 1e6/5600)), 0.004}},
		{"a lamp's tint towards magenta lowers its Duv", nil, 5600, -1, CCTDuv{5200, 0.001}},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := twoColour
			l.Shown = c.shown
			got, err := l.on(c.dial, c.tint)
			if err != nil {
				t.Fatal(err)
			}
			if !within(float64(got.CCT), float64(c.want.CCT), 1e-6) || !within(float64(got.Duv), float64(c.want.Duv), 1e-15) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

// A lamp whose points lie on a straight line moves along it, between the points and
// beyond them.
func TestALampMovesAsItsPointsDid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		slope, by := rapid.Float64Range(0.7, 1.4).Draw(t, "slope"), rapid.Float64Range(-15, 15).Draw(t, "off")
		light := func(dial Kelvin) CCTDuv {
			return CCTDuv{Kelvin(1e6 / (250 + by + slope*(1e6/float64(dial)-250))), 0.001}
		}
		for _, dial := range []Kelvin{2700, 4000, 6500} {
			if e, want := (DialPoint{dial, light(dial)}).Error(), (slope-1)*(1e6/float64(dial)-250)+by; !within(float64(e.Mired), want, 1e-9) {
				t.Fatalf("at %v: got an error of %v, want %v mired", dial, e, want)
			}
		}
		l := twoColour
		var all []DialPoint
		for range rapid.IntRange(2, 6).Draw(t, "count") {
			dial := Kelvin(rapid.Float64Range(2700, 6500).Draw(t, "dial"))
			all = append(all, DialPoint{dial, light(dial)})
		}
		var err error
		if l.Shown, err = DialPoints(all); err != nil {
			t.Fatal(err)
		}
		if len(l.Shown) < 2 {
			t.Skip("all points are one")
		}
		to := Kelvin(2700 + 50*rapid.IntRange(0, 76).Draw(t, "to"))
		got, err := l.on(to, l.TintAt)
		if err != nil {
			t.Fatal(err)
		}
		want := float64(l.Reading.Mired()) + slope*(1e6/float64(to)-1e6/float64(l.At))
		if !within(float64(got.Mired()), want, 1e-6) || !within(float64(got.Duv), float64(l.Reading.Duv), 1e-12) {
			t.Fatalf("got %v, want %v mired and the Duv of the reading", got, want)
		}
	})
}

func TestDialPointsAreThinnedToWhatTheyCanCarry(t *testing.T) {
	warm, day := CCTDuv{3200, 0}, CCTDuv{5600, 0}
	// 5600 K and 5200 K are 13.7 mired apart.
	got, err := DialPoints([]DialPoint{{5600, day}, {3200, warm}, {5200, warm}})
	if err != nil || len(got) != 2 || got[0].Dial != 5600 || got[1].Dial != 3200 {
		t.Errorf("got %v (%v), want the points of 5600 and 3200 K", got, err)
	}
	if got, err := DialPoints([]DialPoint{{5600, warm}, {3200, day}}); !errors.Is(err, ErrDomain) {
		t.Errorf("a lamp that gets cooler as its dial gets warmer: got %v (%v), want ErrDomain", got, err)
	}
	p := DialPoint{5000, CCTDuv{4760, 0.002}}
	// 1e6/4760 − 200 = 10.08.
	if e := p.Error(); !within(float64(e.Mired), 10.084, 0.001) || e.Duv != 0.002 {
		t.Errorf("got an error of %v, want +10.08 mired and Duv +0.002", e)
	}
}

func TestMeasuredGelIsTheGelThatWasOn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		light := CCTDuv{Kelvin(rapid.Float64Range(3000, 6000).Draw(t, "kelvin")), 0.001}
		gel := Gel{Mired(rapid.Float64Range(-100, 130).Draw(t, "shift")), rapid.Float64Range(-15, 15).Draw(t, "CC"),
			Stops(rapid.Float64Range(0, 3).Draw(t, "loss"))}
		behind, err := Through(light, gel)
		if err != nil {
			t.Fatal(err)
		}
		got, err := MeasuredGel(light, behind, 1000, Lux(1000/math.Exp2(float64(gel.Loss))))
		if err != nil {
			t.Fatal(err)
		}
		if !within(float64(got.Shift), float64(gel.Shift), 1e-9) || !within(got.CC, gel.CC, 1e-6) ||
			!within(float64(got.Loss), float64(gel.Loss), 1e-9) {
			t.Fatalf("got %v, want %v", got, gel)
		}
	})
}

func TestLampRefusesWhatItCannotDo(t *testing.T) {
	day, warm := CCTDuv{5600, 0}, CCTDuv{3200, 0}
	for name, err := range map[string]error{
		"a fixed lamp with a dial reading":  Lamp{Reading: day, At: 5600}.Check(),
		"a gel that gives light":            second(MeasuredGel(day, warm, 100, 120)),
		"a gel that lets nothing through":   second(MeasuredGel(day, warm, 100, 0)),
		"a gel on a lamp that was off":      second(MeasuredGel(day, warm, 0, 0)),
		"a gel on a light without a CCT":    second(MeasuredGel(day, CCTDuv{}, 100, 50)),
		"a gel whose Duv no CC can explain": second(MeasuredGel(CCTDuv{20000, 0.05}, CCTDuv{20000, -0.05}, 100, 50)),
	} {
		t.Run(name, func(t *testing.T) {
			if !errors.Is(err, ErrDomain) {
				t.Errorf("got %v, want ErrDomain", err)
			}
		})
	}
}

func FuzzALampOnItsPointsIsALightOrAnError(f *testing.F) {
	f.Add(5600.0, 5400.0, 0.001, 3200.0, 3100.0, -0.002, 4300.0)
	f.Add(math.NaN(), math.Inf(1), 1.0, 1e-320, 1e308, -0.05, 0.0)
	f.Fuzz(func(t *testing.T, dialA, lightA, duvA, dialB, lightB, duvB, to float64) {
		l := twoColour
		var err error
		l.Shown, err = DialPoints([]DialPoint{{Kelvin(dialA), CCTDuv{Kelvin(lightA), Duv(duvA)}},
			{Kelvin(dialB), CCTDuv{Kelvin(lightB), Duv(duvB)}}})
		if err == nil {
			l.Dial.List = []Kelvin{Kelvin(to)}
			l.Dial.Ranges = nil
			var got CCTDuv
			if got, err = l.on(Kelvin(to), l.TintAt); err == nil {
				err = got.Check()
			} else if errors.Is(err, ErrDomain) {
				return
			}
		}
		if err != nil && !errors.Is(err, ErrDomain) {
			t.Fatal(err)
		}
	})
}
