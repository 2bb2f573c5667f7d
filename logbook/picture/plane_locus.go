package picture

import (
	"fmt"
	"math"

	"evenwhite/colorimetry"
	"evenwhite/colorimetry/tables"
)

// loci draws the lines of white light, and lines of one temperature as far as there
// is room for their names.
func (w *view) loci(p *paper) {
	f := w.frame
	var blackBody, daylight []spot
	for mired := 20.0; mired <= 1000; mired += 2 {
		k := colorimetry.Kelvin(1e6 / mired)
		if uv, err := colorimetry.Planckian(k); err == nil {
			blackBody = append(blackBody, w.spotOf(uv.UVPrime()))
		}
		if xy, err := colorimetry.DaylightXY(k); err == nil {
			daylight = append(daylight, w.spotOf(xy.UVPrime()))
		}
	}
	p.clipped("l", "", f, blackBody)
	if w.wholePlane {
		return
	}
	p.clipped("l", "8 5", f, daylight)
	w.isotherms(p)
}

// isothermKelvins are offered in this order: the temperatures that sets speak of
// first.
var isothermKelvins = [...]float64{
	5600, 3200, 10000, 2000, 4300, 6500, 2700, 8000, 20000, 1500, 5000, 4000, 3600, 3000, 7000, 2400, 6000, 2200,
	1000, 12000, 15000, 4600, 5300, 9000, 50000, 1200, 1700, 3400, 2850, 3800, 5800, 6200, 7500, 30000, 5200, 5400, 4800, 4150, 4450,
}

const (
	isothermDuv  = 0.02 // how far a line leads to both sides of the black body
	isothermRoom = 46   // px between two of them
)

func (w *view) isotherms(p *paper) {
	var drawn []spot
	for _, k := range isothermKelvins {
		var ends [3]spot
		off := false
		for i, duv := range [...]float64{-isothermDuv, 0, isothermDuv} {
			xy, err := colorimetry.CCTDuv{CCT: colorimetry.Kelvin(k), Duv: colorimetry.Duv(duv)}.XY()
			off = off || err != nil // so far from the black body there is no such temperature
			ends[i] = w.spotOf(xy.UVPrime())
		}
		free := !off
		for _, o := range drawn {
			free = free && math.Hypot(o.x-ends[1].x, o.y-ends[1].y) >= isothermRoom
		}
		a, b, ok := clip(w.frame, ends[0], ends[2])
		if !free || !ok {
			continue
		}
		var places []spot
		for _, t := range [...]float64{0.04, 0.12, 0.2, 0.96, 0.88, 0.3, 0.75} {
			places = append(places, spot{a.x + t*(b.x-a.x), a.y + t*(b.y-a.y)})
		}
		n, ok := w.labels.along(fmt.Sprintf("%g K", k), smallEm, places)
		if !ok || math.Hypot(b.x-a.x, b.y-a.y) < 30 {
			continue
		}
		drawn = append(drawn, ends[1])
		p.line("g", "", a, b)
		n.draw(p, "s", smallEm, spot{})
	}
}

// directions says which way the picture turns, from the white on.
func (w *view) directions(p *paper) {
	centre := spot{(w.frame.left + w.frame.right) / 2, (w.frame.top + w.frame.bottom) / 2}
	here := colorimetry.CCTDuv{CCT: 5000}
	if xy, err := (colorimetry.UVPrime{U: (w.u.low + w.u.high) / 2, V: (w.v.low + w.v.high) / 2}).XY(); err == nil {
		if t, err := xy.CCTDuv(); err == nil {
			here = t
		}
	}
	for _, d := range [...]struct {
		words string
		mired colorimetry.Mired
		duv   colorimetry.Duv
	}{{"warmer", 4, 0}, {"cooler", -4, 0}, {"greener", 0, 0.002}, {"more magenta", 0, -0.002}} {
		from, to := here, here
		k, err := (here.Mired() + d.mired).Kelvin()
		if err != nil {
			continue
		}
		from.Duv, to.CCT, to.Duv = 0, k, d.duv
		a, err := from.XY()
		b, err2 := to.XY()
		if err != nil || err2 != nil {
			continue
		}
		s, t := w.spotOf(a.UVPrime()), w.spotOf(b.UVPrime())
		way := spot{t.x - s.x, t.y - s.y}
		var places []spot
		for _, in := range [...]float64{10, 24, 38, 52, 66, 80} {
			places = append(places, w.edgeToward(centre, way, in))
		}
		if n, ok := w.labels.along(arrow(way)+" "+d.words, smallEm, places); ok {
			n.draw(p, "s", smallEm, spot{})
		}
	}
}

// arrow is the sign that points nearest to a direction on the paper.
func arrow(way spot) string {
	eighth := int(math.Round(math.Atan2(way.y, way.x)/(math.Pi/4))) + 8
	return [...]string{"→", "↘", "↓", "↙", "←", "↖", "↑", "↗"}[eighth%8]
}

// clip cuts a line at the sides of a box; ok is false where nothing is left.
func clip(b box, from, to spot) (spot, spot, bool) {
	low, high := 0.0, 1.0
	dx, dy := to.x-from.x, to.y-from.y
	for _, side := range [...][2]float64{{-dx, from.x - b.left}, {dx, b.right - from.x}, {-dy, from.y - b.top}, {dy, b.bottom - from.y}} {
		switch {
		case side[0] == 0 && side[1] < 0:
			return from, to, false
		case side[0] < 0:
			low = math.Max(low, side[1]/side[0])
		case side[0] > 0:
			high = math.Min(high, side[1]/side[0])
		}
	}
	if low > high {
		return from, to, false
	}
	return spot{from.x + low*dx, from.y + low*dy}, spot{from.x + high*dx, from.y + high*dy}, true
}

// clipped draws a line as far as it lies inside a box.
func (p *paper) clipped(class, dash string, b box, spots []spot) {
	var part []spot
	for i := 1; i < len(spots); i++ {
		from, to, ok := clip(b, spots[i-1], spots[i])
		if !ok {
			continue
		}
		if len(part) > 0 && part[len(part)-1] != from {
			p.polyline(class, dash, part)
			part = nil
		}
		if len(part) == 0 {
			part = append(part, from)
		}
		part = append(part, to)
	}
	p.polyline(class, dash, part)
}

// spectrum is the line of the pure colours, closed by the purples. Beyond these
// wavelengths it hardly moves.
func (w *view) spectrum(p *paper) {
	var spots []spot
	const first, from, to = 360, 420, 700
	for nm := from; nm <= to; nm += 2 {
		row := tables.Observer1931[nm-first]
		xy, err := colorimetry.XYZ{X: row[0], Y: row[1], Z: row[2]}.XY()
		if err == nil {
			spots = append(spots, w.spotOf(xy.UVPrime()))
		}
	}
	p.polyline("l", "", append(spots, spots[0]))
}
