package amend

import (
	"fmt"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// Correct makes the drafts that put a refused edit right: an edit of the same
// record that sets what the refused one set and nobody corrected yet, with the members
// of a merge patch in the place of its values; null leaves a field out. It names what
// its author had seen, and the refused edit itself: what others wrote since becomes a
// conflict like any other, and of two corrections one does not hide the other. Where
// that does not show for each field, because it is left out or is a fact, which names
// nothing, a note with the id says that the edit is done with. Errors wrap ErrNotRefused, ErrSettled, ErrRequest, or are of type
// Errors.
func Correct(b *logbook.Book, d logbook.Dot, patch logbook.Value, note logbook.ID) ([]logbook.Draft, error) {
	r, ok := b.Refusal(d)
	if !ok {
		return nil, fmt.Errorf("%w: %s", ErrNotRefused, d)
	}
	_, open := correction(b, r.Edit)
	if _, discarded := discardNotes(b)[d]; discarded || len(open) == 0 {
		return nil, fmt.Errorf("%w: %s", ErrSettled, d)
	}
	values, err := corrected(r.Edit, open, patch)
	if err != nil {
		return nil, err
	}
	spec, _ := kinds.Of(r.Edit.Kind)
	draft := logbook.Draft{Kind: r.Edit.Kind, Record: r.Edit.Record}
	named := false
	for i := range r.Edit.Set {
		c := &r.Edit.Set[i]
		value := values[c.Field]
		if value == "" {
			continue
		}
		next := logbook.Change{Field: c.Field, Value: value}
		if f, known := spec.Field(c.Field); !known || !f.Fact {
			next.Over = seenBefore(r.Edit.Dot, c.Over)
			named = true
		}
		draft.Set = append(draft.Set, next)
	}
	if len(draft.Set) == 0 {
		return nil, fmt.Errorf("%w: nothing would be set; discard the edit instead", logbook.ErrRequest)
	}
	drafts := []logbook.Draft{draft}
	if !named || len(draft.Set) < len(open) {
		drafts = append(drafts, discardNote(b, r, note, "corrected"))
	}
	return drafts, nil
}

// seenBefore is a dot and the names beside it, without those that no edit can have
// seen: they may be why it was refused.
func seenBefore(own logbook.Dot, over []logbook.Dot) []logbook.Dot {
	out := []logbook.Dot{own}
	for _, d := range over {
		if d.Line != own.Line || d.N < own.N {
			out = append(out, d)
		}
	}
	return out
}

// corrected are the values of an edit's open fields under a patch, by field; "" for
// what is left out.
func corrected(e *logbook.Edit, open []string, patch logbook.Value) (map[string]logbook.Value, error) {
	w, err := walkerOf(e.Kind, patch)
	if err != nil {
		return nil, err
	}
	values := map[string]logbook.Value{}
	for i := range e.Set {
		if slices.Contains(open, e.Set[i].Field) {
			values[e.Set[i].Field] = e.Set[i].Value
		}
	}
	put := func(path string, v logbook.Value) {
		if _, ok := values[path]; !ok {
			w.Refuse(path, v, "a field that the refused edit set and nobody corrected: "+strings.Join(open, ", "))
		} else if v == logbook.Null {
			values[path] = ""
		} else {
			values[path] = v
		}
	}
	w.Service = func(name string, v logbook.Value) bool {
		if v == logbook.Null {
			put(name, v)
		}
		return v == logbook.Null
	}
	w.Field = func(f *kinds.Field, path string, v logbook.Value) {
		if v != logbook.Null && (f.Type == kinds.Group || f.Type == kinds.Form) {
			base := values[path]
			if as := v.Member("as"); as != "" && !as.Equal(base.Member("as")) {
				base = ""
			}
			v = mergePatch(base, v)
		}
		if v == logbook.Null || w.Check(kinds.JudgeField(f, v, true), f, path) {
			put(path, v)
		}
	}
	w.cleared = func(path string) {
		for _, name := range open {
			if strings.HasPrefix(name, path+"/") {
				put(name, logbook.Null)
			}
		}
	}
	w.Walk("", patch)
	return values, w.Result()
}
