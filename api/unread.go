package api

import (
	"fmt"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
)

// unread refuses drafts under If-Match: * that would decide what is in conflict: it says
// that the record may read as it likes, and nobody who read on could be asked which of
// the values was meant.
func unread(v logbook.View, drafts []logbook.Draft) error {
	touched := map[string]bool{}
	for _, d := range drafts {
		for _, c := range d.Set {
			touched[c.Field] = true
		}
	}
	for _, c := range amend.ConflictsOf(v) {
		if !touched[c.Field] && !touched[logbook.DeletedField] {
			continue
		}
		var values []string
		for _, h := range c.Heads {
			values = append(values, fmt.Sprintf("%s by %s", shorten(string(h.Value)), shorten(h.By())))
		}
		what := "has several values"
		if c.Deletion {
			what = "was changed by one and struck out by another"
		}
		return fmt.Errorf("%w: %s %s: %s", ErrUnread, c.Field, what, shortenTo(strings.Join(values, ", "), mostDetail/2))
	}
	return nil
}

// parseDot reads a dot out of an address.
func parseDot(text string) (logbook.Dot, error) {
	d, err := logbook.ParseDot(text)
	if err != nil {
		return d, wrong("dot", text,
			"the dot of an edit, such as 00c0ffee00c0ffee.1: a line, a point, and a whole number from 1 to 18446744073709551615")
	}
	return d, nil
}
