package setup

import "strings"

// steadyWords begin the headline of a light that does not move.
const steadyWords = "steady "

// driftHeadline is what matters most of how lights go: which one leaves its limits first,
// else which one moves, else that they are steady, as far as a drift can be told.
func driftHeadline(lights []LightDrift) string {
	var leaving, moving, steady *LightDrift
	for i := range lights {
		l := &lights[i]
		switch {
		case l.Trend == nil:
		case l.Trend.LeavesAt != nil:
			if leaving == nil || l.Trend.LeavesAt.Before(*leaving.Trend.LeavesAt) {
				leaving = l
			}
		case strings.HasPrefix(l.Trend.Headline, steadyWords):
			if steady == nil {
				steady = l
			}
		case moving == nil:
			moving = l
		}
	}
	for _, l := range []*LightDrift{leaving, moving, steady} {
		if l != nil {
			return l.Name + ": " + l.Trend.Headline
		}
	}
	return "no drift can be told"
}
