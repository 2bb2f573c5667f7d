package colorimetry

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// drawRead draws lights that no gels, whose shifts are whole, take to just the end of
// what has a colour temperature: there rounding decides.
var drawRead = rapid.Custom(func(t *rapid.T) CCTDuv {
	m := float64(rapid.IntRange(50, 400).Draw(t, "mired")) + 0.371
	return CCTDuv{Kelvin(1e6 / m), Duv(rapid.Float64Range(-0.015, 0.015).Draw(t, "Duv"))}
})

var drawTask = rapid.Custom(func(t *rapid.T) Task {
	l := Lamp{Reading: drawRead.Draw(t, "reading")}
	if rapid.Bool().Draw(t, "has a kelvin dial") {
		from := rapid.SampledFrom([]Kelvin{2700, 3200, 4400}).Draw(t, "from")
		l.Dial = KelvinDial{Ranges: []KelvinRange{{from, 6500, rapid.SampledFrom([]Kelvin{100, 370, 1500}).Draw(t, "step")}}}
		l.At = Kelvin(rapid.Float64Range(2700, 6500).Draw(t, "dial at the reading"))
		l.Shown = drawShown.Draw(t, "shown")
	}
	if rapid.Bool().Draw(t, "has a tint dial") {
		l.Tint = TintDial{-5, 5, 1, rapid.SampledFrom([]Duv{0, 0.0007, 0.002, 0.02}).Draw(t, "unit"), rapid.Bool().Draw(t, "plus is green")}
		l.TintAt = float64(rapid.IntRange(-5, 5).Draw(t, "tint at the reading"))
	}
	return Task{Lamp: l, Target: drawWhite.Draw(t, "target"), AsLight: rapid.Bool().Draw(t, "as a light"), Tolerance: Tolerance{
		Mired(drawLimit(40).Draw(t, "mired")), Duv(drawLimit(0.008).Draw(t, "green")), Duv(drawLimit(0.008).Draw(t, "magenta")),
		drawLimit(20).Draw(t, "steps"),
	}}
})

// drawLimit draws no limit that rounding decides: neither next to nothing nor one
// that a step of a dial meets exactly.
func drawLimit(most float64) *rapid.Generator[float64] {
	return rapid.Custom(func(t *rapid.T) float64 {
		return (float64(rapid.IntRange(0, 99).Draw(t, "limit")) + 0.1371) / 100 * most
	})
}

// drawShown draws a lamp that is off the word of its dial.
var drawShown = rapid.Custom(func(t *rapid.T) []DialPoint {
	var all []DialPoint
	slope, by := rapid.SampledFrom([]float64{0.9, 1.1}).Draw(t, "slope"), rapid.Float64Range(-10, 10).Draw(t, "off")
	for range rapid.IntRange(0, 3).Draw(t, "points") {
		dial := Kelvin(rapid.Float64Range(2700, 6500).Draw(t, "point"))
		light := CCTDuv{Kelvin(1e6 / (250 + by + slope*(1e6/float64(dial)-250))), Duv(rapid.Float64Range(-0.004, 0.004).Draw(t, "Duv"))}
		all = append(all, DialPoint{dial, light})
	}
	points, err := DialPoints(all)
	if err != nil {
		t.Fatal(err)
	}
	return points
})

func drawStock(most int) *rapid.Generator[[]StockedGel] {
	return rapid.Custom(func(t *rapid.T) []StockedGel {
		var stock []StockedGel
		gels := mustGels(Based5500)
		for range rapid.IntRange(0, most).Draw(t, "gels") {
			g := gels[rapid.IntRange(0, len(gels)-1).Draw(t, "gel")]
			stock = append(stock, StockedGel{g.Gel, rapid.IntRange(0, 2).Draw(t, "count"), true, Pull{}})
		}
		return stock
	})
}

func sameCost(a, b cost) bool { return !a.before(b) && !b.before(a) }

