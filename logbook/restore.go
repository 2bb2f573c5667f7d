package logbook

// Restore makes the drafts that bring a record back, and with it the twins that read
// as one with it and were struck out in the same act: they read as one again.
func Restore(v View) []Draft {
	drafts := v.Drafts([]Change{BringBack(v)})
	b, parts, acts := v.Book(), v.Parts(), map[Dot]bool{}
	for _, h := range v.Field(DeletedField).Heads {
		if h.Value == "true" && !h.Edit.Act.IsZero() {
			acts[h.Edit.Act] = true
		}
	}
	for _, alone := range b.Apart(v.Kind) {
		together := false
		for _, h := range alone.Field(DeletedField).Heads {
			together = together || acts[h.Edit.Act]
		}
		if together && !among(parts, alone) && saidOne(b, parts[0], alone) {
			drafts = append(drafts, alone.Drafts([]Change{BringBack(alone)})...)
		}
	}
	return drafts
}
