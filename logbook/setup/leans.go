package setup

import (
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// Leans are the little that what is said of set-ups takes of all clips of their day. Whoever keeps
// an answer asks them again where one of these changed: mostly they say the same.
type Leans struct {
	names []leanOnName
	last  []leanOnLast
	on    []logbook.Seen
}

type leanOnName struct {
	day   logbook.ID
	name  clipName
	clips []logbook.ID
}

type leanOnLast struct {
	day, but logbook.ID
	at       logbook.Millis
	wentOn   bool
}

// Meets reports whether something changed that is to be asked again.
func (l *Leans) Meets(changed logbook.Seen) bool {
	return slices.ContainsFunc(l.on, func(on logbook.Seen) bool { return on.Meets(changed) })
}

// rest notes what was looked through; of a day it is nearly always the same.
func (l *Leans) rest(on logbook.Seen) {
	same := func(other logbook.Seen) bool { return len(on) == len(other) && (len(on) == 0 || &on[0] == &other[0]) }
	if !slices.ContainsFunc(l.on, same) {
		l.on = append(l.on, on)
	}
}

// Leans are those of what was asked since they were last taken. Who keeps no answer takes them all
// the same, set-up by set-up: else they become those of the whole log.
func (r *Reader) Leans() Leans {
	taken := r.leans
	r.leans = Leans{}
	return taken
}

// Again asks again; the leans are of the book of the reader then. It reports whether all is as
// it was.
func (r *Reader) Again(l *Leans) bool {
	r.Leans()
	for _, a := range l.names {
		if !slices.Equal(idsOf(r.alike(a.day, a.name)), a.clips) {
			return false
		}
	}
	for _, a := range l.last {
		if r.wentOn(a.day, a.but, a.at) != a.wentOn {
			return false
		}
	}
	*l = r.Leans()
	return true
}

func idsOf(views []logbook.View) (ids []logbook.ID) {
	for _, v := range views {
		ids = append(ids, v.ID)
	}
	return ids
}

// alike are the clips of a day that have a name.
func (r *Reader) alike(day logbook.ID, name clipName) []logbook.View {
	names := r.namesOf(day)
	found := slices.Clone(names.Value[name])
	for i, v := range found {
		found[i], _ = r.book.RecordOf(kinds.Clip, v.ID) // whose answer rests on it from now on
	}
	r.leans.rest(names.On)
	r.leans.names = append(r.leans.names, leanOnName{day, name, idsOf(found)})
	return found
}

// wentOn reports whether another set-up of the day had a clip after a moment.
func (r *Reader) wentOn(day, but logbook.ID, at logbook.Millis) bool {
	last, on := r.lastElsewhere(day, but)
	r.leans.rest(on)
	r.leans.last = append(r.leans.last, leanOnLast{day, but, at, last > at})
	return last > at
}
