package colorimetry

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// everySetting lists the whole of a body's dials, the slow and plain way.
func everySetting(d Dials) (all []Setting) {
	heads := []Setting{}
	for _, k := range d.Kelvin.values() {
		heads = append(heads, Setting{Kelvin: k})
	}
	for _, p := range d.Presets {
		heads = append(heads, Setting{Preset: p.Name})
	}
	tints := d.Tint.axis()
	for _, s := range heads {
		for f := range d.Fine.axis().count() {
			for i := range tints.count() {
				s.Fine, s.Tint = d.Fine.axis().at(f), tints.at(i)
				all = append(all, s)
			}
		}
	}
	return all
}

type tried struct {
	white CCTDuv
	steps float64
}

func tryAll(d Dials, aim CCTDuv, light XY, e Cast) (all []tried) {
	aimXY, _ := aim.XY()
	target, err := Picture(light, aimXY, CAT16)
	if err != nil {
		return nil
	}
	for _, s := range everySetting(d) {
		label, err := d.White(s)
		if err != nil {
			continue
		}
		actual, err := moved(label, e.Duv, e.Mired)
		if err != nil {
			continue
		}
		xy, err := actual.XY()
		if err != nil {
			continue
		}
		p, err := Picture(light, xy, CAT16)
		if err != nil {
			continue
		}
		all = append(all, tried{actual, PictureSteps(p, target)})
	}
	return all
}

var drawDials = rapid.Custom(func(t *rapid.T) Dials {
	d := Dials{ZeroLocus: rapid.SampledFrom([]Locus{BlackBody, Daylight, Blend}).Draw(t, "zero"),
		ZeroUnknown: rapid.Bool().Draw(t, "zero unknown")}
	for range rapid.IntRange(0, 2).Draw(t, "ranges") {
		from := rapid.SampledFrom([]Kelvin{1800, 2000, 2500, 3200, 5000}).Draw(t, "from")
		to := rapid.SampledFrom([]Kelvin{5000, 5600, 9900, 10000, 15000}).Draw(t, "to")
		step := rapid.SampledFrom([]Kelvin{50, 100, 130, 500}).Draw(t, "step")
		d.Kelvin.Ranges = append(d.Kelvin.Ranges, KelvinRange{from, to, step})
	}
	d.Kelvin.List = rapid.SliceOfN(rapid.SampledFrom([]Kelvin{2800, 3200, 4300, 5600, 6500, 12000}), 0, 3).Draw(t, "list")
	for i := range rapid.IntRange(0, 3).Draw(t, "presets") {
		k := rapid.Float64Range(1500, 12000).Draw(t, "preset")
		d.Presets = append(d.Presets, Preset{fmt.Sprint("preset ", i), Kelvin(k), Duv(rapid.Float64Range(-0.02, 0.02).Draw(t, "preset Duv"))})
	}
	if len(d.Presets)+len(d.Kelvin.Ranges)+len(d.Kelvin.List) == 0 {
		d.Kelvin.List = []Kelvin{5600}
	}
	if rapid.Bool().Draw(t, "has tint") {
		n := rapid.SampledFrom([]float64{2, 7, 20}).Draw(t, "tints")
		unit := rapid.SampledFrom([]Duv{0, 0.0004, 0.001, 0.0035, 0.01}).Draw(t, "unit")
		d.Tint = TintDial{-n, n, rapid.SampledFrom([]float64{1, 0.5}).Draw(t, "tint step"), unit, rapid.Bool().Draw(t, "plus is green")}
	}
	if rapid.Bool().Draw(t, "has fine") {
		d.Fine = FineAxis{-3, 3, 1, Mired(rapid.Float64Range(1, 12).Draw(t, "fine unit")), rapid.Bool().Draw(t, "plus is warm")}
	}
	return d
})

func TestNearestIsAsGoodAsTryingEverySetting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawDials.Draw(t, "dials")
		aim := CCTDuv{Kelvin(1e6 / rapid.Float64Range(60, 600).Draw(t, "aim mired")), Duv(rapid.Float64Range(-0.03, 0.03).Draw(t, "aim Duv"))}
		hand := CCTDuv{Kelvin(1e6 / rapid.Float64Range(40, 600).Draw(t, "light mired")),
			Duv(rapid.Float64Range(-0.04, 0.04).Draw(t, "light Duv"))}
		light, err := hand.XY()
		if err != nil {
			t.Skip(err)
		}
		e := Cast{Mired(rapid.Float64Range(-40, 40).Draw(t, "error mired")), Duv(rapid.Float64Range(-0.01, 0.01).Draw(t, "error Duv"))}
		all := tryAll(d, aim, light, e)
		best, second, err := d.Nearest(aim, light, e)
		if len(all) == 0 {
			if err == nil {
				t.Fatalf("got %+v, want an error: no setting is possible", best)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		compareToAll(t, all, best, second)
		label, err := d.White(best.Setting)
		if err != nil {
			t.Fatalf("the best setting %+v is not on the dials: %v", best.Setting, err)
		}
		if again, err := moved(label, e.Duv, e.Mired); err != nil ||
			math.Abs(float64(again.Mired()-best.White.Mired())) > 1e-9 || math.Abs(float64(again.Duv-best.White.Duv)) > 1e-12 {
			t.Fatalf("white of the best setting: got %v, want %v (%v)", best.White, again, err)
		}
	})
}

