package picture

import (
	"fmt"
	"math"
	"strings"
	"time"

	"evenwhite/logbook/figure"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/setup"
)

// Of the course over time: what a strip spans at least.
const (
	leastMired = 20
	leastDuv   = 0.008
	leastSteps = 10
	leastTime  = 30 * time.Minute
)

// course is what all strips of a picture share.
type course struct {
	p     *paper
	drift setup.SetUpDrift
	zone  *time.Location
	from  time.Time
	to    time.Time
}

// Drift draws how the lights of a set-up went over time, one below the other. Times
// are written in the zone given.
func Drift(drift setup.SetUpDrift, zone *time.Location) []byte {
	p := &paper{}
	c := &course{p: p, drift: drift, zone: zone}
	c.fit()
	title := "Set-up " + drift.Name + ": lights over time"
	p.heading(title, drift.Headline, c.dates())
	for _, l := range drift.Lights {
		c.light(l)
	}
	p.y += 8
	for _, w := range drift.Whites {
		p.open(append(attributes{"data-white", w.White.String(), "data-from", c.stamp(w.From)}, shownData(w.Color)...))
		p.item(func(s spot) {
			p.tag("line", "/>\n", "class", "l", "stroke-width", "3", "x1", px(s.x-10), "y1", px(s.y), "x2", px(s.x+10), "y2", px(s.y))
		},
			"White "+c.since(w), whiteWords(w))
		p.close()
	}
	p.howToRead("Dots: readings, with a bar as far as the meter can be trusted. " +
		"Heavy line: the white, or the light's own colour; band: the limits about it. " +
		"Dashed: drift, between readings that it rests on; dotted: foreseen, if it goes on, no further ahead than it was seen; " +
		"cross: where it leaves its limits. Triangles: takes. Hollow dot: the lamp was changed before it.")
	return p.finish(title, c.facts())
}

func shownData(s *figure.Shown) attributes {
	if s == nil {
		return nil
	}
	return colorData(s)
}

func whiteWords(w setup.WhiteStep) string {
	if w.Problem != "" {
		return w.Words + "; " + w.Problem
	}
	return w.Words
}

// fit spans readings, takes and the starts of whites.
func (c *course) fit() {
	var all []time.Time
	for _, l := range c.drift.Lights {
		for _, r := range l.Readings {
			all = append(all, r.TakenAt)
		}
		if l.Trend != nil {
			for _, p := range l.Trend.Line {
				all = append(all, p.At)
			}
		}
	}
	for _, t := range c.drift.Takes {
		all = append(all, t.At)
	}
	for _, w := range c.drift.Whites {
		if w.From != nil {
			all = append(all, *w.From)
		}
	}
	if len(all) == 0 {
		all = append(all, c.drift.At)
	}
	c.from, c.to = all[0], all[0]
	for _, t := range all {
		if t.Before(c.from) {
			c.from = t
		}
		if t.After(c.to) {
			c.to = t
		}
	}
	if long := c.to.Sub(c.from); long < leastTime {
		c.from, c.to = c.from.Add((long-leastTime)/2), c.to.Add((leastTime-long)/2)
	}
	room := c.to.Sub(c.from) / 25
	c.from, c.to = c.from.Add(-room).In(c.zone), c.to.Add(room).In(c.zone)
}

// dates says which days the times belong to.
func (c *course) dates() string {
	first, last := c.from.Format("2 January 2006"), c.to.Format("2 January 2006")
	if first != last {
		first += " to " + last
	}
	return first + ", times in " + figure.UTCOffset(c.from)
}

func (c *course) stamp(t *time.Time) string {
	if t == nil {
		return "start"
	}
	return t.Format(time.RFC3339)
}

func (c *course) since(w setup.WhiteStep) string {
	if w.From == nil {
		return "from the start"
	}
	return "from " + c.clock(*w.From)
}

// clock is a time with its day where the picture shows several.
func (c *course) clock(t time.Time) string {
	t = t.In(c.zone)
	if c.from.Format(time.DateOnly) != c.to.Format(time.DateOnly) {
		return t.Format("2 Jan 15:04")
	}
	return t.Format("15:04")
}

const stripLeft, stripRight = 52, Width - 54

func (c *course) x(t time.Time) float64 {
	return stripLeft + float64(t.Sub(c.from))/float64(c.to.Sub(c.from))*(stripRight-stripLeft)
}

func lightHeading(l setup.LightDrift) string {
	if l.Light.IsZero() {
		return cleaned(l.Name)
	}
	return pointHeading(glance.PlanePoint{Mark: "light", Key: l.Key, Name: l.Name, Role: l.Role, Intent: l.Intent})
}

// light draws the strips of one light, and its readings as a list.
func (c *course) light(l setup.LightDrift) {
	p := c.p
	p.y += 14
	p.line("g", "", spot{edge, p.y - 4}, spot{Width - edge, p.y - 4})
	p.open(attributes{"data-light", l.Key})
	p.paragraph("t a", textEm+1, edge, lightHeading(l))
	if l.Trend != nil && l.Trend.Headline != "" && !strings.HasSuffix(c.drift.Headline, l.Trend.Headline) {
		p.paragraph("t a", textEm, edge, capital(l.Trend.Headline))
	}
	if l.Words != "" {
		p.paragraph("t", textEm, edge, l.Words)
	}
	strips := c.stripsOf(l)
	for _, s := range strips {
		c.strip(l, s)
	}
	if len(strips) > 0 {
		c.timeAxis()
	}
	c.list(l)
	p.close()
}

