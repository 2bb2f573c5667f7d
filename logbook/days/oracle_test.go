package days_test

import (
	"math"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// The oracle states once more which reading speaks of a light at a moment. It knows readings,
// states and moments, and nothing of whites, cameras or what the program makes of them.
type oracle struct {
	facts
	limit func(light logbook.View) float64
}

// A course is a light with all that was said and read of it.
type course struct {
	*oracle
	fields  [][]said
	read    []*seenReading
	changes []logbook.Millis // that nobody typed
	sky     bool
}

// An answer is what speaks of a light: before, after, between, or nothing.
type answer struct {
	how         string
	first, then *seenReading
}

const (
	remeasure = 90 * minute
	longAgo   = logbook.Millis(math.MinInt64 / 2)
)

func oracleOf(b *logbook.Book, setUp logbook.ID, limit func(logbook.View) float64) *oracle {
	o := &oracle{facts{book: b, setUp: setUp}, limit}
	o.learn()
	return o
}

// history is what was said of one field of a light. Gels that nobody named are none; another
// field that is named for the first time tells how it was all along.
func (o *oracle) history(light logbook.View, field string) []said {
	all := o.typed(light, "rigged/"+field)
	for _, r := range o.readings {
		if v := o.says(r.view, "lightsAsSet/"+light.ID.String()).Member(field); v != "" {
			all = append(all, said{at: r.at, value: string(v), dot: r.dot})
		}
	}
	if slices.SortFunc(all, inTime); len(all) > 0 && field != "gels" && !all[0].since {
		all[0].at = longAgo
	}
	return all
}

// courseOf is the course of a light, for its colour or for what it adds to the mix: there its
// level counts always, and of its readings those with lux.
func (o *oracle) courseOf(light logbook.View, forMix bool) *course {
	c := &course{oracle: o, sky: ofSky(light)}
	lamp, lamped := o.book.RecordOf(kinds.Lamp, light.Ref("lamp"))
	for _, field := range []string{"dialKelvin", "dialGreenMagenta", "gels", "levelPercent"} {
		if field != "levelPercent" || forMix || lamp.Text("dimsWarmer") != "no" {
			c.fields = append(c.fields, o.history(light, field))
		}
	}
	if c.sky {
		c.fields = append(c.fields, o.skies)
	}
	if forMix { // what nobody typed shows in readings without lux as well
		c.changes = o.courseOf(light, false).changes
	}
	for i := range o.readings {
		r := &o.readings[i]
		if r.of != light.ID || forMix && r.view.Value("illuminance") == "" {
			continue
		}
		for k := len(c.read) - 1; k >= 0 && lamped && !forMix; k-- {
			if b := c.read[k]; b.position == r.position && c.state(b.at) == c.state(r.at) {
				if math.Abs(math.Round(r.mired-b.mired)) > 2*o.limit(light) {
					c.changes = append(c.changes, r.at)
				}
				break
			}
		}
		c.read = append(c.read, r)
	}
	return c
}

func (c *course) state(at logbook.Millis) (state string) {
	for _, f := range c.fields {
		value := ""
		for _, s := range f {
			if s.at <= at {
				value = s.value
			}
		}
		state += strings.TrimPrefix(value, "[]") + "|" // no gels
	}
	return state
}

// steady: nothing was changed after one moment, up to another.
func (c *course) steady(after, upTo logbook.Millis) bool {
	over := slices.ContainsFunc(c.changes, func(at logbook.Millis) bool { return after < at && at <= upTo })
	for _, f := range c.fields {
		for _, s := range f {
			over = over || after < s.at && s.at <= upTo && c.state(s.at) != c.state(after)
		}
	}
	return !over
}

// at is what speaks of the light at a moment.
func (c *course) at(t logbook.Millis) (a answer) {
	from := longAgo // of what nobody typed before it, every reading is over
	for _, at := range c.changes {
		if at <= t {
			from = at
		}
	}
	for _, r := range c.read {
		switch {
		case r.at <= t && r.at >= from && c.state(r.at) == c.state(t):
			a.first = r
		case r.at > t && a.then == nil && c.steady(t, r.at):
			a.then = r
		}
	}
	switch {
	case a.first != nil && c.sky && a.first.at < t && a.then != nil && c.steady(a.first.at, a.then.at):
		a.how = "between"
	case a.first != nil:
		a.how = "before"
	case a.then != nil && a.then.at-t <= remeasure:
		a.how = "after"
	}
	return a
}
