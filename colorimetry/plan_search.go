package colorimetry

import (
	"math"
	"slices"
)

// How many options may be looked at until the best plan is proven, and for the next ones
// after it. Together they take some 100 ms on one core.
const (
	maxLooks        = 6000000
	maxLooksForMore = 2000000
)

// branching is a search through the options of some lights, best first. It gives up a
// branch as soon as the lights that are left cannot bring it before the worst of the plans
// that are kept: neither if each took the best for which gels are left, nor if all had to
// pay for their gels.
type branching struct {
	*joint
	priced *priced // nil where that does not pay
	most   int
	kept   []keptPlan // the best first
	limit  int        // of looks; until a first plan is found there is none
	cutOff bool
}

type keptPlan struct {
	chosen []int
	cost   cost
}

// wants reports whether a plan of this cost, or a branch that costs this at the
// least, is worth keeping.
func (b *branching) wants(c cost) bool {
	return len(b.kept) < b.most || c.before(b.kept[len(b.kept)-1].cost)
}

func (b *branching) keep(c cost) {
	at := len(b.kept)
	for i, k := range b.kept {
		if c.before(k.cost) {
			at = i
			break
		}
		if !k.cost.before(c) {
			return
		}
	}
	b.kept = slices.Insert(b.kept, at, keptPlan{slices.Clone(b.chosen), c})
	b.kept = b.kept[:min(len(b.kept), b.most)]
}

func (b *branching) search(lights []int, so cost) {
	if len(lights) == 0 {
		b.keep(so)
		return
	}
	light, rest := lights[0], lights[1:]
	least := so
	for _, l := range rest {
		i, ok := b.next(l, 0)
		if !ok {
			return
		}
		least = least.plus(b.costs[l][i])
	}
	leastPaid := math.Inf(-1)
	if b.priced != nil {
		leastPaid = b.priced.least(b.joint, rest, so)
	}
	for i, ok := b.next(light, 0); ok; i, ok = b.next(light, i+1) {
		c := b.costs[light][i]
		if !b.wants(least.plus(c)) {
			return
		}
		if b.cutOff = b.looks > b.limit && len(b.kept) > 0; b.cutOff {
			return
		}
		if b.priced != nil && len(b.kept) == b.most && b.priced.exceeds(leastPaid+b.priced.paid[light][i], b.kept[b.most-1].cost) {
			continue
		}
		b.take(light, i)
		b.search(rest, so.plus(c))
		b.giveBack(light)
	}
}
