package demo

import (
	"fmt"
	"math"
	"regexp"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// The data is written for these days and this zone, and ends at this time of the last day.
const (
	firstDate = "2026-03-04"
	lastDate  = "2026-03-07"
	lastClock = "12:24:58"
)

// A calendar says on which days, and in which zone, the production is laid. The clock on the
// set stays as it is written, so that times, timecodes and words agree.
type calendar struct {
	days int // later than written
	zone *time.Location
}

// settled is how long before it is filled the production ends at least: nothing in it is of
// the future, also by a clock that is some minutes off. A choice of this program.
const settled = 5 * time.Minute

// calendarFor lays the production so that its last day is today and its last entry less than
// 65 minutes old: in the zone in which it is that time of day now.
func calendarFor(now logbook.Millis) calendar {
	end, _ := time.Parse(time.TimeOnly, lastClock)
	utc := now.Time()
	ahead := end.Sub(end.Truncate(24*time.Hour)) + settled - utc.Sub(utc.Truncate(24*time.Hour))
	hours := int(math.Ceil(ahead.Hours()))
	if hours > 12 {
		hours -= 24
	}
	c := calendar{zone: zoneOf(hours)}
	c.days = daysAfter(lastDate, utc.In(c.zone).Format(time.DateOnly))
	return c
}

// calendarIn is the one by which a log was filled before; ok is false where it was not.
func calendarIn(b *logbook.Book) (c calendar, ok bool) {
	production, ok := b.RecordOf(kinds.Production, Production)
	if !ok {
		return c, false
	}
	for _, e := range production.Edits() {
		change, said := e.Change("timeZone")
		name, _ := change.Value.Text()
		if e.Dot != (logbook.Dot{Line: lineOf("DIT"), N: 1}) || !said {
			continue
		}
		for hours := -11; hours <= 12; hours++ {
			if c.zone = zoneOf(hours); c.zone.String() == name {
				c.days = daysAfter(firstDate, e.Corrected().Time().In(c.zone).Format(time.DateOnly))
				return c, true
			}
		}
	}
	return c, false
}

// zoneOf is the zone so many hours ahead of UTC; the names count the other way.
func zoneOf(hours int) *time.Location {
	if hours == 0 {
		return time.FixedZone("Etc/GMT", 0)
	}
	return time.FixedZone(fmt.Sprintf("Etc/GMT%+d", -hours), hours*3600)
}

func daysAfter(from, to string) int {
	a, _ := time.Parse(time.DateOnly, from)
	b, _ := time.Parse(time.DateOnly, to)
	return int(b.Sub(a) / (24 * time.Hour))
}

// written finds what the calendar moves: instants, dates, and the name of the zone.
var written = regexp.MustCompile(`"(?:(\d{4}-\d\d-\d\d)(?:(T\d\d:\d\d:\d\d)\+01:00)?|Etc/GMT-1)"`)

// move lays what a line says on the days of the calendar.
func (c calendar) move(line string) string {
	return written.ReplaceAllStringFunc(line, func(text string) string {
		found := written.FindStringSubmatch(text)
		switch {
		case found[1] == "":
			return `"` + c.zone.String() + `"`
		case found[2] == "":
			return `"` + c.date(found[1]) + `"`
		}
		return `"` + c.date(found[1]) + found[2] + time.Time{}.In(c.zone).Format("-07:00") + `"`
	})
}

func (c calendar) date(written string) string {
	t, err := time.Parse(time.DateOnly, written)
	if err != nil {
		return written
	}
	return t.AddDate(0, 0, c.days).Format(time.DateOnly)
}

func (c calendar) localTime(date, clock string) (logbook.Millis, error) {
	t, err := time.ParseInLocation(time.DateTime, date+" "+clock, c.zone)
	return logbook.MillisOf(t), err
}
