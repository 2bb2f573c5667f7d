package advice

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"evenwhite/colorimetry"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
)

// positions mixes the lights that are on wherever one of them was read.
func (pl *planner) positions() []PositionPlan {
	named := map[string]bool{}
	for _, m := range pl.s.Readings() {
		if m.Plain() && m.Of == "light" && m.Color != nil {
			named[m.Position] = true
		}
	}
	var names []string
	for name := range named {
		names = append(names, name)
	}
	sort.Strings(names)
	out := []PositionPlan{}
	for _, name := range names {
		out = append(out, pl.mix(name))
	}
	return out
}

func (pl *planner) mix(position string) PositionPlan {
	out := PositionPlan{Position: position}
	var now, planned []colorimetry.Lit
	for _, l := range pl.all {
		if !pl.s.IsOn(l.view) {
			continue
		}
		m := pl.s.LastWithLux(l.view, position)
		if m == nil {
			out.Problem = fmt.Sprintf("%s has no reading with lux here", l.out.Name)
			return out
		}
		now = append(now, colorimetry.Lit{Light: m.Color.XY, Lux: colorimetry.Lux(*m.IlluminanceLux)})
		lit, err := l.after(m)
		if err != nil {
			out.Problem = fmt.Sprintf("%s: %v", l.out.Name, err)
			return out
		}
		planned = append(planned, lit)
	}
	before, err := colorimetry.Mix(now)
	if err == nil {
		var after colorimetry.Lit
		if after, err = colorimetry.Mix(planned); err == nil {
			out.Now, out.NowLux = figure.ChromaticityOf(before.Light), figure.Rounded(float64(before.Lux), figure.LuxDecimals)
			out.Planned, out.Lux = figure.ChromaticityOf(after.Light), figure.Rounded(float64(after.Lux), figure.LuxDecimals)
			if pl.p.Reference != nil {
				cast := figure.CastDifference(after.Light, pl.p.Reference.XY)
				out.Cast = &cast
			}
			return out
		}
	}
	out.Problem = err.Error()
	return out
}

// after is a light at a position once the plan is carried out: its reading there,
// moved as far as the plan moves the reading that it rests on.
func (l *plannedLight) after(m *lighting.Reading) (colorimetry.Lit, error) {
	lit := colorimetry.Lit{Light: m.Color.XY, Lux: colorimetry.Lux(*m.IlluminanceLux)}
	if l.option == nil {
		return lit, nil
	}
	light, way, err := l.unturned(l.option)
	if err == nil && way != "" {
		err = errors.New("it is to be turned and read again first")
	}
	if err != nil {
		return lit, err
	}
	read, err := l.m.Color.CCTDuv()
	if err != nil {
		return lit, err
	}
	here, err := m.Color.CCTDuv()
	if err != nil {
		return lit, err
	}
	k, err := (here.Mired() + light.Mired() - read.Mired()).Kelvin()
	if err != nil {
		return lit, err
	}
	lit.Light, err = colorimetry.CCTDuv{CCT: k, Duv: here.Duv + light.Duv - read.Duv}.XY()
	lit.Lux *= colorimetry.Lux(math.Exp2(float64(l.rigged.Loss - l.option.Loss)))
	return lit, err
}
