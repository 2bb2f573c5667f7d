package days_test

import (
	"cmp"
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/lighting"
)

// Facts are what the oracle is told of a set-up: what was read and said, and when.
type facts struct {
	book     *logbook.Book
	setUp    logbook.ID
	readings []seenReading // that count, by time
	skies    []said        // named by readings and takes, by time
}

type seenReading struct {
	said     // when, and its sky
	id, of   logbook.ID
	view     logbook.View
	mired    float64
	position string
}

// said is a value from a moment on.
type said struct {
	at    logbook.Millis
	value string
	dot   logbook.Dot
	since bool
}

// moment is when a field says that something was: what a clock filled in moves with the clock.
func moment(v logbook.View, field string) (at logbook.Millis, byClock, ok bool) {
	if at, ok = v.Time(field); !ok {
		return 0, false, false
	}
	e := v.Field(field).Shown.Edit()
	if byClock = max(at-e.At, e.At-at) <= 2*minute; byClock {
		at += e.Offset
	}
	return at, byClock, true
}

func inTime(a, b said) int {
	if a.at == b.at && a.dot.Less(b.dot) {
		return -1
	}
	return cmp.Or(cmp.Compare(a.at, b.at), 1)
}

func (o *oracle) learn() {
	replaced := map[logbook.ID]bool{}
	views := slices.DeleteFunc(slices.Clone(o.book.Referring(kinds.Reading, "setUp", o.setUp)), lighting.Withdrawn)
	for _, v := range views {
		replaced[v.Ref("supersedes")] = true
	}
	for _, v := range views {
		xy, err := lighting.ColorOf(v.Value("measured"))
		if replaced[v.ID] || err != nil {
			continue
		}
		r := seenReading{id: v.ID, view: v, mired: miredOf(xy.X, xy.Y), said: said{at: o.takenAt(v), dot: v.CreatedDot()}}
		r.value, _ = o.says(v, "sky").Text()
		r.position, _ = o.says(v, "position").Text()
		if why := v.Text("purpose"); why != "gelTest" && why != "meterCompare" && v.Ref("throughGel").IsZero() {
			r.of, _ = v.Value("of").Member("light").ID()
		}
		if o.readings = append(o.readings, r); r.value != "" {
			o.skies = append(o.skies, r.said)
		}
	}
	for _, take := range o.book.Referring(kinds.Take, "setUp", o.setUp) {
		if take.Text("sky") != "" {
			o.skies = append(o.skies, said{at: o.takeAt(take), value: take.Text("sky"), dot: take.Field("sky").Shown.Dot})
		}
	}
	if slices.SortFunc(o.skies, inTime); len(o.skies) > 0 {
		o.skies[0].at = longAgo // as with a dial, the first that is named was so all along
	}
	slices.SortFunc(o.readings, func(a, b seenReading) int { return inTime(a.said, b.said) })
}

// says is what a reading says, else what the one says that it replaces.
func (o *oracle) says(v logbook.View, field string) logbook.Value {
	for hops := 0; v.Value(field) == "" && hops < 9; hops++ {
		before, ok := o.book.RecordOf(kinds.Reading, v.Ref("supersedes"))
		if !ok {
			break
		}
		v = before
	}
	return v.Value(field)
}

// typed is what was typed of one field of a light.
func (o *oracle) typed(light logbook.View, field string) (all []said) {
	for _, e := range light.Edits() {
		c, ok := e.Change(field)
		if !ok {
			continue
		}
		s := said{at: e.Corrected(), value: string(c.Value), dot: e.Dot}
		if since, ok := e.Change("since/" + field); ok {
			id, _ := since.Value.ID()
			if r, ok := o.book.RecordOf(kinds.Reading, id); ok {
				s.at, s.since = o.takenAt(r), true
			}
		}
		all = append(all, s)
	}
	return all
}

// ofSky: no lamp, and a sky of its own.
func ofSky(light logbook.View) bool {
	sky := light.Text("sky")
	return light.Ref("lamp").IsZero() && sky != "" && sky != "inside" && sky != "night"
}

func (o *oracle) takenAt(v logbook.View) logbook.Millis {
	at, byClock, _ := moment(v, "takenAt")
	if before, ok := o.book.RecordOf(kinds.Reading, v.Ref("supersedes")); ok && byClock {
		return o.takenAt(before)
	}
	return at
}

// firstOf is the earliest time that records say themselves.
func firstOf(views ...logbook.View) (first logbook.Millis, found bool) {
	for _, v := range views {
		if at, _, ok := moment(v, "startedAt"); ok && (!found || at < first) {
			first, found = at, true
		}
	}
	return first, found
}

// takeAt: a take that says no time stands before those of higher numbers that are earlier.
func (o *oracle) takeAt(take logbook.View) logbook.Millis {
	if at, ok := firstOf(take); ok {
		return at
	}
	if at, ok := firstOf(o.book.Referring(kinds.Clip, "takes", take.ID)...); ok {
		return at
	}
	at := take.CreatedAt()
	n, _ := take.Number("number")
	for _, other := range o.book.Referring(kinds.Take, "setUp", o.setUp) {
		if m, _ := other.Number("number"); m > n {
			if t := o.takeAt(other); t < at {
				at = t - 1
			}
		}
	}
	return at
}

func (o *oracle) clipAt(clip logbook.View, takes []logbook.View) logbook.Millis {
	at, ok := firstOf(clip)
	for i, take := range takes {
		if t := o.takeAt(take); !ok && (i == 0 || t < at) {
			at = t
		}
	}
	if !ok && len(takes) == 0 {
		at = clip.CreatedAt()
	}
	return at
}
