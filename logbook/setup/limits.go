package setup

import (
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
)

const noSource = "common practice, no source"

// startLimits are where tolerances start: common practice, no source. Green and
// magenta are apart because a green skin is noticed first. Mired and steps are not the same
// limit twice: on the black body 15 mired are 6.4 to 7.2 steps from 2300 to 8000 K, so that
// between 3200 and 5000 K, towards cooler, the 7 steps are reached first; above 8000 K the mired.
func startLimits(role string) figure.Limits {
	switch role {
	case "camera":
		return figure.Limits{Role: role, Mired: 8, DuvGreen: 0.002, DuvMagenta: 0.003, Steps: 4, From: noSource}
	case "key", "fill":
		return figure.Limits{Role: role, Mired: 10, DuvGreen: 0.003, DuvMagenta: 0.003, Steps: 5, From: noSource}
	}
	return figure.Limits{Role: role, Mired: 15, DuvGreen: 0.005, DuvMagenta: 0.005, Steps: 7, From: noSource}
}

// LimitsOf returns the limits of a role in a set-up: its own, else the
// production's, else the start values. The role camera also stands for takes.
func LimitsOf(b *logbook.Book, setUp logbook.View, role string) figure.Limits {
	l := startLimits(role)
	if p, ok := lighting.ProductionOf(b); ok {
		overrideLimits(&l, p, "production")
	}
	if setUp.Known() {
		overrideLimits(&l, setUp, "setUp")
	}
	return l
}

func overrideLimits(l *figure.Limits, by logbook.View, from string) {
	for _, part := range [...]struct {
		name string
		to   *float64
	}{{"mired", &l.Mired}, {"duvGreen", &l.DuvGreen}, {"duvMagenta", &l.DuvMagenta}, {"steps", &l.Steps}} {
		if f, ok := by.Number("limits/" + l.Role + "/" + part.name); ok {
			*part.to, l.From = f, from
		}
	}
}