// list folds the readings of a light to those that matter, the others stand in the picture
// and in its description.
func (c *course) list(l setup.LightDrift) {
	kept := telling(l.Readings)
	for _, i := range kept {
		c.p.paragraph("t", smallEm, edge, c.readingWords(l.Readings[i]))
	}
	if more := len(l.Readings) - len(kept); more > 0 {
		c.p.paragraph("s", smallEm, edge, fmt.Sprintf("and %s between them", figure.Counted(more, "more reading")))
	}
	if words := c.forecastWords(l); words != "" {
		c.p.paragraph("t", smallEm, edge, words)
	}
}

// telling are the readings that are worth a line, by time: the first and the last, and those
// between that are warmest, coolest or farthest off, where they are beyond both.
func telling(all []setup.DriftReading) (kept []int) {
	if len(all) == 0 {
		return nil
	}
	last := len(all) - 1
	keep := map[int]bool{0: true, last: true}
	extreme := func(value func(setup.DriftReading) *float64, sign float64) {
		best, at := math.Inf(-1), -1
		for i, r := range all {
			if v := value(r); v != nil && sign*(*v) > best {
				best, at = sign*(*v), i
			}
		}
		ends := value(all[0]) != nil && sign*(*value(all[0])) == best || value(all[last]) != nil && sign*(*value(all[last])) == best
		if at >= 0 && !ends {
			keep[at] = true
		}
	}
	mired := func(r setup.DriftReading) *float64 {
		if r.Color == nil {
			return nil
		}
		return r.Color.Mired
	}
	extreme(mired, 1)
	extreme(mired, -1)
	extreme(func(r setup.DriftReading) *float64 { return r.StepsOff }, 1)
	for i := range all {
		if keep[i] {
			kept = append(kept, i)
		}
	}
	return kept
}

// forecastWords is the end of what is foreseen; "" where nothing is.
func (c *course) forecastWords(l setup.LightDrift) string {
	if l.Trend == nil || len(l.Trend.Line) < 3 {
		return ""
	}
	end := l.Trend.Line[2]
	words := fmt.Sprintf("%s  foreseen, if it goes on: %.0f mired, Duv %+.4f", c.clock(end.At), end.Mired, end.Duv)
	if at := l.Trend.LeavesAt; at != nil {
		words += "; it leaves its limits about " + c.clock(*at)
	}
	return words
}

// readingWords is a reading in one line.
func (c *course) readingWords(r setup.DriftReading) string {
	words := c.clock(r.TakenAt) + "  "
	if r.Color == nil {
		words += r.Problem
	} else {
		words += r.Color.Words
		if r.Color.FloorMired != nil {
			words += fmt.Sprintf(" ±%g mired", *r.Color.FloorMired)
		}
	}
	if r.StepsOff != nil {
		words += fmt.Sprintf(", %g steps off", *r.StepsOff)
	}
	if r.IlluminanceLux != nil {
		words += fmt.Sprintf(", %g lux", *r.IlluminanceLux)
	}
	for _, more := range []string{r.Sky, r.Position} {
		if more != "" {
			words += ", " + more
		}
	}
	for _, changed := range r.Changed {
		words += "; changed: " + changed
	}
	return words
}

func (c *course) facts() []string {
	facts := []string{capital(c.drift.Headline) + ".", c.drift.Words + ". On " + c.dates() + "."}
	for _, l := range c.drift.Lights {
		facts = append(facts, lightHeading(l)+": "+l.Words+".")
		for _, r := range l.Readings {
			facts = append(facts, c.readingWords(r)+".")
		}
		if words := c.forecastWords(l); words != "" {
			facts = append(facts, words+".")
		}
	}
	for _, w := range c.drift.Whites {
		facts = append(facts, "White "+c.since(w)+": "+whiteWords(w)+".")
	}
	for _, t := range c.drift.Takes {
		facts = append(facts, t.Name+" at "+c.clock(t.At)+".")
	}
	return facts
}

// timeAxis stands below the last strip: ticks, then the takes.
func (c *course) timeAxis() {
	p := c.p
	ticks, layout := timeTicks(c.from, c.to, 5)
	p.write("s", smallEm, spot{edge, p.y + 16}, "start", "time")
	end := edge + width("time", smallEm)
	for _, t := range ticks {
		x := c.x(t)
		p.line("g", "", spot{x, p.y}, spot{x, p.y + 4})
		text := t.Format(layout)
		left := x - width(text, smallEm)/2
		if left > end && left > 2 && left+width(text, smallEm) < Width-2 {
			p.write("t", smallEm, spot{x, p.y + 16}, "middle", text)
			end = left + width(text, smallEm)
		}
	}
	p.y += 22
	if len(c.drift.Takes) == 0 {
		return
	}
	p.write("s", smallEm, spot{edge, p.y + 12}, "start", "takes")
	end = edge + width("takes", smallEm)
	for _, t := range c.drift.Takes {
		x := c.x(t.At)
		p.open(attributes{"data-take", t.Take.String(), "data-key", t.Key})
		p.tag("path", "/>\n", "class", "f", "d", "M"+px(x)+" "+px(p.y-1)+"L"+px(x+4)+" "+px(p.y+6)+"L"+px(x-4)+" "+px(p.y+6)+"Z")
		text := fitting(t.Key, 60, smallEm)
		left := min(x-width(text, smallEm)/2, Width-2-width(text, smallEm))
		if left > end+3 {
			p.write("t", smallEm, spot{left, p.y + 18}, "start", text)
			end = left + width(text, smallEm)
		}
		p.close()
	}
	p.y += 22
}
