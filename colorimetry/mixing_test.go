package colorimetry

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestMixIsNeitherTheMeanOfKelvinNorOfMired(t *testing.T) {
	for _, row := range checkRows(t, "mixing.json") {
		t.Run(row.Name, func(t *testing.T) {
			var lights []Lit
			for i := 0; i < len(row.in); i += 2 {
				xy, err := CCTDuv{Kelvin(row.in[i]), 0}.XY()
				if err != nil {
					t.Fatal(err)
				}
				lights = append(lights, Lit{xy, Lux(row.in[i+1])})
			}
			mix, err := Mix(lights)
			if err != nil {
				t.Fatal(err)
			}
			c, err := mix.Light.CCTDuv()
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, float64(c.CCT), float64(c.Duv), float64(mix.Lux))
		})
	}
}

var drawLit = rapid.Custom(func(t *rapid.T) Lit {
	return Lit{drawWhiteXY(t, "light"), Lux(rapid.Float64Range(0.1, 20000).Draw(t, "lux"))}
})

func TestMixDoesNotDependOnOrderOrGrouping(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := drawLit.Draw(t, "a"), drawLit.Draw(t, "b"), drawLit.Draw(t, "c")
		all := mustMix(t, a, b, c)
		for name, other := range map[string]Lit{"reversed": mustMix(t, c, b, a), "in two goes": mustMix(t, mustMix(t, a, b), c)} {
			if !within(other.Light.X, all.Light.X, 1e-12) || !within(other.Light.Y, all.Light.Y, 1e-12) ||
				!within(float64(other.Lux), float64(all.Lux), 1e-8) {
				t.Fatalf("%s: got %v, want %v", name, other, all)
			}
		}
		if alone := mustMix(t, a); !within(alone.Light.X, a.Light.X, 1e-14) || alone.Lux != a.Lux {
			t.Fatalf("one light alone: got %v, want %v", alone, a)
		}
	})
}

func mustMix(t *rapid.T, lights ...Lit) Lit {
	m, err := Mix(lights)
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestMixRefusesWhatIsNoLight(t *testing.T) {
	for name, lights := range map[string][]Lit{
		"no lights":              nil,
		"all of them out":        {{D65, 0}, {D65, 0}},
		"a negative illuminance": {{D65, 100}, {D65, -1}},
		"an illuminance of NaN":  {{D65, Lux(math.NaN())}},
		"no chromaticity":        {{XY{}, 100}},
		"more than a float":      {{D65, math.MaxFloat64}, {D65, math.MaxFloat64}},
	} {
		t.Run(name, func(t *testing.T) {
			if got, err := Mix(lights); !errors.Is(err, ErrDomain) {
				t.Errorf("got %v and %v, want ErrDomain", got, err)
			}
		})
	}
}

func TestMixOfPublishedPrimariesIsTheirWhite(t *testing.T) {
	for _, row := range checkRows(t, "mixed-primaries.json") {
		t.Run(row.Name, func(t *testing.T) {
			var lights []Lit
			for i := 0; i < len(row.in); i += 3 {
				lights = append(lights, Lit{XY{row.in[i], row.in[i+1]}, Lux(row.in[i+2])})
			}
			mix, err := Mix(lights)
			if err != nil {
				t.Fatal(err)
			}
			row.compare(t, mix.Light.X, mix.Light.Y, float64(mix.Lux))
		})
	}
}
