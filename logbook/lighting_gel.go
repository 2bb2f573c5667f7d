package logbook

import (
	"evenwhite/colorimetry"
	"math"
	"strings"
)

// gelInStock is a gel of the inventory that colours light.
type gelInStock struct {
	view    View
	count   int
	stays   int // on lights that are not planned
	printed colorimetry.Gel
	from    string // of printed: inventory, nominal, or "" where neither says it
	learnt  []GelOnFamily
	caveats []string
}

func (g *gelInStock) measuredOn(family string) *GelOnFamily {
	for i := range g.learnt {
		if g.learnt[i].LampFamily == family && family != "" {
			return &g.learnt[i]
		}
	}
	return nil
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
	switch {
	case shifted || dense:
		g.from = "inventory"
		g.printed = colorimetry.Gel{Shift: colorimetry.Mired(shift), CC: density, Loss: nominal.Loss}
	case named:
		g.from, g.printed = "nominal", nominal
	}
	loss, lossy := lossOf(g.view.Value("transmission"))
	if lossy {
		g.printed.Loss = loss
	} else if !named {
		g.caveats = append(g.caveats, "what light "+g.view.Text("name")+" costs is not in the log: none was counted")
	}
	return g.from != "" || len(g.learnt) > 0
}

// inventory lists the gels whose colour is known: what was learnt from readings,
// what the record says, else the trade's nominal values for its name.
func inventory(b *Book, learnt map[ID][]GelOnFamily) []*gelInStock {
	var all []*gelInStock
	for _, v := range b.Records(KindGel) {
		g := &gelInStock{view: v, learnt: learnt[v.ID]}
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

// nominalGel looks a name up among the trade's, in the production's family. Where
// that is typed gel by gel, a name says no shift.
func nominalGel(b *Book, name string) (colorimetry.Gel, bool) {
	family, typed := colorimetry.Based5500, false
	if p, ok := production(b); ok {
		typed = p.Text("gelFamily") == "typed"
		if p.Text("gelFamily") == "based6500" {
			family = colorimetry.Based6500
		}
	}
	for _, n := range colorimetry.NominalGels(family) {
		if strings.EqualFold(n.Name, name) && !(typed && n.Gel.Shift != 0) {
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
