package colorimetry

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// By hand: (3·312.5 + 178.571) / 4 = 279.018 mired; (3·0.002 − 0.002) / 4 = 0.001.
func TestCompromiseOfTungstenAndDaylight(t *testing.T) {
	got, err := Compromise([]WeightedLight{{CCTDuv{3200, 0.002}, 3}, {CCTDuv{5600, -0.002}, 1}})
	if err != nil || !within(float64(got.Mired()), 279.0179, 1e-4) || !within(float64(got.Duv), 0.001, 1e-12) {
		t.Errorf("got %v (%v), want 279.018 mired and Duv 0.001", got, err)
	}
}

var drawLights = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) WeightedLight {
	return WeightedLight{
		CCTDuv{Kelvin(rapid.Float64Range(2000, 10000).Draw(t, "kelvin")), Duv(rapid.Float64Range(-0.02, 0.02).Draw(t, "Duv"))},
		rapid.Float64Range(0.001, 1000).Draw(t, "weight"),
	}
}), 1, 6)

// casts is the sum of weight times squared cast, a Duv counting as so many mired.
func casts(lights []WeightedLight, white CCTDuv, miredPerDuv float64) (sum float64) {
	for _, l := range lights {
		c := CastOf(l.Light, white)
		sum += l.Weight * (math.Pow(float64(c.Mired), 2) + math.Pow(miredPerDuv*float64(c.Duv), 2))
	}
	return sum
}

func TestNoWhiteNearTheCompromiseLeavesLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lights := drawLights.Draw(t, "lights")
		best, err := Compromise(lights)
		if err != nil {
			t.Fatal(err)
		}
		count := rapid.Float64Range(100, 10000).Draw(t, "mired per Duv")
		least := casts(lights, best, count)
		for range 20 {
			far := math.Pow(10, rapid.Float64Range(-3, 2).Draw(t, "how far"))
			around := rapid.Float64Range(0, 2*math.Pi).Draw(t, "which way")
			k, err := (best.Mired() + Mired(far*math.Cos(around))).Kelvin()
			if err != nil {
				continue
			}
			other := CCTDuv{k, best.Duv + Duv(far*math.Sin(around)/count)}
			if got := casts(lights, other, count); got < least*(1-1e-12)-1e-9 {
				t.Fatalf("%v leaves %v, the compromise %v leaves %v", other, got, best, least)
			}
		}
	})
}

func TestTheCompromiseLiesBetweenTheLights(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lights := drawLights.Draw(t, "lights")
		got, err := Compromise(lights)
		if err != nil {
			t.Fatal(err)
		}
		least, most := math.Inf(1), math.Inf(-1)
		for _, l := range lights {
			least, most = math.Min(least, float64(l.Light.CCT)), math.Max(most, float64(l.Light.CCT))
		}
		if !(float64(got.CCT) >= least*(1-1e-12) && float64(got.CCT) <= most*(1+1e-12)) {
			t.Fatalf("got %v, want it between %v and %v", got, least, most)
		}
	})
}

func TestCompromiseRefusesWhatHasNoMean(t *testing.T) {
	day := CCTDuv{5600, 0}
	for name, lights := range map[string][]WeightedLight{
		"no lights":            nil,
		"a light that is none": {{CCTDuv{}, 1}},
		"no weight":            {{day, 0}},
		"a negative weight":    {{day, 2}, {day, -1}},
		"a weight of NaN":      {{day, math.NaN()}},
		"an infinite weight":   {{day, math.Inf(1)}},
		"weights beyond count": {{day, math.MaxFloat64}, {day, math.MaxFloat64}},
	} {
		t.Run(name, func(t *testing.T) {
			if got, err := Compromise(lights); !errors.Is(err, ErrDomain) {
				t.Errorf("got %v (%v), want ErrDomain", got, err)
			}
		})
	}
}

func FuzzCompromiseIsAWhiteOrAnError(f *testing.F) {
	f.Add(3200.0, 0.0, 1.0, 5600.0, 0.001, 2.0)
	f.Add(math.NaN(), math.Inf(1), 1e308, 1.0, -1.0, 1e-320)
	f.Fuzz(func(t *testing.T, a, duvA, weightA, b, duvB, weightB float64) {
		got, err := Compromise([]WeightedLight{{CCTDuv{Kelvin(a), Duv(duvA)}, weightA}, {CCTDuv{Kelvin(b), Duv(duvB)}, weightB}})
		if err == nil {
			err = got.Check()
		} else if errors.Is(err, ErrDomain) {
			return
		}
		if err != nil {
			t.Fatalf("got %v: %v", got, err)
		}
	})
}
