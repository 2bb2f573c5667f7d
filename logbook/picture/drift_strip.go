package picture

import (
	"fmt"
	"math"
	"time"

	"evenwhite/logbook/figure"
	"evenwhite/logbook/setup"
)

// strip is one quantity of one light over time.
type strip struct {
	name     string // and unit
	up       string // what more of it is
	high     float64
	least    float64
	value    func(*figure.Shown) *float64 // of a colour
	reading  func(setup.DriftReading) *float64
	floor    func(*figure.Shown) *float64
	below    float64 // the limits about the white
	above    float64
	banded   bool
	line     func(setup.LinePoint) float64 // of the drift
	kelvin   bool
	whole    bool // begins at 0
	dataName string
}

// stripsOf are the quantities that a light was measured in.
func (c *course) stripsOf(l setup.LightDrift) (all []strip) {
	white, lux, coloured := false, 0, false
	for _, r := range l.Readings {
		if r.Color != nil {
			coloured = true
			white = white || r.Color.Mired != nil
		}
		if r.IlluminanceLux != nil {
			lux++
		}
	}
	var limits figure.Limits
	banded := l.Limits != nil
	if banded {
		limits = *l.Limits
	}
	if white {
		m := strip{
			name: "mired", up: "warmer", high: 92, least: leastMired, kelvin: true, dataName: "data-mired",
			banded: banded, below: limits.Mired, above: limits.Mired,
			value: func(s *figure.Shown) *float64 { return s.Mired }, floor: func(s *figure.Shown) *float64 { return s.FloorMired },
		}
		d := strip{
			name: "Duv", up: "greener", high: 64, least: leastDuv, dataName: "data-duv",
			banded: banded, below: limits.DuvMagenta, above: limits.DuvGreen,
			value: func(s *figure.Shown) *float64 { return s.Duv }, floor: func(s *figure.Shown) *float64 { return s.FloorDuv },
		}
		m.line = func(p setup.LinePoint) float64 { return p.Mired }
		d.line = func(p setup.LinePoint) float64 { return p.Duv }
		all = append(all, m, d)
	} else if coloured {
		s := strip{name: "steps off", high: 72, least: leastSteps, whole: true, banded: banded, above: limits.Steps, dataName: "data-steps",
			reading: func(r setup.DriftReading) *float64 { return r.StepsOff }}
		all = append(all, s)
	}
	if lux > 1 {
		all = append(all, strip{name: "lux", up: "brighter", high: 48, least: 1, whole: true, dataName: "data-lux",
			reading: func(r setup.DriftReading) *float64 { return r.IlluminanceLux }})
	}
	return all
}

// of is the quantity of a reading.
func (s strip) of(r setup.DriftReading) *float64 {
	if s.reading != nil {
		return s.reading(r)
	}
	if r.Color == nil {
		return nil
	}
	return s.value(r.Color)
}

// level is what a light is judged by from one time to another.
type level struct {
	from, to time.Time
	value    float64
}

// levels are the whites over time, or the light's own colour; of steps the 0 that
// they are counted from.
func (c *course) levels(l setup.LightDrift, s strip) (all []level) {
	if s.reading != nil {
		if s.banded {
			all = append(all, level{c.from, c.to, 0})
		}
		return all
	}
	if l.OwnColor != nil {
		if v := s.value(l.OwnColor); v != nil {
			all = append(all, level{c.from, c.to, *v})
		}
		return all
	}
	for _, w := range c.drift.Whites {
		if w.Color == nil || s.value(w.Color) == nil {
			continue
		}
		at := level{c.from, c.to, *s.value(w.Color)}
		if w.From != nil && w.From.After(at.from) {
			at.from = *w.From
		}
		if w.Until != nil && w.Until.Before(at.to) {
			at.to = *w.Until
		}
		if at.from.Before(at.to) {
			all = append(all, at)
		}
	}
	return all
}

// fitStrip is the range that a strip shows: its readings, and where they are judged also
// the white with its limits.
func (c *course) fitStrip(l setup.LightDrift, s strip, levels []level) span {
	y := nothing
	for _, r := range l.Readings {
		v := s.of(r)
		if v == nil {
			continue
		}
		y.add(*v)
		if f := c.floorOf(s, r); f > 0 {
			y.add(*v - f)
			y.add(*v + f)
		}
	}
	if s.banded {
		for _, at := range levels {
			y.add(at.value - s.below)
			y.add(at.value + s.above)
		}
	}
	if s.line != nil && l.Trend != nil {
		for _, at := range l.Trend.Line {
			y.add(s.line(at))
		}
	}
	if s.whole {
		y.add(0)
		y.add(s.least)
		return span{0, y.high * 1.12}
	}
	return y.widened(s.least, 0.1)
}

func (c *course) floorOf(s strip, r setup.DriftReading) float64 {
	if s.floor == nil || r.Color == nil || s.floor(r.Color) == nil {
		return 0
	}
	return *s.floor(r.Color)
}

