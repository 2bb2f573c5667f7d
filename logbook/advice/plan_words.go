package advice

import (
	"fmt"
	"slices"
	"strings"
)

// words says how the lights of a set-up fare by a plan: how many are fine, should be after
// it, and what keeps the others off.
func (pl *planner) words(plan RankedPlan) string {
	var fine, old, after, short, none int
	for i, l := range plan.Lights {
		switch {
		case l.Intent == "leave" || !pl.s.IsOn(pl.all[i].view) || l.TurnTowards != "":
		case l.Problem != "" || l.Reaches == nil:
			none++
		case !*l.Reaches:
			short++
		case l.Stays:
			fine++
		case strings.HasPrefix(l.Words, changeNothing):
			old++ // else it would stay
		default:
			after++
		}
	}
	var parts []string
	say := func(n int, one, more string) {
		if n > 0 {
			parts = append(parts, fmt.Sprintf(map[bool]string{true: one, false: more}[n == 1], n))
		}
	}
	say(fine, "%d light is fine", "%d lights are fine")
	say(old, "%d is fine by an old reading: meter it again", "%d are fine by old readings: meter them again")
	switch {
	case after > 0 && plan.ToCheck == 0:
		say(after, "%d should be after this", "%d should be after this")
	default:
		say(after, "%d should be after this: meter it", "%d should be after this: meter them")
	}
	say(plan.ToTurn, "%d to be turned and read again", "%d to be turned and read again")
	say(short, "%d can't be brought inside its limits with what is here", "%d can't be brought inside their limits with what is here")
	say(none, "%d has no plan", "%d have no plan")
	if len(parts) == 0 {
		parts = append(parts, "no light is to match or to hold its colour")
	}
	if !plan.Proven {
		parts = append(parts, "found by exchange, not proven the best")
	}
	return strings.Join(parts, "; ")
}

const changeNothing = "change nothing"

// planWords is a light's part of the plan as a sentence.
func planWords(steps []string, l LightPlan, strong []string) string {
	out := changeNothing
	if len(steps) > 0 {
		out = strings.Join(steps, ", ")
	}
	if l.TurnTowards != "" {
		out += ": what a unit of that dial does is not known"
	} else {
		out += ": expect " + l.Residual.Words
		if !*l.Reaches {
			out += "; nothing that is here brings it inside its limits"
		}
		if l.CheckWithMeter {
			out += "; check with the meter"
		}
	}
	if len(strong) > 0 && (l.Reaches == nil || !*l.Reaches) {
		out += "; left out, because behind it this light has no colour temperature: " + strings.Join(strong, ", ")
	}
	if slices.Contains(l.Caveats, dialUnknown) {
		out += "; " + dialUnknown
	}
	return out
}
