package picture

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"evenwhite/colorimetry"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
)

// Of the plane: what is shown at least and at most, in u' and in v'. What lies
// farther off is an arrow on the edge, and a mark in the overview.
const (
	leastUV = 0.03
	mostUV  = 0.07
)

// view is a square of the plane on the paper.
type view struct {
	frame      box
	u, v       span
	labels     labels
	plane      glance.SetUpPlane
	near       map[string]bool // keys of the points inside
	wholePlane bool
}

// Plane draws where the colours of a set-up lie.
func Plane(plane glance.SetUpPlane) []byte {
	p := &paper{}
	title := "Set-up " + plane.Name + ": colours in the u′ v′ plane"
	p.heading(title, plane.Headline, plane.Old)
	main := viewOf(plane, box{48, p.y + 16, Width - edge, p.y + 16 + Width - edge - 48})
	main.draw(p)
	p.y = main.frame.bottom + 34
	p.plot = box{0, main.frame.top - 16, Width, p.y}
	if len(main.near) < len(plane.Points) {
		p.overview(plane, main)
	}
	p.planeList(plane, main)
	p.howToRead("Round is a light, square a camera; filled inside its limits, crossed outside, hollow not judged. " +
		"Where marks would cover each other, one stands beside its place, which is the end of its line. " +
		"Rings: limits, in steps of " + number(plane.StepUV) + " u′ v′ counted in the picture. " +
		"Lines: — black body, – – daylight, thin: of one temperature.")
	return p.finish(title, planeFacts(plane))
}

// viewOf fits a view to the white and to what lies near it.
func viewOf(plane glance.SetUpPlane, frame box) *view {
	w := &view{frame: frame, plane: plane, near: map[string]bool{}}
	u, v := nothing, nothing
	for _, at := range byDistance(plane.Points) {
		tryU, tryV := u, v
		tryU.add(at.Color.UPrime)
		tryV.add(at.Color.VPrime)
		if math.Max(tryU.size(), tryV.size()) > mostUV {
			continue
		}
		u, v, w.near[at.Key] = tryU, tryV, true
	}
	for _, ring := range plane.Rings {
		for _, s := range ring.UV {
			if w.near[ring.About] {
				u.add(s.UPrime)
				v.add(s.VPrime)
			}
		}
	}
	if len(w.near) == 0 { // nothing is known: daylight to lamplight
		u, v = span{0.19, 0.27}, span{0.45, 0.53}
	}
	side := math.Max(leastUV, math.Max(u.size(), v.size()))
	w.u, w.v = u.widened(side, 0), v.widened(side, 0)
	w.u, w.v = w.u.widened(0, 0.1), w.v.widened(0, 0.1)
	w.labels.inside = box{frame.left + 2, frame.top + 2, frame.right - 2, frame.bottom - 2}
	return w
}

// byDistance orders points by their distance from the white, else from the first
// that has a temperature.
func byDistance(points []glance.PlanePoint) []glance.PlanePoint {
	all := slices.Clone(points)
	var from *glance.PlanePoint
	for i := range all {
		better := from != nil && from.Color.CCTKelvin == nil && all[i].Color.CCTKelvin != nil && from.Mark != "white"
		if from == nil || better || all[i].Mark == "white" {
			from = &points[i]
		}
	}
	distance := func(at glance.PlanePoint) float64 {
		return math.Hypot(at.Color.UPrime-from.Color.UPrime, at.Color.VPrime-from.Color.VPrime)
	}
	slices.SortStableFunc(all, func(a, b glance.PlanePoint) int {
		switch d := distance(a) - distance(b); {
		case d < 0:
			return -1
		case d > 0:
			return 1
		}
		return 0
	})
	return all
}

func (w *view) at(u, v float64) spot {
	return spot{
		w.frame.left + (u-w.u.low)/w.u.size()*w.frame.width(),
		w.frame.bottom - (v-w.v.low)/w.v.size()*w.frame.height(),
	}
}

func (w *view) spotOf(c colorimetry.UVPrime) spot { return w.at(c.U, c.V) }

