package colorimetry

import (
	"fmt"
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
			// No gel that is drawn here is both: it warms or cools, or is green or magenta.
			if a, b := stock[i].Gel, stock[j].Gel; a.Shift*b.Shift < 0 || a.CC*b.CC < 0 {
				continue
			}
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
