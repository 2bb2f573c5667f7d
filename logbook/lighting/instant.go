package lighting

import (
	"cmp"

	"evenwhite/logbook"
)

// ownClock is how near an instant lies to its own edit's time where the device's clock
// filled it in: a choice of this program. A person who types a time from paper is later.
const ownClock = logbook.Millis(2 * 60 * 1000)

// InstantOf is the moment that a field names, comparable with others: an instant that the
// device's clock filled in moves with the correction of that clock, one that a person typed
// stands. ok is false where the field names none.
func InstantOf(v logbook.View, field string) (at logbook.Millis, ok bool) {
	if at, ok = v.Time(field); !ok {
		return 0, false
	}
	return CorrectedBy(v.Field(field).Shown.Edit(), at), true
}

// CorrectedBy is an instant that an edit wrote, as InstantOf counts it.
func CorrectedBy(e *logbook.Edit, at logbook.Millis) logbook.Millis {
	if ByClock(e, at) {
		return at + e.Offset
	}
	return at
}

// ByClock reports whether the device's clock filled in an instant that an edit wrote.
func ByClock(e *logbook.Edit, at logbook.Millis) bool {
	return at-e.At <= ownClock && e.At-at <= ownClock
}

// byTime orders two facts by their moments, those of one moment by dot.
func byTime(at logbook.Millis, dot logbook.Dot, otherAt logbook.Millis, other logbook.Dot) int {
	switch {
	case at != otherAt:
		return cmp.Compare(at, otherAt)
	case dot.Less(other):
		return -1
	case other.Less(dot):
		return 1
	}
	return 0
}
