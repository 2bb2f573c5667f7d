package colorimetry

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// plainRig is one rig the slow way: one step after the other, with Picture.
func plainRig(t Task, dial Kelvin, tint float64, gel Gel) (Option, bool) {
	bare, err := t.Lamp.on(dial, tint)
	if err != nil {
		return Option{}, false
	}
	light, err := Through(bare, gel)
	if err != nil {
		return Option{}, false
	}
	xy, err := light.XY()
	if err != nil {
		return Option{}, false
	}
	white, err := t.Target.XY()
	if err != nil {
		return Option{}, false
	}
	p, err := Picture(xy, white, CAT16)
	if err != nil {
		return Option{}, false
	}
	o := Option{Dial: dial, Tint: tint, Light: light, Residual: CastOf(light, t.Target), Steps: StepsFromNeutral(p), Loss: gel.Loss}
	if t.AsLight {
		o.Steps = xy.UVPrime().Distance(white.UVPrime()) / StepUVPrime
	}
	o.Reaches = t.Tolerance.holds(o.Residual, o.Steps)
	return o, true
}

// plainOptions tries every dial position, tint and stack, and keeps all rigs.
func plainOptions(t Task, stock []StockedGel) (all []Option) {
	stacks := [][]int{nil}
	for i := range stock {
		stacks = append(stacks, []int{i})
		for j := i; j < len(stock); j++ {
			stacks = append(stacks, []int{i, j})
		}
	}
	dials := append(t.Lamp.Dial.values(), t.Lamp.At)
	tints := []float64{t.Lamp.TintAt}
	if t.Lamp.Tint.DuvPerUnit > 0 {
		for i := range t.Lamp.Tint.axis().count() {
			tints = append(tints, t.Lamp.Tint.axis().at(i))
		}
	}
	for _, gels := range stacks {
		if !enough(stock, gels) {
			continue
		}
		gel := stacked(stock, gels)
		for _, d := range dials {
			for _, tint := range tints {
				if o, ok := plainRig(t, d, tint, gel); ok {
					o.Gels = gels
					all = append(all, o)
				}
			}
		}
	}
	return all
}

func stacked(stock []StockedGel, gels []int) (gel Gel) {
	for _, i := range gels {
		gel = Stack(gel, stock[i].Gel)
	}
	return gel
}

func enough(stock []StockedGel, gels ...[]int) bool {
	used := map[int]int{}
	for _, stack := range gels {
		for _, g := range stack {
			used[g]++
		}
	}
	for g, n := range used {
		if n > stock[g].Count {
			return false
		}
	}
	return true
}

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
		gels := NominalGels(Based5500)
		for range rapid.IntRange(0, most).Draw(t, "gels") {
			g := gels[rapid.IntRange(0, len(gels)-1).Draw(t, "gel")]
			stock = append(stock, StockedGel{g.Gel, rapid.IntRange(0, 2).Draw(t, "count"), true})
		}
		return stock
	})
}

func sameCost(a, b cost) bool { return !a.before(b) && !b.before(a) }

func TestOptionsAreAsGoodAsTryingEveryRig(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		task, stock := drawTask.Draw(t, "task"), drawStock(4).Draw(t, "stock")
		options, err := task.Options(stock)
		if err != nil {
			t.Fatal(err)
		}
		byStack := map[string]Option{}
		for _, o := range plainOptions(task, stock) {
			key := fmt.Sprint(o.Gels)
			if best, ok := byStack[key]; !ok || o.cost().before(best.cost()) {
				byStack[key] = o
			}
		}
		if len(options) != len(byStack) {
			t.Fatalf("got %d stacks, want %d", len(options), len(byStack))
		}
		for i, o := range options {
			want := byStack[fmt.Sprint(o.Gels)]
			if !sameCost(o.cost(), want.cost()) {
				t.Fatalf("stack %v: got %+v, want %+v", o.Gels, o, want)
			}
			if i > 0 && o.cost().before(options[i-1].cost()) {
				t.Fatalf("option %d is better than the one before it", i)
			}
			again, ok := plainRig(task, o.Dial, o.Tint, stacked(stock, o.Gels))
			if !ok || !within(again.Steps, o.Steps, 1e-7) || !within(float64(again.Light.Duv), float64(o.Light.Duv), 1e-12) ||
				!within(float64(again.Light.Mired()), float64(o.Light.Mired()), 1e-9) {
				t.Fatalf("the rig %+v does not give what it says, but %+v", o, again)
			}
		}
	})
}

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
		gels := NominalGels(Based5500)
		g := gels[i%len(gels)].Gel
		g.Shift += Mired(i)
		stock = append(stock, StockedGel{g, 1 + i%4, true})
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
		{Gel{Shift: -130, Loss: 2}, 2, false},
		{Gel{Shift: -120, Loss: 1}, 1, false},
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
	stock := []StockedGel{{Gel{Shift: -131, Loss: 2}, 3, true}}
	target := CCTDuv{Kelvin(1e6 / 181.5), 0}
	task := func(own map[int]StockedGel) Task {
		return Task{Lamp: Lamp{Reading: CCTDuv{3200, 0}, Own: own}, Target: target, Tolerance: Tolerance{12, 0.003, 0.003, 6}}
	}
	plan, err := bestPlan([]Task{
		task(nil),
		task(map[int]StockedGel{0: {Gel{Shift: -110, Loss: 1.8}, 3, false}}),
		task(map[int]StockedGel{0: {Gel{Shift: -131, Loss: 2}, 0, true}}),
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
		"a negative count of gels":  {tasks: []Task{{Lamp: lamp, Target: day}}, stock: []StockedGel{{Gel{}, -1, false}}},
		"a gel that gives light":    {tasks: []Task{{Lamp: lamp, Target: day}}, stock: []StockedGel{{Gel{Loss: -1}, 1, false}}},
		"a gel of 500 mired":        {tasks: []Task{{Lamp: lamp, Target: day}}, stock: []StockedGel{{Gel{Shift: 500}, 1, false}}},
		"a gel of CC 61":            {tasks: []Task{{Lamp: lamp, Target: day}}, stock: []StockedGel{{Gel{CC: 61}, 1, false}}},
		"an inventory out of sight": {tasks: []Task{{Lamp: lamp, Target: day}}, stock: make([]StockedGel, 201)},
	} {
		t.Run(name, func(t *testing.T) {
			if got, err := bestPlan(c.tasks, c.stock); !errors.Is(err, ErrDomain) {
				t.Errorf("got %+v and %v, want ErrDomain", got, err)
			}
		})
	}
}

