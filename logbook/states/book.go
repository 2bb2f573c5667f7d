package states

import "evenwhite/logbook"

// Book makes the book of a state again, from a log that holds it; else the error is a *NotHeld.
func Book(store logbook.Store, production logbook.ID, rules logbook.Rules, s State) (*logbook.Book, error) {
	head, err := store.Head(production)
	if err != nil {
		return nil, err
	}
	held := logbook.HeldOf(s.Held)
	pages := func(after logbook.Seq, atMost int) ([]logbook.Stored, error) {
		return store.Read(production, after, atMost)
	}
	edits, err := editsOf(pages, 0, head.Seq, held)
	if err != nil {
		return nil, err
	}
	r := running{lines: map[logbook.Line]*lineSum{}}
	r.addAll(edits)
	found := r.state()
	if missing := lacking(found.Held, held); len(missing) > 0 || found.Digest != s.Digest {
		return nil, &NotHeld{missing}
	}
	return logbook.ReadHeld(store, production, rules, held)
}

func lacking(has logbook.Ranges, wanted *logbook.Held) logbook.Ranges {
	missing := logbook.Ranges{}
	for line, span := range logbook.HeldOf(has).Lacks(wanted, logbook.Dot{}) {
		missing[line] = append(missing[line], span)
	}
	return missing
}
