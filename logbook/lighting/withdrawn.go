package lighting

import "evenwhite/logbook"

// WithdrawnAt reports whether a record was struck out or deleted by what was entered until
// a moment.
func WithdrawnAt(v logbook.View, at logbook.Millis) bool {
	if at == logbook.Ever {
		return Withdrawn(v)
	}
	if !v.EverSet("struckOut") && !v.EverSet(logbook.DeletedField) {
		return false
	}
	struck, deleted := false, false
	for _, e := range v.Edits() {
		if e.Corrected() > at {
			break
		}
		if change, ok := e.Change("struckOut"); ok {
			struck = change.Value != logbook.Null
		}
		if change, ok := e.Change(logbook.DeletedField); ok {
			deleted = change.Value == "true"
		}
	}
	return struck || deleted
}