// The tint that comes nearest in the picture may lie outside a narrow limit for
// green or magenta: then a farther one, inside, has to be found.
func TestPlanKeepsToTheGreenLimitRatherThanToTheNearestTint(t *testing.T) {
	lamp := Lamp{Reading: CCTDuv{Kelvin(1e6 / 322.0), 0}, Tint: TintDial{-30, 30, 1, 0.0002, true}}
	task := Task{Lamp: lamp, Target: CCTDuv{3200, 0}, Tolerance: Tolerance{12, 0.00015, 0.00015, 6}}
	options, err := task.Options(nil)
	if err != nil {
		t.Fatal(err)
	}
	if o := options[0]; !o.Reaches || o.Tint != 0 {
		t.Errorf("got %+v, want tint 0 to reach", o)
	}
	task.Tolerance.Green, task.Tolerance.Magenta = 0.01, 0.01
	if options, err = task.Options(nil); err != nil {
		t.Fatal(err)
	}
	if o := options[0]; !o.Reaches || o.Tint == 0 {
		t.Errorf("got %+v, want a tint that comes nearer than 0", o)
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
		stock := []StockedGel{{Gel{Mired(shift), cc, Stops(loss)}, 2, true}}
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

func TestAToleranceTellsGreenFromMagenta(t *testing.T) {
	tolerance := Tolerance{Mired: 10, Green: 0.002, Magenta: 0.004, Steps: 5}
	for _, c := range []struct {
		cast  Cast
		steps float64
		holds bool
	}{
		{Cast{0, 0.002}, 1, true}, {Cast{0, 0.003}, 1, false}, {Cast{0, -0.003}, 1, true}, {Cast{0, -0.005}, 1, false},
		{Cast{10, 0}, 1, true}, {Cast{-10, 0}, 1, true}, {Cast{11, 0}, 1, false}, {Cast{-11, 0}, 1, false}, {Cast{0, 0}, 5.1, false},
	} {
		if got := tolerance.holds(c.cast, c.steps); got != c.holds {
			t.Errorf("%+v, %v steps: got %v, want %v", c.cast, c.steps, got, c.holds)
		}
	}
}

// What comes first of two rigs, item by item: reaching, then missing by less, then
// less light lost, then fewer gels, then nearer. Each row beats the next.
func TestRigsArePreferredInThisOrder(t *testing.T) {
	var last cost
	for i, o := range []Option{
		{Reaches: true, Loss: 0.5, Gels: []int{0, 0}, Steps: 4},
		{Reaches: true, Loss: 1, Gels: []int{0}, Steps: 3.9},
		{Reaches: true, Loss: 1, Gels: []int{0, 0}, Steps: 1},
		{Reaches: true, Loss: 1, Gels: []int{0, 0}, Steps: 2},
		{Reaches: false, Loss: 3, Gels: []int{0, 0}, Steps: 6},
		{Reaches: false, Loss: 0, Steps: 7},
		{Reaches: false, Loss: 0.1, Steps: 7},
	} {
		if c := o.cost(); i > 0 && !(last.before(c) && !c.before(last)) {
			t.Errorf("row %d: %v does not come before %v", i, last, c)
		}
		last = o.cost()
	}
}