func TestPlansAreTheBestOfEveryCombination(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tasks := rapid.SliceOfN(drawTask, 1, 3).Draw(t, "tasks")
		stock := drawStock(3).Draw(t, "stock")
		plans, err := Plans(tasks, stock, 3)
		if err != nil {
			t.Fatal(err)
		}
		var all []cost
		var walk func(task int, so cost, gels [][]int)
		walk = func(task int, so cost, gels [][]int) {
			if task == len(tasks) {
				if enough(stock, gels...) && !slices.ContainsFunc(all, func(c cost) bool { return sameCost(c, so) }) {
					all = append(all, so)
				}
				return
			}
			options, err := tasks[task].Options(stock)
			if err != nil {
				t.Fatal(err)
			}
			for _, o := range options {
				walk(task+1, so.plus(o.cost()), append(gels[:task:task], o.Gels))
			}
		}
		walk(0, cost{}, nil)
		slices.SortFunc(all, func(a, b cost) int { return map[bool]int{true: -1}[a.before(b)] + map[bool]int{true: 1}[b.before(a)] })
		if len(plans) != min(3, len(all)) {
			t.Fatalf("got %d plans of %d", len(plans), len(all))
		}
		for i, plan := range plans {
			var got cost
			var gels [][]int
			for _, o := range plan.Options {
				got = got.plus(o.cost())
				gels = append(gels, o.Gels)
			}
			if !enough(stock, gels...) {
				t.Fatalf("plan %d uses more than the inventory has: %v of %v", i+1, gels, stock)
			}
			if !plan.Proven || !sameCost(got, all[i]) {
				t.Fatalf("plan %d: got %v (proven %v), want %v", i+1, got, plan.Proven, all[i])
			}
		}
	})
}

// bench is a set-up of 12 lights, half of them without dials, and 24 gels.
func bench() (tasks []Task, stock []StockedGel) {
	tolerance := Tolerance{10, 0.003, 0.003, 5}
	for i := range 12 {
		l := Lamp{Reading: CCTDuv{Kelvin(2900 + 310*i), Duv(0.0011 * float64(i%7-3))}}
		if i%2 == 0 {
			l.At, l.Dial = 5600, KelvinDial{Ranges: []KelvinRange{{2700, 6500, 50}}}
			l.Reading.CCT = Kelvin(5300 + 40*i)
			l.Tint = TintDial{-10, 10, 1, 0.0008, true}
		}
		tasks = append(tasks, Task{Lamp: l, Target: CCTDuv{4300, 0.001}, Tolerance: tolerance})
	}
	for i := range 24 {
		gels := mustGels(Based5500)
		g := gels[i%len(gels)].Gel
		g.Shift += Mired(i)
		stock = append(stock, StockedGel{g, 1 + i%4, true, Pull{}})
	}
	return tasks, stock
}

func bestPlan(tasks []Task, stock []StockedGel) (SetupPlan, error) {
	plans, err := Plans(tasks, stock, 1)
	if err != nil {
		return SetupPlan{}, err
	}
	return plans[0], nil
}

func TestPlanOfASetupIsProven(t *testing.T) {
	tasks, stock := bench()
	plan, err := bestPlan(tasks, stock)
	if err != nil {
		t.Fatal(err)
	}
	if !plan.Proven || len(plan.Options) != 12 || plan.Reached < 6 {
		t.Errorf("got %d options, %d reached, proven %v", len(plan.Options), plan.Reached, plan.Proven)
	}
}

