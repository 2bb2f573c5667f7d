package lighting

import (
	"math"
	"strings"

	"evenwhite/colorimetry"
	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
)

// GelInStock is a gel of the inventory that colours light.
type GelInStock struct {
	View    logbook.View
	Count   int
	Stays   int // on lights that are not planned
	Printed colorimetry.Gel
	From    string // of printed: inventory, nominal, or "" where neither says it
	learnt  []GelOnFamily
	Caveats []string
}

func (g *GelInStock) MeasuredOn(family string) *GelOnFamily {
	for i := range g.learnt {
		if g.learnt[i].LampFamily == family && family != "" {
			return &g.learnt[i]
		}
	}
	return nil
}

func (g *GelInStock) read(b *logbook.Book) (known bool) {
	switch g.View.Text("gelKind") {
	case "neutral", "diffusion", "effect":
		return false
	}
	nominal, named := nominalGel(b, g.View.Text("name"))
	shift, shifted := g.View.Number("shiftMired")
	cc := g.View.Value("cc")
	density, dense := cc.Member("density").Float()
	if color, _ := cc.Member("color").Text(); color == "magenta" {
		density = -density
	}
	switch {
	case shifted || dense:
		g.From = "inventory"
		g.Printed = colorimetry.Gel{Shift: colorimetry.Mired(shift), CC: density, Loss: nominal.Loss}
	case named:
		g.From, g.Printed = "nominal", nominal
	}
	loss, lossy := lossOf(g.View.Value("transmission"))
	if lossy {
		g.Printed.Loss = loss
	} else if !named {
		g.Caveats = append(g.Caveats, "what light "+g.View.Text("name")+" costs is not in the log: none was counted")
	}
	return g.From != "" || len(g.learnt) > 0
}

// Inventory lists the gels whose colour is known: what was learnt from readings,
// what the record says, else the trade's nominal values for its name.
func Inventory(b *logbook.Book, learnt map[logbook.ID][]GelOnFamily) []*GelInStock {
	var all []*GelInStock
	for _, v := range b.Records(kinds.Gel) {
		g := &GelInStock{View: v, learnt: learnt[v.ID]}
		if !g.read(b) {
			continue
		}
		g.Count = 1
		if n, ok := v.Number("quantity"); ok {
			g.Count = int(n)
		} else {
			g.Caveats = append(g.Caveats, "how many of "+v.Text("name")+" there are is not in the log: one was assumed")
		}
		if v.Flag("faded", false) {
			g.Caveats = append(g.Caveats, v.Text("name")+" is faded")
		}
		all = append(all, g)
	}
	return all
}

// nominalGel looks a name up among the trade's, in the production's family. Where
// that is typed gel by gel, a name says no shift.
func nominalGel(b *logbook.Book, name string) (colorimetry.Gel, bool) {
	family, typed := colorimetry.Based5500, false
	if p, ok := ProductionOf(b); ok {
		typed = p.Text("gelFamily") == "typed"
		if p.Text("gelFamily") == "based6500" {
			family = colorimetry.Based6500
		}
	}
	gels, _ := colorimetry.NominalGels(family)
	for _, n := range gels {
		if strings.EqualFold(n.Name, name) && !(typed && n.Gel.Shift != 0) {
			return n.Gel, true
		}
	}
	return colorimetry.Gel{}, false
}

func lossOf(transmission logbook.Value) (colorimetry.Stops, bool) {
	f, ok := transmission.Member("value").Float()
	if as, _ := transmission.Member("as").Text(); as == "percent" {
		f = -math.Log2(f / 100)
	}
	return colorimetry.Stops(figure.RoundTo(f, 9)), ok
}
