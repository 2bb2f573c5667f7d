package wrap

import (
	"fmt"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/rigging"
)

// phones: what a phone alone holds is lost with it.
func (c *check) phones() {
	wrote := c.wroteHere()
	for _, p := range c.known.Phones {
		if p.Own {
			continue
		}
		heard := "never heard since it was paired"
		if p.Heard != 0 {
			heard = "heard last " + c.when(p.Heard)
		}
		last, here := wrote[p.Device]
		switch {
		case p.Unsent != nil && *p.Unsent > 0:
			c.add(UnsentWork, logbook.View{}, WrapItem{
				Words:   fmt.Sprintf("%s holds %s that no server has, %s", p.Label, figure.Counted(*p.Unsent, "change"), heard),
				ToDo:    "open the app on it near the server: it sends by itself; else save it there as a file",
				Address: c.to("handover", logbook.ID{}), Count: *p.Unsent})
		case here && p.Heard != 0 && p.Heard < c.lastMoment(last) && c.now-p.Heard > quiet:
			c.add(PhoneNotHeard, logbook.View{}, WrapItem{
				Words:   fmt.Sprintf("%s wrote on this day and was not heard until its end, %s: it may hold more", p.Label, heard),
				ToDo:    "open the app on it near the server, and look that it says all sent",
				Address: c.to("handover", logbook.ID{})})
		}
	}
	for _, m := range c.known.Missing {
		c.add(EditsMissing, logbook.View{}, WrapItem{Words: fmt.Sprintf("%s known of and not here; held by %s",
			figure.Counted(int(m.Count), "change"), lighting.Listed(m.Holders)), Count: int(m.Count),
			ToDo: "open the app on one of these near the server; evenwhite missing says which", Address: c.to("handover", logbook.ID{})})
	}
}

// quiet is how long a phone may say nothing before it is asked after: it tells of itself more often.
const quiet = logbook.Millis(10 * 60 * 1000)

// when is a moment by the clock on the set, with its date where that is another one.
func (c *check) when(at logbook.Millis) string {
	if date := at.Time().In(c.zone).Format(time.DateOnly); date != c.day.Text("date") {
		return rigging.DateClock(at, c.zone)
	}
	return c.clock(at)
}

// wroteHere are the devices that entered something in the set-ups of the day, and when last.
func (c *check) wroteHere() map[logbook.ID]logbook.Millis {
	wrote := map[logbook.ID]logbook.Millis{}
	for _, setUp := range c.setUps {
		for _, kind := range ofSetUp {
			for _, v := range c.book.Referring(kind, "setUp", setUp.ID) {
				made := v.Created()
				wrote[made.Device] = max(wrote[made.Device], made.Corrected())
			}
		}
	}
	return wrote
}

// lastMoment is the last entry of the day by anybody, not earlier than one that is given.
func (c *check) lastMoment(at logbook.Millis) logbook.Millis {
	for _, setUp := range c.setUps {
		for _, clip := range c.book.Referring(kinds.Clip, "setUp", setUp.ID) {
			at = max(at, lighting.ClipTime(clip))
		}
	}
	return at
}

// ofSetUp are the kinds of records that belong to a set-up.
var ofSetUp = []logbook.Kind{kinds.Light, kinds.Reading, kinds.White, kinds.Sample, kinds.Take, kinds.Clip}
