package picture

import (
	"strings"

	"evenwhite/logbook/glance"
)

// overview shows all of the plane with the part that is drawn large.
func (p *paper) overview(plane glance.SetUpPlane, main *view) {
	const high, least = 200, 0.66
	p.y += 10
	p.paragraph("t a", textEm, edge, "All of the plane; the square is the picture above")
	top := p.y + 22
	whole := &view{frame: box{48, top, 48 + high, top + high}, plane: plane, near: main.near, wholePlane: true,
		u: span{-0.01, -0.01 + least}, v: span{-0.01, -0.01 + least}}
	whole.labels.inside = box{whole.frame.left + 2, top + 2, whole.frame.right - 2, whole.frame.bottom - 2}
	whole.spectrum(p)
	a, b := whole.at(main.u.low, main.v.high), whole.at(main.u.high, main.v.low)
	whole.only(func(at glance.PlanePoint) bool { return !main.near[at.Key] || at.Mark == "white" })
	whole.draw(p)
	p.rect("l", box{a.x, a.y, b.x, b.y})
	p.y = whole.frame.bottom + 34
}

// only keeps some of the points.
func (w *view) only(keep func(glance.PlanePoint) bool) {
	var some []glance.PlanePoint
	for _, at := range w.plane.Points {
		if keep(at) {
			some = append(some, at)
		}
	}
	w.plane.Points = some
}

func pointHeading(at glance.PlanePoint) string {
	switch at.Mark {
	case "light":
		words := []string{}
		for _, part := range []string{at.Role, intentWords[at.Intent]} {
			if part != "" {
				words = append(words, part)
			}
		}
		return at.Key + " " + cleaned(at.Name) + " (" + strings.Join(words, ", ") + ")"
	case "white":
		return "White"
	}
	return cleaned(at.Name)
}

var intentWords = map[string]string{"match": "to match the white", "holdOwnColor": "to hold its own colour", "leave": "left as it is"}

// planeList says below the plane what is drawn in it.
func (p *paper) planeList(plane glance.SetUpPlane, main *view) {
	p.y += 4
	for _, at := range plane.Points {
		words := at.Words
		if !main.near[at.Key] {
			words += "; outside the large picture: an arrow on its edge points to it"
		}
		heading := pointHeading(at)
		if at.Too != "" {
			heading += ": " + at.Too
		}
		p.item(func(s spot) { p.mark(at.Mark, at.Within, s) }, heading, words)
	}
	for i, ring := range plane.Rings {
		p.item(func(s spot) { p.line("l", ringDashes[i%len(ringDashes)], spot{s.x - 10, s.y}, spot{s.x + 10, s.y}) },
			"Ring about the "+ring.About, ring.Words)
	}
	for _, u := range plane.Unplaced {
		p.item(func(spot) {}, "Not shown: "+cleaned(u.Name), u.Problem)
	}
}

// planeFacts are the same facts as text.
func planeFacts(plane glance.SetUpPlane) []string {
	facts := []string{plane.Words + "."}
	for _, at := range plane.Points {
		facts = append(facts, pointHeading(at)+": u′ "+number(at.Color.UPrime)+", v′ "+number(at.Color.VPrime)+"; "+at.Words+".")
	}
	for _, ring := range plane.Rings {
		facts = append(facts, "Ring about the "+ring.About+": "+ring.Words+".")
	}
	for _, u := range plane.Unplaced {
		facts = append(facts, "Not shown: "+u.Name+": "+u.Problem+".")
	}
	return facts
}