func TestPlanPrefersLightToPrecisionInsideTheTolerance(t *testing.T) {
	stock := []StockedGel{
		{Gel{Shift: -130, Loss: 2}, 2, false, Pull{}},
		{Gel{Shift: -120, Loss: 1}, 1, false, Pull{}},
	}
	task := Task{Lamp: Lamp{Reading: CCTDuv{3200, 0}}, Target: CCTDuv{Kelvin(1e6 / 182.5), 0}, Tolerance: Tolerance{12, 0.003, 0.003, 6}}
	options, err := task.Options(stock)
	if err != nil {
		t.Fatal(err)
	}
	if o := options[0]; len(o.Gels) != 1 || o.Gels[0] != 1 || !o.Reaches || o.Loss != 1 {
		t.Errorf("got %+v first, want the gel that costs less and still reaches", o)
	}
	plan, err := bestPlan([]Task{task, task, task}, stock)
	if err != nil {
		t.Fatal(err)
	}
	if plan.Reached != 3 || plan.Loss != 5 {
		t.Errorf("got %d reached with a loss of %v, want 3 with 5: one gel of a kind goes to one light", plan.Reached, plan.Loss)
	}
}

func TestPlanKeepsToWhatAGelIsOnEachLamp(t *testing.T) {
	stock := []StockedGel{{Gel{Shift: -131, Loss: 2}, 3, true, Pull{}}}
	target := CCTDuv{Kelvin(1e6 / 181.5), 0}
	task := func(own map[int]StockedGel) Task {
		return Task{Lamp: Lamp{Reading: CCTDuv{3200, 0}, Own: own}, Target: target, Tolerance: Tolerance{12, 0.003, 0.003, 6}}
	}
	plan, err := bestPlan([]Task{
		task(nil),
		task(map[int]StockedGel{0: {Gel{Shift: -110, Loss: 1.8}, 3, false, Pull{}}}),
		task(map[int]StockedGel{0: {Gel{Shift: -131, Loss: 2}, 0, true, Pull{}}}),
	}, stock)
	if err != nil {
		t.Fatal(err)
	}
	// 312.5 − 131 − 181.5 = 0; 312.5 − 110 − 181.5 = +21; 312.5 − 181.5 = +131.
	for i, want := range []float64{0, 21, 131} {
		if got := float64(plan.Options[i].Residual.Mired); math.Abs(got-want) > 1e-6 {
			t.Errorf("light %d: got %v mired left, want %v", i+1, got, want)
		}
	}
	if o := plan.Options[1]; o.Nominal || o.Loss != 1.8 || o.Reaches {
		t.Errorf("measured on the lamp: got %+v, want its own values, out of tolerance", o)
	}
	if o := plan.Options[2]; len(o.Gels) != 0 {
		t.Errorf("kept off the lamp: got gels %v", o.Gels)
	}
}

// A light that is 12 mired too warm could be brought nearer by a blue and an orange together
// than by either; nobody hangs those.
func TestPlanPutsNoOpposingGelsOnOneLight(t *testing.T) {
	task := scarceTask(CCTDuv{Kelvin(1e6 / 190.0), 0}, CCTDuv{Kelvin(1e6 / 178.0), 0})
	for name, stock := range map[string][]StockedGel{
		"by their values":          {{Gel{Shift: -54}, 1, true, Pull{}}, {Gel{Shift: 42}, 1, true, Pull{}}},
		"by what they are sold as": {{Gel{Shift: -6}, 1, true, Pull{Warmth: 1}}, {Gel{Shift: -6}, 1, true, Pull{Warmth: -1}}},
	} {
		options, err := task.Options(stock)
		if err != nil || len(options) != 3 {
			t.Fatalf("%s: got %+v (%v), want none and each alone", name, options, err)
		}
		for _, o := range options {
			if len(o.Gels) > 1 {
				t.Errorf("%s: got %+v", name, o)
			}
		}
	}
}

