package colorimetry

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"sort"
)

// StockedGel is a gel of the inventory.
type StockedGel struct {
	Gel   Gel
	Count int
	// Nominal says that the values are printed ones, not measured on the lamp's
	// family.
	Nominal bool
	// Sold is what the gel is for where that is known; the zero value: as its values say.
	Sold Pull
}

// opposes reports whether two gels must not be on one light together.
func (g StockedGel) opposes(other StockedGel) bool { return g.pull().Opposes(other.pull()) }

func (g StockedGel) pull() Pull {
	if g.Sold != (Pull{}) {
		return g.Sold
	}
	return g.Gel.Pull()
}

// Tolerance is how far a light may lie from its target: mired either way, Duv
// apart for green (above) and magenta (below), and steps in the picture. All are
// 0 or above.
type Tolerance struct {
	Mired          Mired
	Green, Magenta Duv
	Steps          float64
}

func (t Tolerance) holds(c Cast, steps float64) bool {
	return math.Abs(float64(c.Mired)) <= float64(t.Mired) && c.Duv <= t.Green && c.Duv >= -t.Magenta && steps <= t.Steps
}

// Task is a lamp that is to be brought to a target: the set-up's white, or the
// light's own first reading.
type Task struct {
	Lamp      Lamp
	Target    CCTDuv
	Tolerance Tolerance
	// AsLight counts the steps in u'v' of the lights themselves, not in a picture: a
	// light that holds its own colour has no white to be seen in.
	AsLight bool
}

// Option is one way to rig a lamp.
type Option struct {
	Dial Kelvin
	Tint float64
	// Gels are indices into the inventory, at most two that do not oppose each other, a
	// gel doubled twice.
	Gels []int
	// Light is what is to be expected at the subject.
	Light CCTDuv
	// Residual and Steps are its cast in the picture of a camera on the target; for a
	// task AsLight, Steps is the distance of the lights.
	Residual Cast
	Steps    float64
	Loss     Stops
	// Reaches says that the residual is inside the tolerance by calculation.
	Reaches bool
	// Nominal says that a gel's values are printed ones: the option wants a meter
	// before anybody calls it within tolerance.
	Nominal bool
}

// maxStock and maxTasks bound a plan.
const (
	maxStock = 200
	maxTasks = 100
)

// Options returns for each stack of at most two gels that do not oppose each other the best position
// of the lamp's dials, the best stack first: those that reach the tolerance come
// first, by loss, count of gels and steps, then the others, by steps, loss and
// count of gels. Each is as good as trying every position. Domain: a checked
// lamp and target, a tolerance that is not negative, an inventory of at most 200
// with counts of 0 or above; and one stack at least whose light has a CCT; else
// ErrDomain.
func (t Task) Options(stock []StockedGel) ([]Option, error) {
	options, _, err := t.options(stock, ccNodesKept{})
	return options, err
}

// options also returns the gels behind which alone the lamp's light has no CCT.
func (t Task) options(stock []StockedGel, nodes ccNodesKept) (options []Option, leftOut []int, err error) {
	stock = t.Lamp.onLamp(stock)
	if err := t.check(stock); err != nil {
		return nil, nil, err
	}
	r, err := newRigging(t, nodes)
	if err != nil {
		return nil, nil, err
	}
	add := func(gels ...int) {
		var gel Gel
		nominal := false
		for _, i := range gels {
			gel = Stack(gel, stock[i].Gel)
			nominal = nominal || stock[i].Nominal
		}
		if o, ok := r.best(gel); ok {
			o.Gels, o.Loss, o.Nominal = gels, gel.Loss, nominal
			options = append(options, o)
		} else if len(gels) == 1 {
			leftOut = append(leftOut, gels[0])
		}
	}
	add()
	for i, a := range stock {
		if a.Count < 1 {
			continue
		}
		add(i)
		for j := i; j < len(stock); j++ {
			if (stock[j].Count > 1 || j > i && stock[j].Count == 1) && !a.opposes(stock[j]) {
				add(i, j)
			}
		}
	}
	if len(options) == 0 {
		return nil, nil, domainError("count of rigs whose light has a CCT", 0, "1 or more: this lamp stays coloured with every gel")
	}
	sort.SliceStable(options, func(i, j int) bool { return options[i].cost().compare(options[j].cost()) < 0 })
	return options, leftOut, nil
}

// onLamp is the inventory as it is for one lamp.
func (l Lamp) onLamp(stock []StockedGel) []StockedGel {
	if len(l.Own) == 0 {
		return stock
	}
	all := slices.Clone(stock)
	for i, g := range l.Own {
		if i >= 0 && i < len(all) {
			g.Count = min(g.Count, all[i].Count)
			all[i] = g
		}
	}
	return all
}

func (t Task) check(stock []StockedGel) error {
	if err := t.Lamp.Check(); err != nil {
		return fmt.Errorf("the lamp: %w", err)
	}
	if err := t.Target.Check(); err != nil {
		return fmt.Errorf("the target: %w", err)
	}
	limits := [...]float64{float64(t.Tolerance.Mired), float64(t.Tolerance.Green), float64(t.Tolerance.Magenta), t.Tolerance.Steps}
	for i, v := range limits {
		if !(v >= 0) {
			return domainError([...]string{"mired", "green Duv", "magenta Duv", "steps"}[i]+" of the tolerance", v, "0 or above")
		}
	}
	if len(stock) > maxStock {
		return domainError("count of gels in the inventory", float64(len(stock)), "at most 200")
	}
	for i, g := range stock {
		name := fmt.Sprintf("gel %d of the inventory: ", i+1)
		if g.Count < 0 {
			return domainError(name+"count", float64(g.Count), "0 or above")
		}
		if !(math.Abs(float64(g.Gel.Shift)) <= 400) {
			return domainError(name+"shift in mired", float64(g.Gel.Shift), "-400 to 400")
		}
		if !(math.Abs(g.Gel.CC) <= maxCC/2) {
			return domainError(name+"CC", g.Gel.CC, "-60 to 60")
		}
		if !(g.Gel.Loss >= 0 && g.Gel.Loss <= 20) {
			return domainError(name+"loss in stops", float64(g.Gel.Loss), "0 to 20")
		}
	}
	return nil
}

// cost orders options, and adds up over the lights of a set-up: lights that miss
// their tolerance, by how much those do, light lost, gels used, and last how far
// all are off.
type cost [5]float64

func (o Option) cost() cost {
	c := cost{0, 0, float64(o.Loss), float64(len(o.Gels)), o.Steps}
	if !o.Reaches {
		c[0], c[1] = 1, o.Steps
	}
	return c
}

func (c cost) plus(d cost) cost {
	for i := range c {
		c[i] += d[i]
	}
	return c
}

func (c cost) minus(d cost) cost {
	for i := range c {
		c[i] -= d[i]
	}
	return c
}

// compare compares item by item. Sums in another order differ in their last bits,
// which must not decide.
func (c cost) compare(d cost) int {
	for i := range c {
		if math.Abs(c[i]-d[i]) > 1e-9 {
			return cmp.Compare(c[i], d[i])
		}
	}
	return 0
}

func (c cost) before(d cost) bool { return c.compare(d) < 0 }
