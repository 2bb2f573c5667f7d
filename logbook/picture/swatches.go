package picture

import (
	"fmt"
	"math"

	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
)

const (
	swatchLeft  = 118 // the names of the lights stand left of it
	neutralWide = 54  // of the neutral field that each row begins with
	mostAcross  = 4   // whites in one row of the table
)

// Swatches draws the predicted picture of each light in each white, on a neutral
// ground. They are the only colours in the pictures.
func Swatches(swatches glance.SetUpSwatches) []byte {
	p := &paper{}
	title := "Set-up " + swatches.Name + ": predicted pictures of the lights"
	p.heading(title, "How each light looks, as meant and on each camera", swatches.Words)
	for first := 0; first < len(swatches.Whites) && len(swatches.Lights) > 0; first += mostAcross {
		p.swatchTable(swatches, first, min(first+mostAcross, len(swatches.Whites)))
	}
	p.y += 8
	for _, w := range swatches.Whites {
		p.entry(whiteHeading(w), w.Words)
	}
	for _, l := range swatches.Lights {
		words := []string{colorWords(l)}
		words = append(words, foldedCells(l.Pictures)...)
		p.entry(swatchHeading(l), words...)
	}
	p.howToRead("Each field is " + swatches.Display.Words + ". The left one is neutral: a light that is exactly the white. " +
		"A crossed field is clipped: the light is stronger than the display can show, and the field paler than the picture.")
	return p.finish(title, swatchFacts(swatches))
}

func whiteHeading(w glance.SwatchWhite) string {
	if w.Camera.IsZero() {
		return "Aim"
	}
	return "Camera " + cleaned(w.Key)
}

func swatchHeading(l glance.SwatchLight) string {
	if l.Role == "" {
		return swatchName(l)
	}
	return swatchName(l) + " (" + l.Role + ")"
}

func colorWords(l glance.SwatchLight) string {
	if l.Color == nil {
		return l.Problem
	}
	return l.Color.Words
}

// foldedCells says what several whites make alike once.
func foldedCells(cells []glance.SwatchCell) (all []string) {
	keys := map[string]string{}
	var order []string
	for _, c := range cells {
		words := pictureWords(c)
		if keys[words] == "" {
			order = append(order, words)
			keys[words] = cleaned(c.Key)
			continue
		}
		keys[words] += ", " + cleaned(c.Key)
	}
	for _, words := range order {
		all = append(all, keys[words]+": "+words)
	}
	return all
}

// cellWords is one picture as a sentence.
func cellWords(c glance.SwatchCell) string { return cleaned(c.Key) + ": " + pictureWords(c) }

func pictureWords(c glance.SwatchCell) string {
	words := ""
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
func (p *paper) swatchTable(swatches glance.SetUpSwatches, first, last int) {
	const high, frame = 40, 10
	const left = swatchLeft + neutralWide
	wide := math.Floor(float64(Width-edge-left-frame) / float64(last-first))
	p.y += 22
	p.rect("n", box{
		swatchLeft - frame, p.y, left + wide*float64(last-first) + frame, p.y + 2*frame + high*float64(len(swatches.Lights)),
	})
	p.write("t", smallEm, spot{swatchLeft + neutralWide/2, p.y - 5}, "middle", "neutral")
	for i, w := range swatches.Whites[first:last] {
		p.write("t a", textEm, spot{left + (float64(i)+0.5)*wide, p.y - 5}, "middle", fitting(w.Key, wide-2, textEm*bold))
	}
	p.y += frame
	p.rectOf(swatches.Neutral, box{swatchLeft, p.y, left, p.y + high*float64(len(swatches.Lights))})
	for _, l := range swatches.Lights {
		p.open(attributes{"data-light", l.Key})
		name := wrapped(swatchName(l), swatchLeft-frame-edge-4, smallEm)
		if len(name) > 2 {
			name = []string{name[0], fitting(name[1]+" "+name[2], swatchLeft-frame-edge-4, smallEm)}
		}
		for i, line := range name {
			p.write("t", smallEm, spot{edge, p.y + 16 + float64(i)*smallEm*1.25}, "start", line)
		}
		if len(l.Pictures) == 0 {
			p.write("w", smallEm, spot{left + 4, p.y + high/2 + 4}, "start",
				fitting("no picture: "+l.Problem, Width-edge-left-4, smallEm))
		}
		for i := first; i < last && i < len(l.Pictures); i++ {
			x := left + float64(i-first)*wide
			p.swatch(l.Pictures[i], box{x, p.y, x + wide, p.y + high})
		}
		p.close()
		p.y += high
	}
	p.y += frame
}

func swatchName(l glance.SwatchLight) string {
	if l.Light.IsZero() {
		return cleaned(l.Name)
	}
	return l.Key + " " + cleaned(l.Name)
}

func (p *paper) swatch(c glance.SwatchCell, b box) {
	if c.Swatch == nil {
		p.rect("g", b)
		p.write("w", smallEm, spot{(b.left + b.right) / 2, b.bottom - 16}, "middle", fitting("none", b.width()-2, smallEm))
		return
	}
	s := *c.Swatch
	a := attributes{"data-white", c.Key, "data-rgb", fmt.Sprintf("%d %d %d", s.R, s.G, s.B), "data-clipped", fmt.Sprint(s.Clipped)}
	p.open(a)
	p.rectOf(s, b)
	if s.Clipped {
		p.tag("path", "/>\n", "stroke", "#000", "stroke-width", "1.5", "fill", "none", "d",
			"M"+px(b.left)+" "+px(b.top)+"L"+px(b.right)+" "+px(b.bottom)+"M"+px(b.left)+" "+px(b.bottom)+"L"+px(b.right)+" "+px(b.top))
	}
	p.close()
}

func (p *paper) rectOf(s figure.Swatch, b box) {
	p.tag("rect", "/>\n", "x", px(b.left), "y", px(b.top), "width", px(b.width()), "height", px(b.height()),
		"shape-rendering", "crispEdges", "fill", fmt.Sprintf("#%02x%02x%02x", s.R, s.G, s.B))
}

func swatchFacts(swatches glance.SetUpSwatches) []string {
	facts := []string{swatches.Words + ". " + swatches.Display.Words + "."}
	for _, w := range swatches.Whites {
		facts = append(facts, whiteHeading(w)+": "+w.Words+".")
	}
	for _, l := range swatches.Lights {
		facts = append(facts, swatchHeading(l)+": "+colorWords(l)+".")
		for _, c := range l.Pictures {
			facts = append(facts, cellWords(c)+".")
		}
	}
	return facts
}
