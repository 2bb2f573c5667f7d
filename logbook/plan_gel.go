package logbook

import (
	"fmt"

	"evenwhite/colorimetry"
)

// on is the gel on a light: as it was measured on the lamp's family, else as
// printed; a gel of which neither is known stays off.
func (pl *planner) on(g *gelInStock, light View) colorimetry.StockedGel {
	if f := g.measuredOn(familyOf(pl.s.Book(), light)); f != nil {
		gel := f.gel
		if !f.lossy {
			gel.Loss = g.printed.Loss
		}
		return colorimetry.StockedGel{Gel: gel, Count: g.count}
	}
	out := colorimetry.StockedGel{Gel: g.printed, Count: g.count, Nominal: true}
	if g.from == "" {
		out.Count = 0
	}
	return out
}

func (pl *planner) gel(id ID) *gelInStock {
	id = pl.s.Book().Resolve(id)
	for _, g := range pl.gels {
		if g.view.ID == id {
			return g
		}
	}
	return nil
}

// stock is what is left of the inventory for the lights that are planned.
func (pl *planner) stock() []colorimetry.StockedGel {
	all := make([]colorimetry.StockedGel, len(pl.gels))
	for i, g := range pl.gels {
		all[i] = colorimetry.StockedGel{Gel: g.printed, Count: max(g.count-g.stays, 0), Nominal: true}
	}
	return all
}

// own is the inventory as it is on one light: measured values of the lamp's
// family, and nothing on a hot lamp that does not stand the heat.
func (pl *planner) own(light View) map[int]colorimetry.StockedGel {
	own := map[int]colorimetry.StockedGel{}
	lamp, _ := pl.s.Book().RecordOf(KindLamp, light.Ref("lamp"))
	for i, g := range pl.gels {
		on := pl.on(g, light)
		if lamp.Known() && isHot(lamp) && g.view.Text("heatResistant") == "no" {
			on.Count = 0
		}
		if on.Count == 0 || !on.Nominal {
			own[i] = on
		}
	}
	return own
}

// use is a gel on a light with the values that are counted.
func (pl *planner) use(g *gelInStock, light View) GelUse {
	on := pl.on(g, light)
	u := GelUse{Gel: g.view.ID, Name: g.view.Text("name"), ShiftMired: roundTo(float64(on.Gel.Shift), miredDecimals), CC: roundTo(on.Gel.CC, 1),
		LossStops: roundTo(float64(on.Gel.Loss), stopsDecimals), From: "measured"}
	if on.Nominal {
		u.From = g.from
	}
	return u
}

// tellGels writes the gels of a light's option and reports whether one that is put
// on or taken off rests on printed values.
func (pl *planner) tellGels(l *plannedLight, out *LightPlan, used map[*gelInStock]int, words *[]string) (printed bool) {
	had := map[ID]int{}
	for item := range l.m.snapshot(l.view, "gels").Items() {
		if id, ok := item.ID(); ok {
			had[pl.s.Book().Resolve(id)]++
		}
	}
	for _, i := range l.option.Gels {
		g := pl.gels[i]
		used[g]++
		use := pl.use(g, l.view)
		out.Gels, out.GelUses = append(out.Gels, g.view.ID), append(out.GelUses, use)
		out.Caveats = append(out.Caveats, g.caveats...)
		if had[g.view.ID] > 0 {
			had[g.view.ID]--
			continue
		}
		*words = append(*words, "put on "+use.Name)
		if use.From == "measured" {
			out.Caveats = append(out.Caveats, fmt.Sprintf("%s is counted as it was measured: %s", use.Name, g.measuredOn(familyOf(pl.s.Book(), l.view)).Words))
			continue
		}
		printed = true
		out.Caveats = append(out.Caveats, fmt.Sprintf("%s is counted with %s, which differ by lamp", use.Name, fromWords[use.From]))
	}
	for _, g := range pl.gels {
		for range had[g.view.ID] {
			*words = append(*words, "take off "+g.view.Text("name"))
			printed = printed || pl.use(g, l.view).From != "measured"
		}
	}
	return printed
}

var fromWords = map[string]string{"inventory": "the printed values of the inventory", "nominal": "nominal values"}