func TestWhitesAtHandChangeNoAnswer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawDials.Draw(t, "dials")
		plain := d
		plain.Tint, plain.Fine = TintDial{}, FineAxis{}
		whites, err := plain.Whites()
		if err != nil {
			t.Fatal(err)
		}
		for range 2 {
			aim := CCTDuv{Kelvin(1e6 / rapid.Float64Range(60, 600).Draw(t, "aim mired")), Duv(rapid.Float64Range(-0.03, 0.03).Draw(t, "aim Duv"))}
			best, second, err := d.Nearest(aim, D65, Cast{})
			again, next, err2 := whites.Nearest(d, aim, D65, Cast{})
			if again != best || next != second || (err == nil) != (err2 == nil) {
				t.Fatalf("with whites at hand: got %+v, %+v (%v), want %+v, %+v (%v)", again, next, err2, best, second, err)
			}
		}
	})
}

func compareToAll(t *rapid.T, all []tried, best, second Choice) {
	least, next := math.Inf(1), math.Inf(1)
	for _, a := range all {
		least = min(least, a.steps)
	}
	same := func(a CCTDuv) bool {
		return math.Abs(float64(a.Mired()-best.White.Mired())) < 1e-6 && math.Abs(float64(a.Duv-best.White.Duv)) < 1e-9
	}
	for _, a := range all {
		if !same(a.white) {
			next = min(next, a.steps)
		}
	}
	if !within(best.Steps, least, 1e-8) {
		t.Fatalf("best: got %v steps with %+v, want %v", best.Steps, best.Setting, least)
	}
	if math.IsInf(next, 1) {
		if second != (Choice{}) {
			t.Fatalf("second: got %+v, want none", second)
		}
		return
	}
	if !within(second.Steps, next, 1e-8) {
		t.Fatalf("second: got %v steps with %+v, want %v", second.Steps, second.Setting, next)
	}
}

// fineDials are a body with a dial for everything: 2.8 million settings.
var fineDials = Dials{
	Kelvin: KelvinDial{Ranges: []KelvinRange{{2500, 10000, 10}}},
	Tint:   TintDial{-99, 99, 1, 0.0004, false},
	Fine:   FineAxis{-9, 9, 1, 5, true},
}

func BenchmarkNearest(b *testing.B) {
	for name, aim := range map[string]CCTDuv{
		"within reach": {4137, -0.0026}, "beyond the kelvin dial": {2000, 0.002}, "beyond the tint dial": {4137, 0.045},
	} {
		b.Run(name, func(b *testing.B) {
			light, err := CCTDuv{4300, 0.001}.XY()
			if err != nil {
				b.Fatal(err)
			}
			for b.Loop() {
				if _, _, err := fineDials.Nearest(aim, light, Cast{3, 0.0005}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func TestTheNearestValueOnADial(t *testing.T) {
	dial := KelvinDial{Ranges: []KelvinRange{{2500, 3600, 100}, {5000, 9000, 500}}, List: []Kelvin{4300}}
	// By mired: 4640 K is 215.5, 5000 K 200 and 4300 K 232.6; by kelvin it would be 4300.
	for to, want := range map[Kelvin]Kelvin{4640: 5000, 4600: 4300, 2949: 2900, 2951: 3000, 1000: 2500, 20000: 9000, 5700: 5500} {
		if got, err := dial.Nearest(to); err != nil || got != want {
			t.Errorf("to %v K: got %v (%v), want %v", to, got, err, want)
		}
	}
	for name, err := range map[string]error{
		"no temperature": second(dial.Nearest(0)), "a dial without values": second(KelvinDial{}.Nearest(5600)),
		"a range that never ends": second(KelvinDial{Ranges: []KelvinRange{{2500, 9000, 0}}}.Nearest(5600)),
	} {
		if !errors.Is(err, ErrDomain) {
			t.Errorf("%s: got %v, want ErrDomain", name, err)
		}
	}
}

func TestNoValueOnTheDialIsNearer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := Kelvin(rapid.Float64Range(1500, 5000).Draw(t, "from"))
		dial := KelvinDial{Ranges: []KelvinRange{{low, low + Kelvin(rapid.Float64Range(0, 8000).Draw(t, "span")),
			Kelvin(rapid.Float64Range(10, 500).Draw(t, "step"))}}}
		to := Kelvin(rapid.Float64Range(1000, 20000).Draw(t, "to"))
		got, err := dial.Nearest(to)
		if err != nil || !dial.has(got) {
			t.Fatalf("got %v (%v), want a value on the dial", got, err)
		}
		for k := low; k <= dial.Ranges[0].Max; k += dial.Ranges[0].Step {
			if math.Abs(1e6/float64(k)-1e6/float64(to)) < math.Abs(1e6/float64(got)-1e6/float64(to))-1e-9 {
				t.Fatalf("%v is nearer to %v than %v", k, to, got)
			}
		}
	})
}
