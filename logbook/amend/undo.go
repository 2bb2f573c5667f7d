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
	e := editOf(v, d)
	if e == nil {
		return nil, fmt.Errorf("%w: edit %s is none of %s %s", logbook.ErrNoRecord, d, v.Kind, v.ID)
	}
	if e == v.Created() {
		return nil, fmt.Errorf("%w: edit %s made the record; strike the record out instead", ErrNoUndo, d)
	}
	var changes []logbook.Change
	for _, c := range e.Set {
		if !shows(v, c.Field, d) {
			return nil, fmt.Errorf("%w: %s was set since, or edit %s does not apply", ErrNoUndo, c.Field, d)
		}
		if spec, ok := kinds.Of(v.Kind); ok {
			if f, ok := spec.Field(c.Field); ok && f.Fact {
				return nil, fmt.Errorf("%w: %s is a fact: a new record supersedes it", ErrNoUndo, c.Field)
			}
		}
		before, err := replacedBy(v, c)
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

func editOf(v logbook.View, d logbook.Dot) *logbook.Edit {
	for _, e := range v.Edits() {
		if e.Dot == d {
			return e
		}
	}
	return nil
}

// shows reports whether an edit's version is among the heads of a field.
func shows(v logbook.View, field string, d logbook.Dot) bool {
	return slices.ContainsFunc(v.Field(field).Heads, func(h logbook.Version) bool { return h.Dot == d })
}

// replacedBy is the value that a change replaced; null where there was none.
func replacedBy(v logbook.View, c logbook.Change) (logbook.Value, error) {
	before, found := logbook.Value(logbook.Null), false
	for _, d := range c.Over {
		e := editOf(v, d)
		if e == nil {
			continue // it was struck out over other fields, or is not here
		}
		old, ok := e.Change(c.Field)
		if !ok {
			continue
		}
		if found && !old.Value.Equal(before) {
			return logbook.Null, fmt.Errorf("%w: %s had several values, between which it decided; set the one that you want", ErrNoUndo, c.Field)
		}
		before, found = old.Value, true
	}
	return before, nil
}
