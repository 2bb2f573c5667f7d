package picture

import (
	"math"

	"evenwhite/logbook/glance"
)

// placedMark is a point, its place on the paper, and where its mark is drawn: there, or
// beside it, where another mark would be covered.
type placedMark struct {
	point        glance.PlanePoint
	place, shown spot
}

// How far beside its place a mark may stand: the nearest that is free.
var besides = [...]float64{16, 20, 26, 32, 40, 50, 62, 76, 92, 110}

// placed finds a place for each mark, in the order of the answer, so that none covers
// another.
func (w *view) placed() (all []placedMark) {
	for _, at := range w.plane.Points {
		if !w.near[at.Key] && !w.wholePlane {
			continue
		}
		m := placedMark{point: at, place: w.at(at.Color.UPrime, at.Color.VPrime)}
		m.shown = m.place
		if !m.free(all) {
			m.shown = w.beside(m, all)
		}
		all = append(all, m)
	}
	return all
}

func (w *view) beside(m placedMark, all []placedMark) spot {
	for _, far := range besides {
		for _, d := range directions {
			long := math.Hypot(d.x, d.y)
			try := placedMark{m.point, m.place, spot{m.place.x + far*d.x/long, m.place.y + far*d.y/long}}
			if w.frame.holds(around(try.shown, markRadius(m.point.Mark)+2)) && try.free(all) {
				return try.shown
			}
		}
	}
	return m.place
}

// free reports whether a mark covers none of the others, nor the place of one that stands
// beside it. A light or the mix on the white is seen in its ring.
func (m placedMark) free(all []placedMark) bool {
	r := coverRadius(m.point)
	for _, o := range all {
		if o.point.Mark == "white" && (m.point.Mark == "light" || m.point.Mark == "mix") {
			continue
		}
		if apart(m.shown, o.shown) < r+coverRadius(o.point) || o.shown != o.place && apart(m.shown, o.place) < r+2 {
			return false
		}
	}
	return true
}

// apart is how far apart two spots are, across or down: marks are square or fit in one.
func apart(a, b spot) float64 { return math.Max(math.Abs(a.x-b.x), math.Abs(a.y-b.y)) }

// lead draws a line from the place of a mark to where it is shown.
func (m placedMark) lead(p *paper) {
	if m.shown != m.place {
		p.line("l", "", m.place, m.shown)
		p.tag("circle", "/>\n", "class", "f", "cx", px(m.place.x), "cy", px(m.place.y), "r", "2")
	}
}
