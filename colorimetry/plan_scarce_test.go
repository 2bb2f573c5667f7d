package colorimetry

import (
	"math/rand/v2"
	"testing"
)

// scarceBench is 12 lights without dials and 24 single gels. No plan of it is proven within
// the bounds of the search.
func scarceBench() (tasks []Task, stock []StockedGel) {
	for _, read := range []CCTDuv{
		{2995, -0.0041}, {6284, -0.0072}, {2871, 0.0065}, {6473, -0.0007}, {5183, 0.0034}, {3298, 0.0045},
		{2856, -0.0071}, {4943, -0.0014}, {5488, 0.0005}, {5363, 0.0003}, {5502, 0.0051}, {4395, 0.0041},
	} {
		tasks = append(tasks, scarceTask(read, CCTDuv{4904, 0.003}))
	}
	for _, g := range []Gel{
		{-12, 0, 0.3}, {-139, 0, 2}, {18, 0, 0.2}, {20, 0, 0.2}, {0, 29.6, 0.4}, {45, 0, 0.3}, {41, 0, 0.3}, {0, 15, 0.3},
		{-32, 0, 0.5}, {0, 7, 0.2}, {0, -7, 0.3}, {86, 0, 0.6}, {0, -3.8, 0.2}, {0, 14.4, 0.3}, {0, -14.2, 0.5}, {0, -14.5, 0.5},
		{0, -16.4, 0.5}, {40, 0, 0.3}, {0, 14.1, 0.3}, {-135, 0, 2}, {-62, 0, 0.9}, {0, -3.4, 0.2}, {0, 3.5, 0.1}, {0, 6.8, 0.2},
	} {
		stock = append(stock, StockedGel{Gel: g, Count: 1, Nominal: true})
	}
	return tasks, stock
}

func scarceTask(read, target CCTDuv) Task {
	return Task{Lamp: Lamp{Reading: read}, Target: target, Tolerance: Tolerance{10, 0.003, 0.003, 5}}
}

// drawScarce draws such lights and gels.
func drawScarce(seed uint64, lights int) (tasks []Task, stock []StockedGel) {
	r := rand.New(rand.NewPCG(seed, 0))
	target := CCTDuv{Kelvin(3200 + 2400*r.Float64()), Duv(0.004*r.Float64() - 0.001)}
	for range lights {
		tasks = append(tasks, scarceTask(CCTDuv{Kelvin(1e6 / (140 + 220*r.Float64())), Duv(0.016*r.Float64() - 0.008)}, target))
	}
	gels := mustGels(Based5500)
	for range 24 {
		g := gels[r.IntN(len(gels))].Gel
		g.Shift *= Mired(0.9 + 0.2*r.Float64())
		g.CC *= 0.9 + 0.2*r.Float64()
		stock = append(stock, StockedGel{Gel: g, Count: 1, Nominal: true})
	}
	return tasks, stock
}

// plainExchange is the plain way: the options of two lights chosen anew together, until no two
// lights gain; from a random order of lights that each take the best of what is left.
func plainExchange(r *rand.Rand, options [][]Option, stock []StockedGel) cost {
	left := make([]int, len(stock))
	for i, g := range stock {
		left[i] = g.Count
	}
	move := func(o Option, by int) {
		for _, g := range o.Gels {
			left[g] += by
		}
	}
	fits := func(o Option) bool {
		move(o, -1)
		ok := true
		for _, g := range o.Gels {
			ok = ok && left[g] >= 0
		}
		move(o, 1)
		return ok
	}
	chosen := make([]Option, len(options))
	for _, i := range r.Perm(len(options)) {
		for _, o := range options[i] {
			if fits(o) {
				chosen[i] = o
				move(o, -1)
				break
			}
		}
	}
	for again := true; again; {
		again = false
		for a := range options {
			for b := range a {
				move(chosen[a], 1)
				move(chosen[b], 1)
				best := chosen[a].cost().plus(chosen[b].cost())
				for _, x := range options[a] {
					if !fits(x) {
						continue
					}
					move(x, -1)
					for _, y := range options[b] {
						if !fits(y) {
							continue
						}
						if c := x.cost().plus(y.cost()); c.before(best) {
							best, chosen[a], chosen[b], again = c, x, y, true
						}
						break // the first that fits is the best that fits
					}
					move(x, 1)
				}
				move(chosen[a], -1)
				move(chosen[b], -1)
			}
		}
	}
	return costOf(chosen)
}

func costOf(options []Option) (sum cost) {
	for _, o := range options {
		sum = sum.plus(o.cost())
	}
	return sum
}

// However scarce gels are, no plain exchange between two lights, wherever it starts, comes
// to more.
func TestAPlanIsNeverWorseThanPlainExchange(t *testing.T) {
	const starts = 6
	check := func(t *testing.T, seed uint64, tasks []Task, stock []StockedGel) (proven bool) {
		plan, err := bestPlan(tasks, stock)
		if err != nil {
			t.Fatal(err)
		}
		var options [][]Option
		for _, task := range tasks {
			o, err := task.Options(stock)
			if err != nil {
				t.Fatal(err)
			}
			options = append(options, o)
		}
		got, r := costOf(plan.Options), rand.New(rand.NewPCG(seed, 1))
		for range starts {
			if c := plainExchange(r, options, stock); c.before(got) {
				t.Errorf("seed %d, %d lights: got %v (proven %v), plain exchange comes to %v", seed, len(tasks), got, plan.Proven, c)
			}
		}
		return plan.Proven
	}
	tasks, stock := scarceBench()
	if check(t, 0, tasks, stock) {
		t.Error("the lights of the bench: the plan is proven, and so no measure of a search that is cut off")
	}
	for _, c := range []struct{ lights, proven int }{{8, 12}, {12, 7}} {
		proven := 0
		for seed := range uint64(12) {
			tasks, stock := drawScarce(seed, c.lights)
			if check(t, seed, tasks, stock) {
				proven++
			}
		}
		t.Logf("%d lights, seeds 0 to 11: %d proven", c.lights, proven)
		if proven < c.proven {
			t.Errorf("%d lights: %d of 12 plans are proven, want %d or more", c.lights, proven, c.proven)
		}
	}
}