func (w *view) draw(p *paper) {
	w.axes(p)
	marks := w.placed()
	for _, m := range marks {
		w.labels.take(around(m.shown, markRadius(m.point.Mark)))
		if m.shown != m.place {
			w.labels.take(around(m.place, 2))
		}
	}
	var notes []func()
	for _, m := range marks {
		n := w.labels.beside(m.shown, markRadius(m.point.Mark), smallEm*bold, w.texts(m.point, len(marks))...)
		notes = append(notes, func() { n.draw(p, "t a", smallEm, m.shown) })
	}
	if !w.wholePlane {
		notes = append(notes, w.arrows(p)...)
		w.directions(p)
	}
	w.loci(p)
	w.rings(p)
	for _, m := range marks {
		m.lead(p)
	}
	for _, m := range marks {
		p.open(pointData(m.point))
		p.mark(m.point.Mark, m.point.Within, m.shown)
		p.close()
	}
	for _, draw := range notes {
		draw()
	}
	p.rect("l", w.frame)
}

// texts are what a point may be called, the fullest first.
func (w *view) texts(at glance.PlanePoint, marks int) []string {
	out := tooWords(at)
	key := fitting(at.Key, (w.labels.inside.width()-4)/bold-width(out, smallEm), smallEm) + out
	if at.Mark != "light" || marks > 12 || w.wholePlane {
		return []string{key}
	}
	return []string{fitting(at.Key+" "+at.Name, 110, smallEm) + out, fitting(at.Key+" "+at.Name, 64, smallEm) + out, key}
}

// tooWords says beside a mark which way it is off: ", too warm".
func tooWords(at glance.PlanePoint) string {
	if at.Within == nil || *at.Within {
		return ""
	}
	if at.Too == "" {
		return ", out"
	}
	return ", " + at.Way()
}

// pointData says in the picture what the answer says.
func pointData(at glance.PlanePoint) attributes {
	a := attributes{"data-mark", at.Mark, "data-key", at.Key, "data-u", number(at.Color.UPrime), "data-v", number(at.Color.VPrime)}
	if !at.Record.IsZero() {
		a = append(a, "data-record", at.Record.String())
	}
	if at.Within != nil {
		a = append(a, "data-within", fmt.Sprint(*at.Within))
	}
	return append(a, colorData(&at.Color)...)
}

func colorData(c *figure.Shown) (a attributes) {
	for _, part := range [...]struct {
		name  string
		value *float64
	}{{"data-cct-kelvin", c.CCTKelvin}, {"data-mired", c.Mired}, {"data-duv", c.Duv}} {
		if part.value != nil {
			a = append(a, part.name, number(*part.value))
		}
	}
	return a
}

// axes draws the ticks around the frame.
func (w *view) axes(p *paper) {
	f, most := w.frame, 5
	if w.wholePlane {
		most = 3
	}
	at, step := w.u.ticks(most)
	for _, u := range at {
		x := w.at(u, w.v.low).x
		p.line("g", "", spot{x, f.bottom}, spot{x, f.bottom + 4})
		text := fmt.Sprintf("%.*f", decimals(step), u)
		p.write("t", smallEm, spot{min(x, Width-2-width(text, smallEm)/2), f.bottom + 17}, "middle", text)
	}
	at, step = w.v.ticks(most)
	for _, v := range at {
		y := w.at(w.u.low, v).y
		p.line("g", "", spot{f.left - 4, y}, spot{f.left, y})
		p.write("t", smallEm, spot{f.left - 6, y + 4}, "end", fmt.Sprintf("%.*f", decimals(step), v))
	}
	p.write("t a", smallEm, spot{f.left - 6, f.top - 4}, "end", "v′")
	p.write("t a", smallEm, spot{f.right, f.bottom + 30}, "end", "u′")
}

// ringDashes keep rings apart in black and white, in the order of the answer.
var ringDashes = [...]string{"1.5 3.5", "8 3", "8 3 1.5 3", "3 3"}

