package colorimetry

import (
	"fmt"
	"slices"
)

// SetupPlan is a rig for every task of a set-up.
type SetupPlan struct {
	Options []Option // one for each task
	Reached int      // how many reach their tolerance by calculation
	Loss    Stops    // sum over the lights
	// Proven says that no other plan is better. False where the inventory is so
	// short that the search was cut off; the plan is then good, not best.
	Proven bool
}

// maxNodes bounds the search for a joint plan, to some 100 ms.
const maxNodes = 1000000

// maxPlans bounds what is ranked.
const maxPlans = 10

// Plans rigs all lights of a set-up from one inventory: as many as possible reach
// their tolerance, the others come as near as possible, then the least light is
// lost, then the fewest gels are used. It returns the best plans, the best first, as
// many as there are up to most; of several that are equally good in everything it
// returns one. Domain: 1 to 100 tasks, each in the domain of Options, and most from 1 to 10.
func Plans(tasks []Task, stock []StockedGel, most int) ([]SetupPlan, error) {
	if len(tasks) < 1 || len(tasks) > maxTasks {
		return nil, domainError("count of lights", float64(len(tasks)), "1 to 100")
	}
	if most < 1 || most > maxPlans {
		return nil, domainError("count of plans", float64(most), "1 to 10")
	}
	j := joint{left: make([]int, len(stock)), chosen: make([]int, len(tasks)), most: most}
	for i, g := range stock {
		j.left[i] = g.Count
	}
	nodes := ccNodesKept{}
	for i, t := range tasks {
		options, err := t.options(stock, nodes)
		if err != nil {
			return nil, fmt.Errorf("light %d: %w", i+1, err)
		}
		j.options = append(j.options, options)
	}
	j.prepare()
	j.search(0, cost{})
	return j.plans(), nil
}

// joint is a search through the options of all lights, best first, that gives up
// a branch as soon as the best that is left, gels or no gels, cannot beat the
// worst of the plans that are kept.
type joint struct {
	options [][]Option
	rest    []cost // the least cost of the lights from i on, stock aside
	left    []int
	chosen  []int
	most    int
	kept    []keptPlan // the best first
	nodes   int
}

type keptPlan struct {
	chosen []int
	cost   cost
}

func (j *joint) prepare() {
	j.rest = make([]cost, len(j.options)+1)
	for i := len(j.options) - 1; i >= 0; i-- {
		j.rest[i] = j.options[i][0].cost().plus(j.rest[i+1])
	}
}

// wants reports whether a plan of this cost, or a branch that costs this at the
// least, is worth keeping.
func (j *joint) wants(c cost) bool {
	return len(j.kept) < j.most || c.before(j.kept[len(j.kept)-1].cost)
}

func (j *joint) keep(c cost) {
	at := len(j.kept)
	for i, k := range j.kept {
		if c.before(k.cost) {
			at = i
			break
		}
		if !k.cost.before(c) {
			return
		}
	}
	j.kept = slices.Insert(j.kept, at, keptPlan{slices.Clone(j.chosen), c})
	j.kept = j.kept[:min(len(j.kept), j.most)]
}

func (j *joint) search(light int, so cost) {
	if light == len(j.options) {
		j.keep(so)
		return
	}
	for i, o := range j.options[light] {
		now := so.plus(o.cost())
		if !j.wants(now.plus(j.rest[light+1])) {
			return
		}
		j.nodes++
		if len(j.kept) > 0 && j.nodes > maxNodes {
			return
		}
		if !j.take(o.Gels) {
			continue
		}
		j.chosen[light] = i
		j.search(light+1, now)
		j.giveBack(o.Gels)
	}
}

func (j *joint) take(gels []int) bool {
	for n, g := range gels {
		if j.left[g] == 0 {
			j.giveBack(gels[:n])
			return false
		}
		j.left[g]--
	}
	return true
}

func (j *joint) giveBack(gels []int) {
	for _, g := range gels {
		j.left[g]++
	}
}

func (j *joint) plans() (all []SetupPlan) {
	for _, k := range j.kept {
		p := SetupPlan{Proven: j.nodes <= maxNodes}
		for light, i := range k.chosen {
			o := j.options[light][i]
			p.Options = append(p.Options, o)
			p.Loss += o.Loss
			if o.Reaches {
				p.Reached++
			}
		}
		all = append(all, p)
	}
	return all
}
