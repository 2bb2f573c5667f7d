package review

import (
	"evenwhite/logbook"
	"evenwhite/logbook/setup"
)

// A History is what became of a record, and what of that was entered after its day was closed.
type History struct {
	Edits        []*logbook.Edit `json:"edits"`
	AfterClosing []string        `json:"afterClosing,omitempty"` // dots of edits
}

// HistoryOf lists all edits of a record. The error wraps logbook.ErrNoRecord.
func HistoryOf(b *logbook.Book, kind logbook.Kind, record logbook.ID) (History, error) {
	v, err := Find(b, kind, record)
	h := History{Edits: append([]*logbook.Edit{}, v.Edits()...)}
	if day, ok := setup.DayOf(b, v); ok {
		for _, e := range setup.AfterClosing(day, v) {
			h.AfterClosing = append(h.AfterClosing, e.Dot.String())
		}
	}
	return h, err
}
