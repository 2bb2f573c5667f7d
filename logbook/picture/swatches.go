package picture

import (
	"fmt"

	"evenwhite/logbook"
)

const (
	swatchLeft = 118 // the names of the lights stand left of it
	mostAcross = 6   // whites in one row of the table
)

// Swatches draws the predicted picture of each light in each white, on a neutral
// ground. They are the only colours in the pictures.
func Swatches(swatches logbook.SetUpSwatches) []byte {
	p := &paper{}
	title := "Set-up " + swatches.Name + ": predicted pictures of the lights"
	p.heading(title, "Each field is "+swatches.Display.Words+".")
	p.paragraph("s", smallEm, edge, "A crossed field is clipped: the light is stronger than the display can show, and the field paler than the picture. "+swatches.Words+".")
	for first := 0; first < len(swatches.Whites) && len(swatches.Lights) > 0; first += mostAcross {
		p.swatchTable(swatches, first, min(first+mostAcross, len(swatches.Whites)))
	}
	p.y += 8
	for _, w := range swatches.Whites {
		p.item(func(s spot) { p.write("t a", textEm, edge, s.y+4, "start", fitting(w.Key, 30, textEm)) }, whiteHeading(w), w.Words)
	}
	for _, l := range swatches.Lights {
		p.item(func(s spot) { p.write("t a", textEm, edge, s.y+4, "start", fitting(l.Key, 30, textEm)) }, swatchHeading(l), colorWords(l))
		for _, c := range l.Pictures {
			p.paragraph("t", textEm, 34, cellWords(c))
		}
	}
	return p.finish(title, swatchFacts(swatches))
}

func whiteHeading(w logbook.SwatchWhite) string {
	if w.Camera.IsZero() {
		return "What is aimed at"
	}
	return "Camera " + cleaned(w.Key)
}

func swatchHeading(l logbook.SwatchLight) string {
	if l.Role == "" {
		return cleaned(l.Name)
	}
	return cleaned(l.Name) + " (" + l.Role + ")"
}

func colorWords(l logbook.SwatchLight) string {
	if l.Color == nil {
		return l.Problem
	}
	return l.Color.Words
}

// cellWords is one picture as a sentence.
func cellWords(c logbook.SwatchCell) string {
	words := "in " + cleaned(c.Key) + ": "
	if c.Cast != nil {
		words += c.Cast.Words
	}
	if c.Swatch == nil {
		if c.Cast != nil {
			words += "; "
		}
		return words + "no picture: " + c.Problem
	}
	words += fmt.Sprintf("; sRGB %d %d %d", c.Swatch.R, c.Swatch.G, c.Swatch.B)
	if c.Swatch.Clipped {
		words += ", clipped"
	}
	return words
}

// swatchTable draws some of the whites side by side, the fields touching each other
// so that the eye compares them.
func (p *paper) swatchTable(swatches logbook.SetUpSwatches, first, last int) {
	const high = 40
	wide := float64(Width-edge-swatchLeft) / float64(last-first)
	p.y += 22
	for i, w := range swatches.Whites[first:last] {
		p.write("t a", textEm, swatchLeft+(float64(i)+0.5)*wide, p.y-5, "middle", fitting(w.Key, wide-2, textEm))
	}
	for _, l := range swatches.Lights {
		p.open(attributes{"data-light", l.Key})
		name := wrapped(l.Key+" "+l.Name, swatchLeft-edge-4, smallEm)
		if len(name) > 2 {
			name = []string{name[0], fitting(name[1]+" "+name[2], swatchLeft-edge-4, smallEm)}
		}
		for i, line := range name {
			p.write("t", smallEm, edge, p.y+16+float64(i)*smallEm*1.25, "start", line)
		}
		if len(l.Pictures) == 0 {
			p.write("s", smallEm, swatchLeft+4, p.y+high/2+4, "start", fitting("no picture: "+l.Problem, Width-edge-swatchLeft-4, smallEm))
		}
		for i := first; i < last && i < len(l.Pictures); i++ {
			left := swatchLeft + float64(i-first)*wide
			p.swatch(l.Pictures[i], box{left, p.y, left + wide, p.y + high})
		}
		p.close()
		p.y += high
	}
}

func (p *paper) swatch(c logbook.SwatchCell, b box) {
	if c.Swatch == nil {
		p.rect("g", b)
		p.write("s", smallEm, (b.left+b.right)/2, b.bottom-16, "middle", fitting("none", b.width()-2, smallEm))
		return
	}
	s := *c.Swatch
	a := attributes{"data-white", c.Key, "data-rgb", fmt.Sprintf("%d %d %d", s.R, s.G, s.B), "data-clipped", fmt.Sprint(s.Clipped)}
	p.open(a)
	p.tag("rect", "/>\n", "x", px(b.left), "y", px(b.top), "width", px(b.width()), "height", px(b.height()), "fill", fmt.Sprintf("#%02x%02x%02x", s.R, s.G, s.B))
	if s.Clipped {
		p.tag("path", "/>\n", "stroke", "#000", "stroke-width", "1.5", "fill", "none", "d",
			"M"+px(b.left)+" "+px(b.top)+"L"+px(b.right)+" "+px(b.bottom)+"M"+px(b.left)+" "+px(b.bottom)+"L"+px(b.right)+" "+px(b.top))
	}
	p.close()
}

func swatchFacts(swatches logbook.SetUpSwatches) []string {
	facts := []string{swatches.Words + ". " + swatches.Display.Words + "."}
	for _, w := range swatches.Whites {
		facts = append(facts, whiteHeading(w)+": "+w.Words+".")
	}
	for _, l := range swatches.Lights {
		facts = append(facts, l.Key+" "+swatchHeading(l)+": "+colorWords(l)+".")
		for _, c := range l.Pictures {
			facts = append(facts, cellWords(c)+".")
		}
	}
	return facts
}
