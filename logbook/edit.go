package logbook

import "time"

// Millis is an instant in milliseconds since 1970-01-01 UTC, or a span of
// milliseconds.
type Millis int64

// Time returns the instant in UTC.
func (m Millis) Time() time.Time { return time.UnixMilli(int64(m)).UTC() }

// MillisOf returns the instant of t.
func MillisOf(t time.Time) Millis { return Millis(t.UnixMilli()) }

// Beginning is before every instant, ever after.
const (
	Beginning = Millis(-1 << 62)
	Ever      = Millis(1 << 62)
)

// An Edit is one change to one record by one device: the unit that is stored,
// sent and merged. It never changes once it is stored.
type Edit struct {
	Production ID
	Kind       Kind
	Record     ID
	Device     ID
	Dot        Dot
	At         Millis // the device's own clock
	Offset     Millis // what to add to reach the server's clock, as last learnt
	By         string // who made it
	Act        Dot    // the first edit of the act that this one belongs to, or zero
	Set        []Change
	Extra      []Member // members that only a newer version knows
}

// A Change sets one field. Null clears it.
type Change struct {
	Field string
	Value Value
	// Over are the dots of the versions of this field that the person saw and
	// replaced; of the field deleted also every other version that was seen.
	Over []Dot
}

// A Member is a named value that is kept without being understood.
type Member struct {
	Name  string
	Value Value
}

// Corrected is the time at which the edit was made by the server's clock, as far
// as the device knew it. It orders what is shown and decides nothing else. An
// offset that leads out of the years 1970 to 9999 leads to their end: the edit is
// taken, and RFC 3339 can write no other year.
func (e *Edit) Corrected() Millis { return min(max(e.At+e.Offset, 0), YearTenThousand-1) }

// Change finds what the edit sets of one field.
func (e *Edit) Change(field string) (*Change, bool) {
	for i := range e.Set {
		if e.Set[i].Field == field {
			return &e.Set[i], true
		}
	}
	return nil, false
}

// Names ranges over the dots that an edit names as seen.
func (e *Edit) Names(yield func(Dot) bool) {
	for i := range e.Set {
		for _, d := range e.Set[i].Over {
			if !yield(d) {
				return
			}
		}
	}
}

// Kind names what a record is about.
type Kind string

// DeletedField strikes a record out; SamePrefix begins the answer to a twin.
const (
	DeletedField = "deleted"
	SamePrefix   = "same/"
)

// A RecordRef is a record by its kind and id.
type RecordRef struct {
	Kind   Kind
	Record ID
}

// A FieldRef is one field of a record.
type FieldRef struct {
	RecordRef
	Field string
}
