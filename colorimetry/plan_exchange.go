package colorimetry

import "slices"

// How many options may be looked at while lights exchange: from all starts, and from one
// that is taken on.
const (
	maxStartLooks    = 4000000
	maxExchangeLooks = 2000000
)

// From how many starts lights exchange, and how many of the plans found so are taken on.
const (
	exchangeStarts = 120
	takenOn        = 4
)

// exchangeFromManyStarts hands on what lights find by exchange: first those choose first
// that would lose most, then in one mixed order after another. The best of what pairs find
// so is taken on.
func (j *joint) exchangeFromManyStarts(order []int, found func(cost)) {
	best := branching{joint: j, most: takenOn}
	limit := j.looks + maxStartLooks
	lights, mix := slices.Clone(order), mixer(1)
	for range exchangeStarts {
		if j.inTurn(lights) {
			for j.pairs(order, limit) {
			}
			best.keep(j.sum(order))
			j.giveBack(order...)
		}
		if j.looks >= limit {
			break
		}
		mix.shuffle(lights)
	}
	for _, k := range best.kept {
		j.takeAll(k)
		found(j.exchange(order))
		j.giveBack(order...)
	}
}

// mixer shuffles without chance, so that every device shuffles alike (Park and Miller's
// generator).
type mixer int64

func (m *mixer) shuffle(all []int) {
	for i := len(all) - 1; i > 0; i-- {
		*m = *m * 48271 % (1<<31 - 1)
		k := int(*m % mixer(i+1))
		all[i], all[k] = all[k], all[i]
	}
}

func (j *joint) sum(lights []int) (so cost) {
	for _, l := range lights {
		so = so.plus(j.costs[l][j.chosen[l]])
	}
	return so
}

// inTurn gives each light in turn the best for which gels are left; ok is false where one
// finds nothing.
func (j *joint) inTurn(lights []int) (ok bool) {
	for n, l := range lights {
		i, ok := j.next(l, 0)
		if !ok {
			j.giveBack(lights[:n]...)
			return false
		}
		j.take(l, i)
	}
	return true
}

// exchange lets two and then three lights choose anew from what they have and what is
// left, until no two and no three gain by it. It returns what the plan costs then.
func (j *joint) exchange(lights []int) cost {
	limit := j.looks + maxExchangeLooks
	for j.pairs(lights, limit) || j.triples(lights, limit) {
	}
	return j.sum(lights)
}

func (j *joint) pairs(lights []int, limit int) (gained bool) {
	for b := range lights {
		for a := range b {
			if j.looks < limit && j.anew(lights[a], lights[b]) {
				gained = true
			}
		}
	}
	return gained
}

// triples stops at the first three that gain: pairs are quicker.
func (j *joint) triples(lights []int, limit int) (gained bool) {
	for c := range lights {
		for b := range c {
			for a := range b {
				if j.looks < limit && j.anew(lights[a], lights[b], lights[c]) {
					return true
				}
			}
		}
	}
	return false
}

// anew chooses some lights anew, the others as they are.
func (j *joint) anew(lights ...int) (gained bool) {
	was := j.sum(lights)
	b := branching{joint: j, most: 1, limit: j.looks + maxExchangeLooks}
	b.keep(was)
	j.giveBack(lights...)
	b.search(lights, cost{})
	for _, l := range lights {
		j.take(l, b.kept[0].chosen[l])
	}
	return b.kept[0].cost.before(was)
}
