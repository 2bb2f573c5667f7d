package colour

import (
	"fmt"
	"math"
	"strings"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
)

// stepsDecimals are the finest that are shown of picture steps.
const stepsDecimals = 1

// startRoles are the roles whose start limits differ, by a role of each.
var startRoles = []struct{ role, words string }{
	{"camera", "cameras and takes"},
	{"key", "key and fill"},
	{"background", "other lights"},
}

func askCast(a asked) (answer, error) {
	in, err := readLight(a.words[0])
	if err != nil {
		return answer{}, err
	}
	white, err := readLight(a.words[1])
	if err != nil {
		return answer{}, err
	}
	e, err := carried(append(in, white...), castOf)
	if err != nil {
		return answer{}, err
	}
	text := fmt.Sprintf("%s mired, Duv %s, %s picture steps: %s", e[0].signed(miredDecimals), e[1].signed(duvDecimals),
		e[2].unsigned(stepsDecimals), look(e[0].rounded(miredDecimals), e[1].rounded(duvDecimals)))
	lines := []string{text, "Start limits (common practice, no source):"}
	var limits []map[string]any
	book := logbook.NewBook(logbook.ID{}, kinds.Rules) // an empty one has the start limits
	for _, r := range startRoles {
		l := setup.LimitsOf(book, logbook.View{}, r.role)
		within := withinLimits(e, l)
		lines = append(lines, fmt.Sprintf("    %-19s%s (%v mired, Duv %+.4f to %+.4f, %v steps)",
			r.words+":", verdict(within), l.Mired, -l.DuvMagenta, l.DuvGreen, l.Steps))
		limits = append(limits, map[string]any{"of": r.words, "mired": l.Mired, "duvGreen": l.DuvGreen, "duvMagenta": l.DuvMagenta,
			"pictureSteps": l.Steps, "from": l.From, "within": within})
	}
	return answer{strings.Join(lines, "\n"), map[string]any{
		"castMired": e[0].value, "castDuv": e[1].value, "pictureSteps": e[2].value, "startLimits": limits,
	}}, nil
}

// castOf computes mired, Duv and picture steps of a light in a white.
func castOf(v []float64) ([]float64, error) {
	light, err := checkedLight(v)
	if err != nil {
		return nil, fmt.Errorf("LIGHT: %w", err)
	}
	white, err := checkedLight(v[2:])
	if err != nil {
		return nil, fmt.Errorf("WHITE: %w", err)
	}
	lightXY, err := light.XY()
	if err != nil {
		return nil, fmt.Errorf("LIGHT: %w", err)
	}
	whiteXY, err := white.XY()
	if err != nil {
		return nil, fmt.Errorf("WHITE: %w", err)
	}
	picture, err := colorimetry.Picture(lightXY, whiteXY, colorimetry.CAT16)
	if err != nil {
		return nil, err
	}
	c := colorimetry.CastOf(light, white)
	return []float64{float64(c.Mired), float64(c.Duv), colorimetry.StepsFromNeutral(picture)}, nil
}

// withinLimits judges what is shown. It is nil where the typed digits leave more
// open than a limit allows, so that nobody can say.
func withinLimits(e []estimate, l figure.Limits) *bool {
	side := l.DuvGreen
	if e[1].value < 0 {
		side = l.DuvMagenta
	}
	within, sure := true, true
	for i, limit := range [...]float64{l.Mired, side, l.Steps} {
		least := math.Abs(e[i].rounded([...]int{miredDecimals, duvDecimals, stepsDecimals}[i]))
		if e[i].spread > limit {
			sure = false
			least -= e[i].spread
		}
		within = within && least <= limit
	}
	if within && !sure {
		return nil
	}
	return &within
}

func verdict(within *bool) string {
	switch {
	case within == nil:
		return "the typed digits are too few to tell"
	case *within:
		return "within"
	}
	return "outside"
}
