package colorimetry

import (
	"fmt"
	"slices"
	"sort"
)

// SetupPlan is a rig for every task of a set-up.
type SetupPlan struct {
	Options []Option // one for each task
	Reached int      // how many reach their tolerance by calculation
	Loss    Stops    // sum over the lights
	// LeftOut are, for each task, gels behind which its light has no CCT on any position of
	// its dials: too strong for it. They are the same in each plan.
	LeftOut [][]int
	// Proven says that no other plan comes before it, but those that are listed before it.
	// It is false where the search was cut off. Even then, but in very large set-ups, no two
	// lights of the first plan gain by choosing anew from what they have and what is left.
	Proven bool
}

// maxPlans bounds what is ranked.
const maxPlans = 10

// Plans rigs all lights of a set-up from one inventory: as many as possible reach
// their tolerance, the others come as near as possible, then the least light is
// lost, then the fewest gels are used. It returns the best plans, the best first, as
// many as there are up to most; of several that are equally good in everything it
// returns one. Gels can be so scarce that not every plan can be tried or ruled out: then the
// plans are those that were found, the first by exchange between lights, and not Proven.
// Domain: 1 to 100 tasks, each in the domain of Options, and most from 1 to 10.
func Plans(tasks []Task, stock []StockedGel, most int) ([]SetupPlan, error) {
	if len(tasks) < 1 || len(tasks) > maxTasks {
		return nil, domainError("count of lights", float64(len(tasks)), "1 to 100")
	}
	if most < 1 || most > maxPlans {
		return nil, domainError("count of plans", float64(most), "1 to 10")
	}
	j := joint{left: make([]int, len(stock)), chosen: make([]int, len(tasks))}
	for i, g := range stock {
		j.left[i] = g.Count
	}
	nodes := ccNodesKept{}
	for i, t := range tasks {
		options, leftOut, err := t.options(stock, nodes)
		if err != nil {
			return nil, fmt.Errorf("light %d: %w", i+1, err)
		}
		j.add(options)
		j.leftOut = append(j.leftOut, leftOut)
	}
	return j.plans(most), nil
}

// joint is the options of all lights, best first, which of them are chosen, and what is
// left of the inventory.
type joint struct {
	options [][]Option
	leftOut [][]int
	costs   [][]cost
	stacks  [][]stack
	left    []int
	chosen  []int
	looks   int // at options, so far
}

// stack is the gels of an option by their index, or noGel. It stands apart from the rest
// because a search asks for hardly anything else.
type stack [2]int

const noGel = -1

var bare = stack{noGel, noGel}

func (j *joint) add(options []Option) {
	costs, stacks := make([]cost, len(options)), make([]stack, len(options))
	for i, o := range options {
		costs[i], stacks[i] = o.cost(), bare
		copy(stacks[i][:], o.Gels)
	}
	j.options, j.costs, j.stacks = append(j.options, options), append(j.costs, costs), append(j.stacks, stacks)
}

func (j *joint) fits(s stack) bool {
	switch {
	case s[0] == noGel:
		return true
	case s[1] == noGel:
		return j.left[s[0]] > 0
	case s[0] == s[1]:
		return j.left[s[0]] > 1
	}
	return j.left[s[0]] > 0 && j.left[s[1]] > 0
}

// next is the best option of a light, from one on, for which gels are left; ok is false
// where there is none.
func (j *joint) next(light, from int) (option int, ok bool) {
	stacks := j.stacks[light]
	for i := from; i < len(stacks); i++ {
		if j.fits(stacks[i]) {
			j.looks += i - from + 1
			return i, true
		}
	}
	j.looks += len(stacks) - from
	return 0, false
}

func (j *joint) take(light, option int) {
	j.chosen[light] = option
	j.move(light, -1)
}

func (j *joint) takeAll(k keptPlan) {
	for l, i := range k.chosen {
		j.take(l, i)
	}
}

func (j *joint) giveBack(lights ...int) {
	for _, l := range lights {
		j.move(l, 1)
	}
}

func (j *joint) move(light, by int) {
	for _, g := range j.stacks[light][j.chosen[light]] {
		if g != noGel {
			j.left[g] += by
		}
	}
}

// order is the lights, those first that would lose most if they got no gel.
func (j *joint) order() []int {
	all, loss := make([]int, len(j.options)), make([]cost, len(j.options))
	for light, costs := range j.costs {
		without := max(slices.Index(j.stacks[light], bare), 0)
		all[light], loss[light] = light, costs[without].minus(costs[0])
	}
	sort.SliceStable(all, func(i, j int) bool { return loss[all[j]].compare(loss[all[i]]) < 0 })
	return all
}

// plans searches for the best plan, beginning with those that lights find by exchange, and
// then for the next ones.
func (j *joint) plans(most int) []SetupPlan {
	order := j.order()
	first := branching{joint: j, most: 1, limit: maxLooks}
	j.exchangeFromManyStarts(order, first.keep)
	if len(first.kept) > 0 {
		first.priced = j.price(first.kept[0].cost)
	}
	first.search(order, cost{})
	if len(first.kept) == 0 {
		return nil
	}
	if first.cutOff {
		j.takeAll(first.kept[0])
		first.keep(j.exchange(order))
		j.giveBack(order...)
	}
	all := branching{joint: j, most: most, limit: j.looks + maxLooksForMore, kept: first.kept, priced: first.priced}
	if most > 1 {
		all.search(order, cost{})
	}
	var plans []SetupPlan
	for i, k := range all.kept {
		plans = append(plans, j.plan(k.chosen, !(first.cutOff || i > 0 && all.cutOff)))
	}
	return plans
}

func (j *joint) plan(chosen []int, proven bool) SetupPlan {
	p := SetupPlan{Proven: proven, LeftOut: j.leftOut}
	for light, i := range chosen {
		o := j.options[light][i]
		p.Options = append(p.Options, o)
		p.Loss += o.Loss
		if o.Reaches {
			p.Reached++
		}
	}
	return p
}
