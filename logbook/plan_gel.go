package logbook

import (
	"fmt"
	"math"
	"strings"

	"evenwhite/colorimetry"
)

// gelInStock is a gel of the inventory that colours light.
type gelInStock struct {
	view    View
	count   int
	used    int
	printed colorimetry.Gel
	caveats []string
}

// inventory lists the gels whose colour is known: what the record says, else the
// trade's nominal values for its name.
func inventory(b *Book) []*gelInStock {
	var all []*gelInStock
	for _, v := range b.Records(KindGel) {
		g := &gelInStock{view: v}
		if !g.read(b) {
			continue
		}
		g.count = 1
		if n, ok := v.Number("quantity"); ok {
			g.count = int(n)
		} else {
			g.caveats = append(g.caveats, "how many of "+v.Text("name")+" there are is not in the log: one was assumed")
		}
		if v.Flag("faded", false) {
			g.caveats = append(g.caveats, v.Text("name")+" is faded")
		}
		all = append(all, g)
	}
	return all
}

func (g *gelInStock) read(b *Book) (known bool) {
	switch g.view.Text("gelKind") {
	case "neutral", "diffusion", "effect":
		return false
	}
	nominal, named := nominalGel(b, g.view.Text("name"))
	shift, shifted := g.view.Number("shiftMired")
	cc := g.view.Value("cc")
	density, dense := cc.Member("density").Float()
	if color, _ := cc.Member("color").Text(); color == "magenta" {
		density = -density
	}
	if !shifted && !dense {
		g.printed = nominal
	} else {
		g.printed = colorimetry.Gel{Shift: colorimetry.Mired(shift), CC: density, Loss: nominal.Loss}
	}
	loss, lossy := lossOf(g.view.Value("transmission"))
	if lossy {
		g.printed.Loss = loss
	} else if !named {
		g.caveats = append(g.caveats, "what light "+g.view.Text("name")+" costs is not in the log: none was counted")
	}
	return named || shifted || dense || len(g.view.Keys("measuredShifts")) > 0
}

// nominalGel looks a name up among the trade's, in the production's family.
func nominalGel(b *Book, name string) (colorimetry.Gel, bool) {
	family := colorimetry.Based5500
	if p, ok := production(b); ok && p.Text("gelFamily") == "based6500" {
		family = colorimetry.Based6500
	}
	for _, n := range colorimetry.NominalGels(family) {
		if strings.EqualFold(n.Name, name) {
			return n.Gel, true
		}
	}
	return colorimetry.Gel{}, false
}

func lossOf(transmission Value) (colorimetry.Stops, bool) {
	f, ok := transmission.Member("value").Float()
	if as, _ := transmission.Member("as").Text(); as == "percent" {
		f = -math.Log2(f / 100)
	}
	return colorimetry.Stops(roundTo(f, 9)), ok
}

// on is the gel on a lamp of a family: as it was measured there, else as printed.
func (g *gelInStock) on(b *Book, family string) colorimetry.StockedGel {
	for _, key := range g.view.Keys("measuredShifts") {
		shift := g.view.Value("measuredShifts/" + key)
		if of, _ := shift.Member("lampFamily").Text(); of != family || family == "" {
			continue
		}
		if gel, ok := g.measured(b, shift); ok {
			return colorimetry.StockedGel{Gel: gel, Count: g.count}
		}
	}
	return colorimetry.StockedGel{Gel: g.printed, Count: g.count, Nominal: true}
}

// measured is what two readings of one lamp say, without and with the gel. Where
// there is no illuminance the loss stays the printed one.
func (g *gelInStock) measured(b *Book, shift Value) (colorimetry.Gel, bool) {
	var pair [2]*Measurement
	for i, name := range [...]string{"without", "with"} {
		id, _ := shift.Member(name).ID()
		v, ok := b.RecordOf(KindReading, id)
		if !ok || Withdrawn(v) {
			return colorimetry.Gel{}, false
		}
		if pair[i] = MeasurementOf(b, v); pair[i].Color == nil {
			return colorimetry.Gel{}, false
		}
	}
	without, err := pair[0].Color.cctDuv()
	if err != nil {
		return colorimetry.Gel{}, false
	}
	with, err := pair[1].Color.cctDuv()
	if err != nil {
		return colorimetry.Gel{}, false
	}
	var gel colorimetry.Gel
	if pair[0].IlluminanceLux == nil || pair[1].IlluminanceLux == nil {
		gel, err = colorimetry.MeasuredGel(without, with, 1, 1)
		gel.Loss = g.printed.Loss
	} else {
		gel, err = colorimetry.MeasuredGel(without, with, colorimetry.Lux(*pair[0].IlluminanceLux), colorimetry.Lux(*pair[1].IlluminanceLux))
	}
	// Beyond this a plan takes no gel: readings so far apart are of two lamps.
	return gel, err == nil && math.Abs(float64(gel.Shift)) <= 400 && math.Abs(gel.CC) <= 60 && gel.Loss <= 20
}

func (pl *planner) gel(id ID) *gelInStock {
	id = pl.s.book.Resolve(id)
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
		all[i] = colorimetry.StockedGel{Gel: g.printed, Count: max(g.count-g.used, 0), Nominal: true}
	}
	return all
}

// own is the inventory as it is on one light: measured values of the lamp's
// family, and nothing on a hot lamp that does not stand the heat.
func (pl *planner) own(light View) map[int]colorimetry.StockedGel {
	own := map[int]colorimetry.StockedGel{}
	lamp, _ := pl.s.book.RecordOf(KindLamp, light.Ref("lamp"))
	for i, g := range pl.gels {
		on := g.on(pl.s.book, pl.familyOf(light))
		if lamp.book != nil && isHot(lamp) && g.view.Text("heatResistant") == "no" {
			on.Count = 0
		}
		if on.Count == 0 || !on.Nominal {
			own[i] = on
		}
	}
	return own
}

// tellGels writes the gels of an option and reports whether one rests on printed
// values.
func (pl *planner) tellGels(l *plannedLight, o colorimetry.Option, words *[]string) (nominal bool) {
	had := map[ID]int{}
	for item := range l.m.snapshot(l.view, "gels").Items() {
		if id, ok := item.ID(); ok {
			had[pl.s.book.Resolve(id)]++
		}
	}
	for _, i := range o.Gels {
		g := pl.gels[i]
		g.used++
		l.out.Gels = append(l.out.Gels, g.view.ID)
		l.out.Caveats = append(l.out.Caveats, g.caveats...)
		if had[g.view.ID] > 0 {
			had[g.view.ID]--
			continue
		}
		*words = append(*words, "put on "+g.view.Text("name"))
		if g.on(pl.s.book, pl.familyOf(l.view)).Nominal {
			nominal = true
			l.out.Caveats = append(l.out.Caveats, fmt.Sprintf("%s is counted with printed values, which differ by lamp", g.view.Text("name")))
		}
	}
	for _, g := range pl.gels {
		for range had[g.view.ID] {
			*words = append(*words, "take off "+g.view.Text("name"))
			if g.on(pl.s.book, pl.familyOf(l.view)).Nominal {
				nominal = true
			}
		}
	}
	return nominal
}
