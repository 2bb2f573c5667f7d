package deviation

import (
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/figure"
	"evenwhite/logbook/lighting"
	"evenwhite/logbook/setup"
)

// What is so of several lights at the very same takes has one cause: a new white, a gel run. It
// is one finding, and true of each of them at each of its takes.

// together gives one cause to what is so of several lights at the same takes. A run is what is so
// of one of them.
func together(cause string, runs [][]sighting) (all []sighting) {
	places := func(run *[]sighting) string {
		var all strings.Builder
		for _, f := range *run {
			if len(f.takes) > 0 { // what is said of takes does not depend on now
				all.WriteString(f.place().String())
			}
		}
		return all.String()
	}
	for _, some := range grouped(runs, places) {
		for _, run := range some {
			for _, f := range run {
				if len(some) > 1 {
					f.cause = causeOf(cause, some[0][0].one)
					if f.words == nil {
						f.words = f.worstOfLights
					}
				}
				all = append(all, f)
			}
		}
	}
	return all
}

// lightsOff joins lights that are off to one side of the white: those that were read before it
// was chosen, so that nobody matched them to it yet.
func (s *Finder) lightsOff(side string, runs [][]sighting, moments []setup.Moment) (all []sighting) {
	var unmatched [][]sighting
	for _, run := range runs {
		if run[0].unmatched {
			unmatched = append(unmatched, run)
		} else {
			all = append(all, run...)
		}
	}
	all = append(all, together(causeOf("lights", s.View().ID, side), unmatched)...)
	at := map[logbook.ID]logbook.Millis{}
	for _, m := range moments {
		at[m.Take.ID] = m.At
	}
	for _, f := range all {
		s.noteOff(at[f.place()], f)
	}
	return all
}

// turnedApart parts what is out of date because somebody did something to a light, in runs of
// one cause, from what only grew old.
func turnedApart(stale []sighting) (runs [][]sighting, aged []sighting) {
	var turned []sighting
	for _, f := range stale {
		if f.turned {
			turned = append(turned, f)
		} else {
			aged = append(aged, f)
		}
	}
	return grouped(turned, func(f *sighting) string { return f.cause }), aged
}

// worstOfLights names the lights of which a finding is the worst.
func (f sighting) worstOfLights(lights []string) (headline, toDo, words string) {
	if len(lights) < 2 {
		return f.Headline, f.ToDo, f.Words
	}
	headline = about(headlineRoom, figure.Counted(len(lights), "light")+" off, worst ", f.name, ": "+f.too)
	words = lighting.Listed(lights) + " are not matched to the white, the worst: " + f.Words
	return headline, "match them: see the plan", words
}
