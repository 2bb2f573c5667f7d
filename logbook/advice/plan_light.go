package advice

import (
	"fmt"
	"slices"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
)

// light prepares a light: a task, or a reason why there is none.
func (pl *planner) light(light logbook.View) *plannedLight {
	s := pl.s
	l := &plannedLight{view: light, out: LightPlan{Light: light.ID, Name: light.Text("name"), Role: light.Text("role"),
		Intent: lighting.Intent(light), Gels: []logbook.ID{}, GelUses: []GelUse{}, Limits: s.RoleLimits(light), Caution: s.CautionOf(light)}}
	l.m = s.LastReading(light)
	problem := func(words string) *plannedLight {
		l.out.Problem, l.out.Words = words, "no plan: "+words
		pl.keepGels(l)
		return l
	}
	switch {
	case !s.IsOn(light):
		return problem("it is not lit")
	case l.m == nil:
		return problem(s.LightHere(light).Problem)
	}
	l.out.Reading, l.out.Read = l.m.Reading, l.m.Color
	stale, _ := s.StaleBecause(light, l.m, s.Moment())
	l.out.Caveats = append(l.out.Caveats, stale...)
	if l.out.Intent == "leave" {
		l.out.Words, l.out.Stays = "leave it as it is", true
		pl.keepGels(l)
		return l
	}
	if words := pl.aim(l); words != "" {
		return problem(words)
	}
	off := l.off(l.m.Color.XY)
	if _, beyond := l.out.Limits.Exceeded(off); !beyond && len(stale) == 0 {
		pl.stays(l, off)
		return l
	}
	if err := pl.rig(l); err != nil {
		return problem(err.Error())
	}
	return l
}

// off is how far a colour lies from the light's target.
func (l *plannedLight) off(xy colorimetry.XY) figure.Difference {
	if l.out.Intent == "holdOwnColor" {
		return figure.ColorDifference(xy, l.target)
	}
	return figure.CastDifference(xy, l.target)
}

// aim finds what the light is brought to.
func (pl *planner) aim(l *plannedLight) (problem string) {
	if l.out.Intent == "holdOwnColor" {
		target, _, _, err := pl.s.OwnColor(l.view)
		if err != nil {
			return err.Error()
		}
		l.target = target
	} else if pl.p.Reference == nil {
		return "what it is to match is not known: " + pl.p.Problem
	} else {
		l.target = pl.p.Reference.XY
	}
	l.out.Target = figure.ChromaticityOf(l.target)
	return ""
}

// stays keeps a light that is inside its limits, with the gels that are on it.
func (pl *planner) stays(l *plannedLight, off figure.Difference) {
	yes := true
	l.out.Stays, l.out.Reaches, l.out.Expected, l.out.Residual = true, &yes, l.m.Color, &off
	l.out.Words = "leave it as it is: " + off.Words
	pl.keepGels(l)
}

// keepGels leaves a light the gels that are on it, and takes them off the stock.
func (pl *planner) keepGels(l *plannedLight) {
	on := l.view.Value("rigged/gels")
	if l.m != nil {
		on = l.m.Snapshot(l.view, "gels")
	}
	for item := range on.Items() {
		id, ok := item.ID()
		if !ok {
			continue
		}
		l.out.Gels = append(l.out.Gels, pl.s.Book().Resolve(id))
		if g := pl.gel(id); g != nil {
			g.Stays++
			use := pl.use(g, l.view)
			l.out.GelUses = append(l.out.GelUses, use)
			l.out.LossStops = figure.RoundTo(l.out.LossStops+use.LossStops, figure.StopsDecimals)
		}
	}
}

// write puts the option of a light into the words of the log.
func (pl *planner) write(l *plannedLight, used map[*lighting.GelInStock]int) LightPlan {
	o, out := l.option, l.out
	out.Caveats, out.Gels, out.GelUses = slices.Clone(out.Caveats), []logbook.ID{}, []GelUse{}
	light, way, err := l.unturned(o)
	var xy colorimetry.XY
	if err == nil {
		xy, err = light.XY()
	}
	if err != nil {
		out.Problem = err.Error()
		return out
	}
	out.TurnTowards = way
	if out.TurnTowards == "" {
		residual := l.off(xy)
		_, beyond := out.Limits.Exceeded(residual)
		reaches := !beyond
		out.Expected, out.Residual, out.Reaches = figure.ChromaticityOf(xy), &residual, &reaches
	}
	words := []string{}
	if l.lamp.At != 0 {
		k := float64(o.Dial)
		out.DialKelvin = &k
		if at, known := pl.standsAt(l, "dialKelvin").Float(); !known || k != at {
			words = append(words, fmt.Sprintf("dial %g K", k))
		}
	}
	if l.turn == nil && l.lamp.Tint != (colorimetry.TintDial{}) {
		tint := o.Tint
		out.DialGreenMagenta = &tint
		if at, _ := pl.standsAt(l, "dialGreenMagenta").Float(); tint != at {
			words = append(words, fmt.Sprintf("green–magenta %+g", tint))
		}
	}
	out.LossStops = figure.RoundTo(float64(o.Loss), figure.StopsDecimals)
	printed := pl.writeGels(l, &out, used, &words)
	turned := l.lamp.At != 0 && o.Dial != l.lamp.At
	if turned && l.dialIs != "" {
		out.Caveats = append(out.Caveats, l.dialIs)
	}
	if !turned {
		out.DialLearnt = ""
	}
	if out.TurnTowards != "" {
		words = append(words, l.turnWords(out.TurnTowards))
	}
	tinted := l.turn == nil && o.Tint != l.lamp.TintAt
	if tinted {
		out.Caveats = append(out.Caveats, "what a unit of its green–magenta dial does was typed, not measured")
	}
	out.CheckWithMeter = printed || tinted || turned && l.dialIs != ""
	out.Words = planWords(words, out, l.strong)
	return out
}
