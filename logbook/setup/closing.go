package setup

import (
	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// Closing a day locks nothing and changes no number: it is a statement, by which what was
// entered afterwards can be told.

// ClosedSince is when a day was last closed; ok is false where it is open, also where it was
// opened again, or where people disagree.
func ClosedSince(day logbook.View) (at logbook.Millis, ok bool) {
	if !day.Known() {
		return 0, false
	}
	f := day.Field("closed")
	if f.Conflict || f.Shown.Value != "true" {
		return 0, false
	}
	return f.Shown.Corrected(), true
}

// AfterClosing lists the edits of a record that were entered after a day was closed, oldest
// first. What an offline phone entered before and brought in late is none of them.
func AfterClosing(day, v logbook.View) (late []*logbook.Edit) {
	closed, ok := ClosedSince(day)
	if !ok || !v.Known() {
		return nil
	}
	for _, e := range v.Edits() {
		if e.Corrected() > closed {
			late = append(late, e)
		}
	}
	return late
}

// DayOf is the day that a record was made for, of a note that of the record it is about; none
// for what is there on all days, as cameras and lamps.
func DayOf(b *logbook.Book, v logbook.View) (day logbook.View, ok bool) {
	if v.Kind == kinds.Note {
		v, _ = b.Record(v.Ref("about"))
	}
	if v.Kind == kinds.Sample && v.Ref("setUp").IsZero() {
		v, _ = b.RecordOf(kinds.Clip, v.Ref("clip"))
	}
	switch {
	case !v.Known():
		return logbook.View{}, false
	case v.Kind == kinds.Day:
		return v, true
	case v.Kind == kinds.Acceptance:
		for id := range v.Value("subjects").Items() {
			id, _ := id.ID()
			if setUp, ok := b.RecordOf(kinds.SetUp, id); ok {
				return b.RecordOf(kinds.Day, setUp.Ref("day"))
			}
		}
		return logbook.View{}, false
	case v.Kind == kinds.SetUp:
		return b.RecordOf(kinds.Day, v.Ref("day"))
	}
	setUp, _ := b.RecordOf(kinds.SetUp, v.Ref("setUp"))
	if !setUp.Known() {
		return logbook.View{}, false
	}
	return b.RecordOf(kinds.Day, setUp.Ref("day"))
}
