package picture

import "evenwhite/logbook/glance"

// mark draws what stands for a kind of thing: lights are round, cameras square;
// filled is inside its limits, crossed outside, hollow not judged.
func (p *paper) mark(kind string, within *bool, at spot) {
	x, y := at.x, at.y
	class := "h"
	if within != nil && *within {
		class = "f"
	}
	switch kind {
	case "white":
		p.tag("circle", "/>\n", "class", "l", "stroke-width", "2", "cx", px(x), "cy", px(y), "r", "8")
		for _, d := range [...]spot{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
			p.tag("line", "/>\n", "class", "l", "stroke-width", "2", "x1", px(x+5*d.x), "y1", px(y+5*d.y), "x2", px(x+12*d.x), "y2", px(y+12*d.y))
		}
	case "aim":
		p.cross(at, 7, "2.5")
	case "mix":
		p.tag("path", "/>\n", "class", "h", "stroke-width", "2", "d", "M"+px(x)+" "+px(y-6)+"L"+px(x+6)+" "+px(y+5)+"L"+px(x-6)+" "+px(y+5)+"Z")
	case "camera":
		p.tag("rect", "/>\n", "class", class, "stroke-width", "1.5", "x", px(x-5), "y", px(y-5), "width", "10", "height", "10")
	default:
		p.tag("circle", "/>\n", "class", class, "stroke-width", "1.5", "cx", px(x), "cy", px(y), "r", "4.5")
	}
	if within != nil && !*within {
		p.cross(at, 7, "1.5")
	}
}

func (p *paper) cross(at spot, r float64, stroke string) {
	p.tag("path", "/>\n", "class", "l", "stroke-width", stroke, "d",
		"M"+px(at.x-r)+" "+px(at.y-r)+"L"+px(at.x+r)+" "+px(at.y+r)+"M"+px(at.x-r)+" "+px(at.y+r)+"L"+px(at.x+r)+" "+px(at.y-r))
}

// markRadius is how much space a mark takes.
func markRadius(kind string) float64 {
	if kind == "white" {
		return 12
	}
	return 7
}

// coverRadius is how near another mark may come without being covered.
func coverRadius(at glance.PlanePoint) float64 {
	switch {
	case at.Mark == "white":
		return 10
	case at.Mark == "aim" || at.Within != nil && !*at.Within:
		return 8 // the arms of a cross
	case at.Mark == "light":
		return 5.5
	}
	return 6.5
}

// item writes one thing of the list below a picture: its mark, a heading, and words.
func (p *paper) item(draw func(at spot), heading, words string) {
	const indent = 40
	p.y += 6
	draw(spot{edge + 12, p.y + 11})
	p.paragraph("t a", textEm, indent, heading)
	if words != "" {
		p.paragraph("t", textEm, indent, words)
	}
}

// entry writes one thing of a list without a mark.
func (p *paper) entry(heading string, words ...string) {
	p.y += 6
	p.paragraph("t a", textEm, edge, heading)
	for _, line := range words {
		p.paragraph("t", textEm, edge+14, line)
	}
}
