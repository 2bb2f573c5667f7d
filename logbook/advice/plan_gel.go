package advice

import (
	"fmt"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// on is the gel on a light: as it was measured on the lamp's family, else as
// printed; a gel of which neither is known stays off.
func (pl *planner) on(g *lighting.GelInStock, light logbook.View) colorimetry.StockedGel {
	if f := g.MeasuredOn(lighting.FamilyOf(pl.s.Book(), light)); f != nil {
		gel := f.Gel
		if !f.Lossy {
			gel.Loss = g.Printed.Loss
		}
		return colorimetry.StockedGel{Gel: gel, Count: g.Count, Sold: soldAs(g)}
	}
	out := colorimetry.StockedGel{Gel: g.Printed, Count: g.Count, Nominal: true, Sold: soldAs(g)}
	if g.From == "" {
		out.Count = 0
	}
	return out
}

// soldAs is which way a gel takes a light by what the log calls it, else by its printed
// values. What it was measured as on one lamp does not make a cool gel a green one.
func soldAs(g *lighting.GelInStock) colorimetry.Pull {
	pull := g.Printed.Pull()
	switch g.View.Text("gelKind") {
	case "warm":
		pull.Warmth = 1
	case "cool":
		pull.Warmth = -1
	case "green":
		pull.Green = 1
	case "magenta":
		pull.Green = -1
	}
	return pull
}

func (pl *planner) gel(id logbook.ID) *lighting.GelInStock {
	id = pl.s.Book().Resolve(id)
	for _, g := range pl.gels {
		if g.View.ID == id {
			return g
		}
	}
	return nil
}

// stock is what is left of the inventory for the lights that are planned.
func (pl *planner) stock() []colorimetry.StockedGel {
	all := make([]colorimetry.StockedGel, len(pl.gels))
	for i, g := range pl.gels {
		all[i] = colorimetry.StockedGel{Gel: g.Printed, Count: max(g.Count-g.Stays, 0), Nominal: true, Sold: soldAs(g)}
	}
	return all
}

// own is the inventory as it is on one light: measured values of the lamp's
// family, and nothing on a hot lamp that does not stand the heat.
func (pl *planner) own(light logbook.View) map[int]colorimetry.StockedGel {
	own := map[int]colorimetry.StockedGel{}
	lamp, _ := pl.s.Book().RecordOf(kinds.Lamp, light.Ref("lamp"))
	for i, g := range pl.gels {
		on := pl.on(g, light)
		if lamp.Known() && lighting.IsHot(lamp) && g.View.Text("heatResistant") == "no" {
			on.Count = 0
		}
		if on.Count == 0 || !on.Nominal {
			own[i] = on
		}
	}
	return own
}

// use is a gel on a light with the values that are counted.
func (pl *planner) use(g *lighting.GelInStock, light logbook.View) GelUse {
	on := pl.on(g, light)
	u := GelUse{Gel: g.View.ID, Name: g.View.Text("name"),
		ShiftMired: figure.RoundTo(float64(on.Gel.Shift), figure.MiredDecimals), CC: figure.RoundTo(on.Gel.CC, 1),
		LossStops: figure.RoundTo(float64(on.Gel.Loss), figure.StopsDecimals), From: "measured"}
	if on.Nominal {
		u.From = g.From
	}
	return u
}

// standsAt is how a light stands now in some respect, by which a plan says what to change: it
// may have been changed since it was read.
func (pl *planner) standsAt(l *plannedLight, field string) logbook.Value {
	if v := pl.s.Course(l.view).StateAt(pl.s.Moment()).Value(field); v != "" {
		return v
	}
	return l.m.Snapshot(l.view, field)
}

// tooStrong names the gels that would take a light the way it has to go, and that are left
// out because behind them it has no colour temperature.
func (pl *planner) tooStrong(l *plannedLight, leftOut []int) (names []string) {
	bare, target := l.lamp.Reading, l.goal
	by := colorimetry.CastOf(target, bare)
	for _, i := range leftOut {
		pull, limits := soldAs(pl.gels[i]), l.out.Limits
		warms := pull.Warmth > 0 && float64(by.Mired) > limits.Mired || pull.Warmth < 0 && float64(by.Mired) < -limits.Mired
		greens := pull.Green > 0 && float64(by.Duv) > limits.DuvMagenta || pull.Green < 0 && float64(by.Duv) < -limits.DuvGreen
		if warms || greens {
			names = append(names, pl.gels[i].View.Text("name"))
		}
	}
	return names
}

// writeGels puts down the gels of a light's option, and reports whether one that is put on
// or taken off rests on printed values.
func (pl *planner) writeGels(l *plannedLight, out *LightPlan, used map[*lighting.GelInStock]int, words *[]string) (printed bool) {
	had := map[logbook.ID]int{}
	for item := range pl.standsAt(l, "gels").Items() {
		if id, ok := item.ID(); ok {
			had[pl.s.Book().Resolve(id)]++
		}
	}
	for _, i := range l.option.Gels {
		g := pl.gels[i]
		used[g]++
		use := pl.use(g, l.view)
		out.Gels, out.GelUses = append(out.Gels, g.View.ID), append(out.GelUses, use)
		out.Caveats = append(out.Caveats, g.Caveats...)
		if had[g.View.ID] > 0 {
			had[g.View.ID]--
			continue
		}
		*words = append(*words, "put on "+use.Name)
		if use.From == "measured" {
			measured := g.MeasuredOn(lighting.FamilyOf(pl.s.Book(), l.view))
			out.Caveats = append(out.Caveats, fmt.Sprintf("%s is counted as it was measured: %s", use.Name, measured.Words))
			continue
		}
		printed = true
		out.Caveats = append(out.Caveats, fmt.Sprintf("%s is counted with %s, which differ by lamp", use.Name, fromWords[use.From]))
	}
	for _, g := range pl.gels {
		for range had[g.View.ID] {
			*words = append(*words, "take off "+g.View.Text("name"))
			printed = printed || pl.use(g, l.view).From != "measured"
		}
	}
	return printed
}

var fromWords = map[string]string{"inventory": "the printed values of the inventory", "nominal": "nominal values"}
