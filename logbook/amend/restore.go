package amend

import "evenwhite/logbook"

// Restore makes the drafts that bring a record back, and with it the twins that read
// as one with it and were struck out in the same act: they read as one again.
func Restore(v logbook.View) []logbook.Draft {
	drafts := v.Drafts([]logbook.Change{logbook.BringBack(v)})
	parts, acts := v.Parts(), map[logbook.Dot]bool{}
	for _, h := range v.Field(logbook.DeletedField).Heads {
		if act := h.Edit().Act; h.Value == "true" && !act.IsZero() {
			acts[act] = true
		}
	}
	if len(acts) == 0 {
		return drafts
	}
	for _, alone := range v.Led() {
		together := false
		for _, h := range alone.Field(logbook.DeletedField).Heads {
			together = together || acts[h.Edit().Act]
		}
		if together && !among(parts, alone) {
			drafts = append(drafts, alone.Drafts([]logbook.Change{logbook.BringBack(alone)})...)
		}
	}
	return drafts
}
