package amend

import (
	"errors"
	"fmt"
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// ErrNoUndo is wrapped by errors about an edit that cannot be undone.
var ErrNoUndo = errors.New("it cannot be undone")

// Undo makes the drafts that set what one edit of the record set back to what it
// replaced: an ordinary change, over the present heads, which stays in the history.
// ErrNoRecord where the edit is not one of this record's; ErrNoUndo, with the field,
// where it made the record, where somebody set the field since, where it decided
// between several values, or where it set a fact.
func Undo(v logbook.View, d logbook.Dot) ([]logbook.Draft, error) {
	edits := map[logbook.Dot]*logbook.Edit{}
	all := v.Edits()
	for _, e := range all {
		edits[e.Dot] = e
	}
	e := edits[d]
	if e == nil {
		return nil, fmt.Errorf("%w: edit %s is none of %s %s", logbook.ErrNoRecord, d, v.Kind, v.ID)
	}
	if d == v.CreatedDot() {
		return nil, fmt.Errorf("%w: edit %s made the record; strike the record out instead", ErrNoUndo, d)
	}
	var changes []logbook.Change
	for _, c := range e.Set {
		// What named too much for one edit was written by several, which count as one.
		var written []*logbook.Edit
		for _, other := range all {
			if _, ok := other.Change(c.Field); ok && (other == e || !e.Act.IsZero() && other.Act == e.Act && other.Record == e.Record) {
				written = append(written, other)
			}
		}
		if !shows(v, c.Field, written) {
			return nil, fmt.Errorf("%w: %s was set since, or edit %s does not apply", ErrNoUndo, c.Field, d)
		}
		if spec, ok := kinds.Of(v.Kind); ok {
			if f, ok := spec.Field(c.Field); ok && f.Fact {
				return nil, fmt.Errorf("%w: %s is a fact: a new record supersedes it", ErrNoUndo, c.Field)
			}
		}
		before, err := replacedBy(edits, written, c.Field)
		if err != nil {
			return nil, err
		}
		back := logbook.Replace(v, c.Field, before)
		if c.Field == logbook.DeletedField && before == "true" {
			back = logbook.Strike(v)
		}
		changes = append(changes, back)
	}
	return v.Drafts(changes), nil
}

// shows reports whether the version of one of some edits is among the heads of a field.
func shows(v logbook.View, field string, written []*logbook.Edit) bool {
	return slices.ContainsFunc(v.Field(field).Heads, func(h logbook.Version) bool {
		return slices.ContainsFunc(written, func(e *logbook.Edit) bool { return e.Dot == h.Dot })
	})
}

// replacedBy is the value of a field that edits replaced; null where there was none.
func replacedBy(edits map[logbook.Dot]*logbook.Edit, written []*logbook.Edit, field string) (logbook.Value, error) {
	before, found := logbook.Value(logbook.Null), false
	for _, w := range written {
		c, _ := w.Change(field)
		for _, d := range c.Over {
			e := edits[d]
			if e == nil || slices.Contains(written, e) {
				continue // it was struck out over other fields, or is not here, or goes on with the same
			}
			old, ok := e.Change(field)
			if !ok {
				continue
			}
			if found && !old.Value.Equal(before) {
				return logbook.Null, fmt.Errorf("%w: %s had several values, between which it decided; set the one that you want", ErrNoUndo, field)
			}
			before, found = old.Value, true
		}
	}
	return before, nil
}
