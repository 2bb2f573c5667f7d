package colorimetry

import (
	"math"
	"slices"
	"sort"
)

// priced is what options cost once each gel has a price (a Lagrangian relaxation): a light
// then chooses without regard to the others, so that the sum of the cheapest options, less
// what the whole inventory is worth, is a bound below any plan. Scarce gels get the high
// prices. Of a cost it counts the lights that miss and by how much, as one number.
type priced struct {
	miss  float64     // what a light that misses counts: more than all lights can be off
	price []float64   // of each gel, 0 or above
	paid  [][]float64 // of each light and option, the gels paid
	cheap [][]int     // of each light, its options, the cheapest first
}

// Prices are found in this many rounds, and rounded to a step: differences in the last
// bits between processors must not grow.
const (
	priceRounds = 200
	priceStep   = 1.0 / 1024
	// worthless is how far above a plan a bound must be before it counts.
	worthless = 1e-6
)

func (p *priced) number(c cost) float64 { return c[0]*p.miss + c[1] }

func (p *priced) exceeds(bound float64, c cost) bool { return bound > p.number(c)+worthless }

// pay is what an option costs with its gels.
func (p *priced) pay(c cost, s stack) float64 {
	sum := p.number(c)
	for _, g := range s {
		if g != noGel {
			sum += p.price[g]
		}
	}
	return sum
}

// least is what lights cost at the least from what is left, their gels paid, and what was
// chosen so far, less what is left.
func (p *priced) least(j *joint, lights []int, so cost) float64 {
	sum := p.number(so)
	for g, n := range j.left {
		sum -= p.price[g] * float64(n)
	}
	for _, l := range lights {
		for looks, i := range p.cheap[l] {
			if j.fits(j.stacks[l][i]) {
				j.looks += looks + 1
				sum += p.paid[l][i]
				break
			}
		}
	}
	return sum
}

// price finds prices that bring the bound near the cost of a good plan: round by round a
// gel that more lights want than there are gets dearer, and one that is left over cheaper.
func (j *joint) price(good cost) *priced {
	p := &priced{miss: 1, price: make([]float64, len(j.left))}
	for _, costs := range j.costs {
		most := 0.0
		for _, c := range costs {
			most = max(most, c[1])
		}
		p.miss += most
	}
	highest, best, pace := math.Inf(-1), slices.Clone(p.price), 1.0
	for round := range priceRounds {
		bound, wanted := j.demand(p)
		if bound > highest {
			highest = bound
			copy(best, p.price)
		} else if round%10 == 9 {
			pace *= 0.8
		}
		square := 0.0
		for g := range wanted {
			if wanted[g] < 0 && p.price[g] == 0 {
				wanted[g] = 0
			}
			square += wanted[g] * wanted[g]
		}
		if square == 0 {
			break
		}
		for g := range wanted {
			dearer := pace * (p.number(good) - bound) / square * wanted[g]
			p.price[g] = math.Round(max(p.price[g]+dearer, 0)/priceStep) * priceStep
		}
	}
	p.price = best
	for l, costs := range j.costs {
		paid, cheap := make([]float64, len(costs)), make([]int, len(costs))
		for i, c := range costs {
			paid[i], cheap[i] = p.pay(c, j.stacks[l][i]), i
		}
		sort.SliceStable(cheap, func(i, j int) bool { return paid[cheap[i]] < paid[cheap[j]] })
		p.paid, p.cheap = append(p.paid, paid), append(p.cheap, cheap)
	}
	return p
}

// demand is the bound at some prices, and by how much more of each gel is wanted than there is.
func (j *joint) demand(p *priced) (bound float64, more []float64) {
	more = make([]float64, len(j.left))
	for g, n := range j.left {
		more[g] = -float64(n)
		bound -= p.price[g] * float64(n)
	}
	for l, costs := range j.costs {
		least, wants := math.Inf(1), bare
		for i, c := range costs {
			if pay := p.pay(c, j.stacks[l][i]); pay < least {
				least, wants = pay, j.stacks[l][i]
			}
		}
		j.looks += len(costs)
		bound += least
		for _, g := range wants {
			if g != noGel {
				more[g]++
			}
		}
	}
	return bound, more
}
