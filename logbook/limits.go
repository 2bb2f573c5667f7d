package logbook

const noSource = "common practice, no source"

// startLimits are where tolerances start: common practice, no source. Green and
// magenta are apart because a green skin is noticed first.
func startLimits(role string) Limits {
	switch role {
	case "camera":
		return Limits{role, 8, 0.002, 0.003, 4, noSource}
	case "key", "fill":
		return Limits{role, 10, 0.003, 0.003, 5, noSource}
	}
	return Limits{role, 15, 0.005, 0.005, 7, noSource}
}

// LimitsOf returns the limits of a role in a set-up: its own, else the
// production's, else the start values. The role camera also stands for takes.
func LimitsOf(b *Book, setUp View, role string) Limits {
	l := startLimits(role)
	if p, ok := ProductionOf(b); ok {
		overrideLimits(&l, p, "production")
	}
	if setUp.Known() {
		overrideLimits(&l, setUp, "setUp")
	}
	return l
}

func overrideLimits(l *Limits, by View, from string) {
	for _, part := range [...]struct {
		name string
		to   *float64
	}{{"mired", &l.Mired}, {"duvGreen", &l.DuvGreen}, {"duvMagenta", &l.DuvMagenta}, {"steps", &l.Steps}} {
		if f, ok := by.Number("limits/" + l.Role + "/" + part.name); ok {
			*part.to, l.From = f, from
		}
	}
}

// RoleLimits are the limits of a light's role; a light without one counts as
// background.
func (s *SetUp) RoleLimits(light View) Limits {
	role := light.Text("role")
	if role == "" {
		role = "background"
	}
	l, ok := s.roles[role]
	if !ok {
		l = LimitsOf(s.book, s.setUp, role)
		s.roles[role] = l
	}
	return l
}
