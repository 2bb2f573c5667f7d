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

func TestLampIsExpectedRelativeToItsReading(t *testing.T) {
	for _, c := range []struct {
		name  string
		slope float64
		dial  Kelvin
		tint  float64
		want  CCTDuv
	}{
		{"where it was read it is what was read", 0, 5600, 2, CCTDuv{5200, 0.004}},
		{"the dial moves it by mired, not by kelvin", 0, 3200, 2, CCTDuv{Kelvin(1e6 / (1e6/5200 + 1e6/3200 - 1e6/5600)), 0.004}},
		{"a dial that does nine tenths", 0.9, 3200, 2, CCTDuv{Kelvin(1e6 / (1e6/5200 + 0.9*(1e6/3200-1e6/5600))), 0.004}},
		{"a lamp's tint towards magenta lowers its Duv", 0, 5600, -1, CCTDuv{5200, 0.001}},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := twoColour
			l.Slope = c.slope
			got, err := l.On(c.dial, c.tint)
			if err != nil {
				t.Fatal(err)
			}
			if !within(float64(got.CCT), float64(c.want.CCT), 1e-6) || !within(float64(got.Duv), float64(c.want.Duv), 1e-15) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

func TestDialSlopeIsLearntFromTwoReadings(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := twoColour
		l.Slope = rapid.Float64Range(0.7, 1.4).Draw(t, "slope")
		dial := Kelvin(2700 + 50*rapid.IntRange(0, 40).Draw(t, "dial"))
		other, err := l.On(dial, l.TintAt)
		if err != nil {
			t.Fatal(err)
		}
		got, err := DialSlope(l.Reading, l.At, other, dial)
		if err != nil || !within(got, l.Slope, 1e-9) {
			t.Fatalf("got %v (%v), want %v", got, err, l.Slope)
		}
	})
}

func TestMeasuredGelIsTheGelThatWasOn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		light := CCTDuv{Kelvin(rapid.Float64Range(3000, 6000).Draw(t, "kelvin")), 0.001}
		gel := Gel{Mired(rapid.Float64Range(-100, 130).Draw(t, "shift")), rapid.Float64Range(-15, 15).Draw(t, "CC"), Stops(rapid.Float64Range(0, 3).Draw(t, "loss"))}
		behind, err := Through(light, gel)
		if err != nil {
			t.Fatal(err)
		}
		got, err := MeasuredGel(light, behind, 1000, Lux(1000/math.Exp2(float64(gel.Loss))))
		if err != nil {
			t.Fatal(err)
		}
		if !within(float64(got.Shift), float64(gel.Shift), 1e-9) || !within(got.CC, gel.CC, 1e-6) || !within(float64(got.Loss), float64(gel.Loss), 1e-9) {
			t.Fatalf("got %v, want %v", got, gel)
		}
	})
}

func TestLampRefusesWhatItCannotDo(t *testing.T) {
	unknown := twoColour
	unknown.Tint.DuvPerUnit = 0
	fixed := Lamp{Reading: CCTDuv{5600, 0}}
	day, warm := CCTDuv{5600, 0}, CCTDuv{3200, 0}
	for name, err := range map[string]error{
		"a dial position between steps":     second(twoColour.On(5610, 2)),
		"a tint beyond the dial":            second(twoColour.On(5600, 11)),
		"a tint whose unit is unknown":      second(unknown.On(5600, 3)),
		"kelvin on a lamp without a dial":   second(fixed.On(3200, 0)),
		"a fixed lamp with a dial reading":  second(Lamp{Reading: day, At: 5600}.On(5600, 0)),
		"a slope from one dial position":    second(DialSlope(day, 5600, warm, 5600)),
		"a slope that runs backwards":       second(DialSlope(day, 3200, warm, 5600)),
		"a slope from no reading":           second(DialSlope(CCTDuv{}, 3200, warm, 5600)),
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
