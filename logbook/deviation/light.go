package deviation

import (
	"fmt"
	"maps"
	"slices"
	"unicode/utf8"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// lightFindings judge each light as it was at every take, and now while somebody works here.
// A light that was first read after a take is not judged at it.
func (s *Finder) lightFindings() (all []sighting) {
	moments := s.Moments()
	off := map[string][][]sighting{} // by side, what is so of one light
	var turned [][]sighting
	for _, light := range s.Lights() {
		c := s.Course(light)
		var of judged
		var stale []sighting
		sides := map[string][]sighting{}
		for _, at := range moments {
			if !c.OnAt(at.At) {
				continue
			}
			spoken := s.Light(light, at.At)
			if f, ok := s.outOfDate(light, spoken, at); ok {
				stale = append(stale, f)
			}
			if spoken.Reading == nil || spoken.How == lighting.After {
				continue
			}
			// Most takes are judged by one reading: what it says is worked out once.
			if spoken.How == lighting.Between || spoken.Reading != of.reading || at.Period != of.period {
				of = judged{reading: spoken.Reading, period: at.Period}
				of.off, of.isOff = s.lightOff(light, spoken, at)
				of.drifted, of.hasDrifted = s.drifted(light, spoken, at)
			}
			if of.isOff {
				side := of.off.side()
				sides[side] = append(sides[side], of.off.at(at))
			}
			if of.hasDrifted {
				all = append(all, of.drifted.at(at))
			}
		}
		for side, run := range sides {
			off[side] = append(off[side], run)
		}
		runs, aged := turnedApart(nowApart(stale))
		turned, all = append(turned, runs...), append(all, aged...)
		if f, ok := s.changed(light, c); ok {
			all = append(all, f)
		}
	}
	all = append(all, together(causeOf(ReadingStale, s.View().ID, "turned"), turned)...)
	for _, side := range slices.Sorted(maps.Keys(off)) {
		all = append(all, s.lightsOff(side, off[side], moments)...)
	}
	return all
}

// nowApart keeps what is out of date now from changing what is said of takes: where a take has
// the same, that one says that it is so now too; else it is a finding of its own.
func nowApart(all []sighting) []sighting {
	last := len(all) - 1
	if last < 0 || len(all[last].takes) > 0 {
		return all
	}
	for i := range all[:last] {
		if all[i].cause == all[last].cause {
			all[i].now = true
			return all[:last]
		}
	}
	all[last].cause += "/now"
	return all
}

// judged is what a reading says of a light under one white.
type judged struct {
	reading           *lighting.Reading
	period            *setup.Period
	off, drifted      sighting
	isOff, hasDrifted bool
}

// at is a sighting at a moment.
func (f sighting) at(at setup.Moment) sighting {
	if f.now, f.takes = !at.Take.Known(), nil; !f.now {
		f.takes = []logbook.View{at.Take}
	}
	return f
}

// noteOff remembers the light that is off by most at a moment: where the mix is off too, that
// is the cause.
func (s *Finder) noteOff(at logbook.Millis, f sighting) {
	if worst, ok := s.off[at]; !ok || f.times > worst.times {
		s.off[at] = f
	}
}

func lightSighting(kind string, light logbook.View, at setup.Moment) sighting {
	f := sighting{cause: causeOf("light", light.ID), now: !at.Take.Known(), subjects: []logbook.ID{light.ID}, one: light.ID}
	f.Kind = kind
	if at.Take.Known() {
		f.takes = []logbook.View{at.Take}
	}
	return f
}

// lightOff judges a light by its intent.
func (s *Finder) lightOff(light logbook.View, spoken lighting.Spoken, at setup.Moment) (sighting, bool) {
	limits, p := s.RoleLimits(light), at.Period
	name := light.Text("name")
	var d figure.Difference
	var against []*lighting.Reading
	var compared figure.Compared
	var f sighting
	switch lighting.Intent(light) {
	case "match":
		off, words, ok := castIn(p, spoken.Color.XY, limits)
		if !ok {
			return f, false
		}
		d, f = off, lightSighting(LightOffReference, light, at)
		compared = figure.Compared{Words: "the reference, " + p.Reference.Words, Record: p.White.ID}
		f.Words = fmt.Sprintf("%s (%s) is to match the reference and is %s", name, spoken.Color.Words, words)
		against = s.ReferenceReadings(p)
		f.unmatched = p.White.Known() && spoken.Reading.TakenAt < p.White.CreatedAt()
		f.ToDo = "match " + name + ": see the plan"
	case "holdOwnColor":
		target, words, record, err := s.OwnColor(light)
		if err != nil || record == spoken.Reading.Reading {
			return f, false
		}
		d = figure.ColorDifference(spoken.Color.XY, target)
		f = lightSighting(LightOffOwnColor, light, at)
		compared = figure.Compared{Words: words, Record: record}
		f.Words = fmt.Sprintf("%s (%s) is to hold its own colour and is %s", name, spoken.Color.Words, d.Words)
		if v, ok := s.Book().RecordOf(kinds.Reading, record); ok {
			against = append(against, lighting.Read(s.Book(), v))
		}
		f.ToDo = "bring " + name + " back: see the plan"
	default:
		return f, false
	}
	limit, beyond := limits.Exceeded(d)
	if !beyond {
		return f, false
	}
	f.name, f.too = name, limits.Too(d)
	f.Headline = about(headlineRoom, "", name, ": "+f.too)
	f.ComparedWith = &compared
	f.measured(d, limits)
	f.Words += s.FloorWords(limit, spoken.Reading, against...)
	return f, true
}

// drifted judges how far a light went by itself since the white was chosen. A light that is
// left as it is may go where it likes.
func (s *Finder) drifted(light logbook.View, spoken lighting.Spoken, at setup.Moment) (f sighting, found bool) {
	if lighting.Intent(light) == "leave" {
		return f, false
	}
	d, since, ok := s.MovedSince(light, spoken, at.Period)
	if !ok {
		return f, false
	}
	limits := s.RoleLimits(light)
	limit, beyond := limits.Exceeded(d)
	if !beyond {
		return f, false
	}
	f = lightSighting(LightDrifted, light, at)
	minutes := figure.RoundTo(float64(spoken.Reading.TakenAt-since.TakenAt)/60000, 0)
	f.Headline = about(headlineRoom, "", light.Text("name"), ": drifted "+limits.Than(d))
	f.Words = fmt.Sprintf("%s has drifted in %s: it is %s", light.Text("name"), figure.AgeWords(minutes), d.Words)
	f.Words += s.FloorWords(limit, spoken.Reading, since)
	f.ToDo = "meter " + light.Text("name") + " again, then match it or choose a new white"
	f.measured(d, limits)
	f.Value.Minutes = &minutes
	f.ComparedWith = &figure.Compared{Words: "its reading when the white was chosen", Record: since.Reading}
	if white := at.Period.White; !white.Known() || since.TakenAt > white.CreatedAt() {
		f.ComparedWith.Words = "its first reading"
	}
	return f, true
}

// outOfDate finds a light whose last reading is old, or was made before the light was set as
// it then was.
func (s *Finder) outOfDate(light logbook.View, spoken lighting.Spoken, at setup.Moment) (f sighting, found bool) {
	if lighting.Intent(light) == "leave" && s.View().Ref("referenceLight") != light.ID {
		return f, false
	}
	name, moment := light.Text("name"), min(at.At, s.Now())
	m := spoken.Reading
	turned := m == nil
	var words string
	if turned {
		if m = s.Course(light).LastBefore(at.At); m == nil {
			return f, false // it was not read yet: that is missing, not old
		}
		words = spoken.Problem
	} else if words, _ = s.Old(m, moment); words == "" || spoken.How != lighting.Before {
		return f, false
	}
	age, limit := figure.RoundTo(m.AgeMinutes(moment), 0), s.RemeasureAfter()
	f = lightSighting(ReadingStale, light, at)
	f.cause = causeOf(ReadingStale, s.View().ID)
	if f.turned = turned; turned { // somebody did that to this light; time passes for all of them
		f.cause = causeOf(ReadingStale, light.ID)
	}
	f = f.naming(name, oldReadings(words))
	f.Value, f.Limit = &figure.Size{Minutes: &age}, &figure.Size{Minutes: &limit}
	f.ComparedWith = &figure.Compared{Words: "the reading", Record: m.Reading}
	return f, true
}

// oldReadings names the lights whose readings are out of date, and why the oldest is.
func oldReadings(why string) func(lights []string) (headline, toDo, words string) {
	return func(lights []string) (headline, toDo, words string) {
		few, are := lighting.Listed(lights), " is out of date: "
		headline, toDo, words = about(headlineRoom, "", few, ": reading out of date"), "meter "+few+" again", "the reading of "+few
		if len(lights) > 1 {
			headline, words, are = fmt.Sprintf("%d readings out of date", len(lights)), "the readings of "+few, " are out of date, the oldest: "
		}
		if utf8.RuneCountInString(toDo) > headlineLength {
			toDo = "meter them again"
		}
		return headline, toDo, words + are + why
	}
}

// changed asks what was done to a lamp that reads differently though nobody typed a change.
func (s *Finder) changed(light logbook.View, c *lighting.Course) (f sighting, found bool) {
	changes := c.Changes()
	if !s.Worked() || len(changes) == 0 {
		return f, false
	}
	last := changes[len(changes)-1]
	if c.ChangedSince(last.Reading, s.Moment()) != "" {
		return f, false // it was set anew since
	}
	name, before := light.Text("name"), last.Before.Clock()
	f = lightSighting(LightChanged, light, setup.Moment{})
	f.cause = causeOf(LightChanged, light.ID, last.Reading.Reading)
	f.Headline = about(headlineRoom, "", name, " reads "+s.RoleLimits(light).Than(last.Difference)+" than at "+before)
	f.Words = fmt.Sprintf("%s read at %s is %s than at %s, and nobody entered a change: what was changed?",
		name, last.Reading.Clock(), last.Difference.Words, before)
	f.ToDo = about(headlineLength, "say what was changed on ", name, " before "+last.Reading.Clock())
	f.Value = last.Difference.Size()
	f.ComparedWith = &figure.Compared{Words: "its reading of " + before, Record: last.Before.Reading}
	return f, true
}