func (w *view) rings(p *paper) {
	for at, ring := range w.plane.Rings {
		if !w.near[ring.About] || w.wholePlane || len(ring.UV) == 0 {
			continue
		}
		spots := make([]spot, 0, len(ring.UV)+1)
		for _, s := range ring.UV {
			spots = append(spots, w.at(s.UPrime, s.VPrime))
		}
		p.open(attributes{"data-ring", ring.About, "data-steps", number(ring.Steps)})
		p.polyline("l", ringDashes[at%len(ringDashes)], append(spots, spots[0]))
		n, from := w.ringLabel(spots, "limit: "+strings.Join(ring.Roles, ", "), number(ring.Steps)+" steps")
		n.draw(p, "s", smallEm, from)
		p.close()
	}
}

// ringLabel finds a free place for a ring's text on the ring itself, else the nearest
// outside: a line leads to it from the ring.
func (w *view) ringLabel(ring []spot, texts ...string) (note, spot) {
	below := slices.Concat(ring[len(ring)*3/4:], ring[:len(ring)*3/4]) // first
	for _, text := range texts {
		if n, ok := w.labels.along(text, smallEm, below); ok {
			return n, spot{}
		}
	}
	var middle spot
	for _, s := range ring {
		middle.x, middle.y = middle.x+s.x/float64(len(ring)), middle.y+s.y/float64(len(ring))
	}
	text := texts[len(texts)-1]
	for _, gap := range farGaps {
		for _, from := range below {
			out := spot{from.x - middle.x, from.y - middle.y}
			long := math.Hypot(out.x, out.y)
			b := labelBox(from, spot{out.x / long, out.y / long}, gap, text, smallEm)
			if w.labels.takeFree(b) {
				return note{text, b, true}, from
			}
		}
	}
	return w.labels.beside(ring[0], 0, smallEm, text), ring[0]
}

// arrows point at what lies outside.
func (w *view) arrows(p *paper) (notes []func()) {
	middle := spot{(w.frame.left + w.frame.right) / 2, (w.frame.top + w.frame.bottom) / 2}
	for _, at := range w.plane.Points {
		if w.near[at.Key] {
			continue
		}
		d := spot{w.at(at.Color.UPrime, at.Color.VPrime).x - middle.x, w.at(at.Color.UPrime, at.Color.VPrime).y - middle.y}
		tip := w.edgeToward(middle, d, 3)
		long := math.Hypot(d.x, d.y)
		d = spot{d.x / long, d.y / long}
		base := spot{tip.x - 12*d.x, tip.y - 12*d.y}
		w.labels.take(around(base, 6))
		n := w.labels.beside(base, 5, smallEm*bold, w.texts(at, len(w.plane.Points))...)
		notes = append(notes, func() {
			p.open(append(pointData(at), "data-outside", "true"))
			p.tag("path", "/>\n", "class", "f", "d",
				"M"+px(tip.x)+" "+px(tip.y)+"L"+px(base.x-5*d.y)+" "+px(base.y+5*d.x)+"L"+px(base.x+5*d.y)+" "+px(base.y-5*d.x)+"Z")
			p.close()
			n.draw(p, "t a", smallEm, base)
		})
	}
	return notes
}

// edgeToward is where a ray from inside meets the frame, drawn in by some pixels.
func (w *view) edgeToward(from, d spot, in float64) spot {
	f := box{w.frame.left + in, w.frame.top + in, w.frame.right - in, w.frame.bottom - in}
	far := math.Inf(1)
	for _, side := range [...]float64{(f.left - from.x) / d.x, (f.right - from.x) / d.x} {
		if side > 0 {
			far = math.Min(far, side)
		}
	}
	for _, side := range [...]float64{(f.top - from.y) / d.y, (f.bottom - from.y) / d.y} {
		if side > 0 {
			far = math.Min(far, side)
		}
	}
	if math.IsInf(far, 0) || math.IsNaN(far) {
		return from
	}
	return spot{from.x + far*d.x, from.y + far*d.y}
}