func TestPlanRefusesWhatIsNoTask(t *testing.T) {
	lamp, day := Lamp{Reading: CCTDuv{3200, 0}}, CCTDuv{5600, 0}
	for name, c := range map[string]struct {
		tasks []Task
		stock []StockedGel
	}{
		"no lights":                 {},
		"too many lights":           {tasks: make([]Task, 101)},
		"a lamp that was not read":  {tasks: []Task{{Target: day}}},
		"no target":                 {tasks: []Task{{Lamp: lamp}}},
		"a negative tolerance":      {tasks: []Task{{Lamp: lamp, Target: day, Tolerance: Tolerance{Mired: -1}}}},
		"a tolerance of NaN":        {tasks: []Task{{Lamp: lamp, Target: day, Tolerance: Tolerance{Steps: math.NaN()}}}},
		"a dial without a reading":  {tasks: []Task{{Lamp: Lamp{Reading: day, Dial: KelvinDial{List: []Kelvin{3200}}}, Target: day}}},
		"a dial that runs backward": {tasks: []Task{{Lamp: Lamp{Reading: day, Shown: []DialPoint{{6500, lamp.Reading}, {3200, day}}}, Target: day}}},
		"a negative count of gels":  {tasks: []Task{{Lamp: lamp, Target: day}}, stock: []StockedGel{{Gel{}, -1, false, Pull{}}}},
		"a gel that gives light":    {tasks: []Task{{Lamp: lamp, Target: day}}, stock: []StockedGel{{Gel{Loss: -1}, 1, false, Pull{}}}},
		"a gel of 500 mired":        {tasks: []Task{{Lamp: lamp, Target: day}}, stock: []StockedGel{{Gel{Shift: 500}, 1, false, Pull{}}}},
		"a gel of CC 61":            {tasks: []Task{{Lamp: lamp, Target: day}}, stock: []StockedGel{{Gel{CC: 61}, 1, false, Pull{}}}},
		"an inventory out of sight": {tasks: []Task{{Lamp: lamp, Target: day}}, stock: make([]StockedGel, 201)},
	} {
		t.Run(name, func(t *testing.T) {
			if got, err := bestPlan(c.tasks, c.stock); !errors.Is(err, ErrDomain) {
				t.Errorf("got %+v and %v, want ErrDomain", got, err)
			}
		})
	}
}

func FuzzPlanIsAPlanOrAnError(f *testing.F) {
	f.Add(5600.0, 0.0, 3200.0, 5600.0, 100.0, 0.001, 131.0, -30.0, 0.9, 10.0)
	f.Add(1000.0, 0.05, 100000.0, math.NaN(), 1.0, 0.05, 400.0, 60.0, math.Inf(1), -1.0)
	f.Fuzz(func(t *testing.T, kelvin, duv, target, dial, step, unit, shift, cc, loss, tolerance float64) {
		l := Lamp{
			Reading: CCTDuv{Kelvin(kelvin), Duv(duv)}, At: Kelvin(dial),
			Dial: KelvinDial{Ranges: []KelvinRange{{2700, 6500, Kelvin(step)}}},
			Tint: TintDial{-5, 5, 1, Duv(unit), true},
		}
		stock := []StockedGel{{Gel{Mired(shift), cc, Stops(loss)}, 2, true, Pull{}}}
		tasks := []Task{{Lamp: l, Target: CCTDuv{Kelvin(target), 0}, Tolerance: Tolerance{Mired(tolerance), 0.003, 0.003, 5}}}
		plan, err := bestPlan(tasks, stock)
		more, failed := Plans(tasks, stock, int(int8(kelvin)))
		for _, err := range []error{err, failed} {
			if err != nil && !errors.Is(err, ErrDomain) {
				t.Fatal(err)
			}
		}
		for _, p := range more {
			if o := p.Options[0]; o.Light.Check() != nil || !finite(o.Steps, float64(o.Residual.Mired), float64(p.Loss)) {
				t.Fatalf("got %+v", p)
			}
		}
		if err != nil {
			return
		}
		if o := plan.Options[0]; o.Light.Check() != nil || !finite(o.Steps, float64(o.Residual.Mired), float64(plan.Loss)) {
			t.Fatalf("got %+v", plan)
		}
	})
}
