package logbook

import (
	"sort"
)

// FieldState is what is known of one field. Several heads with equal values are
// no conflict.
type FieldState struct {
	Name     string
	Heads    []Version // by (corrected time, dot), latest first
	Shown    Version   // the first of them: in a conflict not decided
	Conflict bool
}

// Field returns what is known of a field.
func (v View) Field(name string) FieldState {
	heads := v.book.of(v.members[0]).heads(name)
	if len(v.members) > 1 {
		heads = nil
		for _, m := range v.members {
			heads = append(heads, v.book.of(m).heads(name)...)
		}
	}
	return stateOf(name, heads)
}

func stateOf(name string, heads []head) FieldState {
	s := FieldState{Name: name}
	if len(heads) == 0 {
		return s
	}
	s.Heads = make([]Version, len(heads))
	for i, h := range heads {
		s.Heads[i] = h.version()
	}
	if len(heads) > 1 {
		sort.Slice(s.Heads, func(i, j int) bool { return s.Heads[j].Before(s.Heads[i]) })
	}
	s.Shown = s.Heads[0]
	for _, h := range s.Heads[1:] {
		if !h.Value.Equal(s.Shown.Value) {
			s.Conflict = true
		}
	}
	return s
}

// Fields lists the fields that anybody ever set, by name.
func (v View) Fields() []FieldState {
	if len(v.members) == 1 {
		cells := v.book.of(v.members[0]).cells
		out := make([]FieldState, len(cells))
		for i, c := range cells {
			out[i] = stateOf(c.field(), c.heads())
		}
		return out
	}
	var names []string
	for _, m := range v.members {
		for _, c := range v.book.of(m).cells {
			names = append(names, c.field())
		}
	}
	sort.Strings(names)
	var out []FieldState
	for i, name := range names {
		if i == 0 || names[i-1] != name {
			out = append(out, v.Field(name))
		}
	}
	return out
}

// Conflicts lists the fields whose heads differ.
func (v View) Conflicts() []FieldState {
	if len(v.members) == 1 && !v.book.of(v.members[0]).divided() {
		return nil
	}
	var out []FieldState
	for _, f := range v.Fields() {
		if f.Conflict {
			out = append(out, f)
		}
	}
	return out
}

// divided reports whether a field has several heads.
func (r *state) divided() bool {
	for i := range r.cells {
		if len(r.cells[i].heads()) > 1 {
			return true
		}
	}
	return false
}

// DeletionConflicts lists the fields of a struck-out record that hold a version
// which whoever struck it out had not seen.
func (v View) DeletionConflicts() []FieldState {
	seen := map[Dot]bool{}
	live := false
	for _, h := range v.Field(DeletedField).Heads {
		if h.Value != "true" {
			continue
		}
		live = true
		c, _ := h.Edit().Change(DeletedField)
		for _, d := range c.Over {
			seen[d] = true
		}
	}
	if !live {
		return nil
	}
	var out []FieldState
	for _, f := range v.Fields() {
		if f.Name == DeletedField {
			continue
		}
		for _, h := range f.Heads {
			if !seen[h.Dot] {
				out = append(out, f)
				break
			}
		}
	}
	return out
}