func (c *course) strip(l setup.LightDrift, s strip) {
	p := c.p
	levels := c.levels(l, s)
	y := c.fitStrip(l, s, levels)
	top := p.y + 20
	frame := box{stripLeft, top, stripRight, top + s.high}
	to := func(v float64) float64 { return frame.bottom - (v-y.low)/y.size()*frame.height() }
	within := func(v float64) float64 { return to(min(max(v, y.low), y.high)) }
	head := s.name
	if s.up != "" {
		head += ", up is " + s.up
	}
	p.write("t a", smallEm, spot{stripLeft, top - 5}, "start", head)
	if s.kelvin {
		p.write("t a", smallEm, spot{stripRight + 6, top - 5}, "start", "K")
	}
	p.open(attributes{"data-strip", s.name})
	for _, at := range levels {
		if s.banded {
			p.rect("b", box{c.x(at.from), within(at.value + s.above), c.x(at.to), within(at.value - s.below)})
		}
	}
	c.ticks(s, y, frame, to)
	for _, at := range levels {
		if y.has(at.value) {
			p.tag("line", "/>\n", "class", "l", "stroke-width", "3", "x1", px(c.x(at.from)), "y1", px(to(at.value)),
				"x2", px(c.x(at.to)), "y2", px(to(at.value)))
		}
	}
	for _, t := range c.drift.Takes {
		p.line("g", "1 4", spot{c.x(t.At), frame.top}, spot{c.x(t.At), frame.bottom})
	}
	p.rect("l", frame)
	if s.line != nil && l.Trend != nil {
		c.trend(l, s, frame, to)
	}
	for _, r := range l.Readings {
		if v := s.of(r); v != nil {
			c.dot(s, r, *v, c.floorOf(s, r), to)
		}
	}
	p.close()
	p.y = frame.bottom
}

// trend draws the line of drift: dashed between the readings that it rests on, dotted as
// far as it is foreseen, with a cross where it leaves the limits.
func (c *course) trend(l setup.LightDrift, s strip, frame box, to func(float64) float64) {
	p, line := c.p, l.Trend.Line
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		name, dashes := "data-trend", "6 4"
		if i == 2 {
			name, dashes = "data-forecast", "1.5 4"
		}
		p.tag("line", "/>\n", "class", "l", "stroke-width", "2", "stroke-dasharray", dashes, name, l.Key,
			"x1", px(c.x(a.At)), "y1", px(to(s.line(a))), "x2", px(c.x(b.At)), "y2", px(to(s.line(b))))
	}
	at := l.Trend.LeavesAt
	if at == nil || len(line) < 3 {
		return
	}
	part := float64(at.Sub(line[1].At)) / float64(line[2].At.Sub(line[1].At))
	x, y := c.x(*at), to(s.line(line[1])+part*(s.line(line[2])-s.line(line[1])))
	p.open(attributes{"data-leaves", at.Format(time.RFC3339)})
	const arm = 5
	p.line("l", "", spot{x - arm, y - arm}, spot{x + arm, y + arm})
	p.line("l", "", spot{x - arm, y + arm}, spot{x + arm, y - arm})
	text := c.clock(*at)
	w := width(text, smallEm)
	left := min(max(x-w/2, frame.left+3), frame.right-3-w)
	baseline := y - arm - 4
	if baseline < frame.top+10 {
		baseline = y + arm + 12
	}
	p.write("t", smallEm, spot{left, baseline}, "start", text)
	p.close()
}

// ticks writes the values on the left, and what mired is in kelvin on the right.
func (c *course) ticks(s strip, y span, frame box, to func(float64) float64) {
	most := max(2, int(s.high/18))
	at, step := y.ticks(most)
	for _, v := range at {
		text := fmt.Sprintf("%.*f", decimals(step), v)
		if v >= 1e4 {
			text = fmt.Sprintf("%g k", v/1e3)
		}
		c.p.line("g", "", spot{frame.left - 4, to(v)}, spot{frame.right, to(v)})
		baseline := min(max(to(v)+4, frame.top+9), frame.bottom)
		c.p.write("t", smallEm, spot{frame.left - 6, baseline}, "end", text)
		if s.kelvin && v >= 10 {
			c.p.write("s", smallEm, spot{frame.right + 6, baseline}, "start", fmt.Sprintf("%.0f", kelvinShown(v)))
		}
	}
}

// kelvinShown is a tick of mired in kelvin, to three digits.
func kelvinShown(mired float64) float64 {
	k := 1e6 / mired
	unit := math.Pow(10, math.Floor(math.Log10(k))-2)
	return math.Round(k/unit) * unit
}

// dot draws a reading with the bar of its meter.
func (c *course) dot(s strip, r setup.DriftReading, v, floor float64, to func(float64) float64) {
	x, class := c.x(r.TakenAt), "f"
	if len(r.Changed) > 0 {
		class = "h"
	}
	c.p.open(attributes{"data-reading", r.Reading.String(), s.dataName, number(v)})
	if floor > 0 {
		c.p.line("l", "", spot{x, to(v - floor)}, spot{x, to(v + floor)})
		c.p.line("l", "", spot{x - 3, to(v - floor)}, spot{x + 3, to(v - floor)})
		c.p.line("l", "", spot{x - 3, to(v + floor)}, spot{x + 3, to(v + floor)})
	}
	c.p.tag("circle", "/>\n", "class", class, "stroke-width", "1.5", "cx", px(x), "cy", px(to(v)), "r", "3.5")
	c.p.close()
}
