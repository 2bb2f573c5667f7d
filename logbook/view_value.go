package logbook

import (
	"iter"
	"slices"
	"sort"
	"strings"
	"time"
)

// Value is a field's value as shown; no value where it is absent or cleared.
func (v View) Value(field string) Value {
	if len(v.members) == 1 {
		if heads := v.book.of(v.members[0]).heads(field); len(heads) == 1 {
			if value := heads[0].value(); value != Null {
				return value
			}
			return ""
		}
	}
	var best head
	for _, m := range v.members {
		if h := greatest(v.book.of(m).heads(field)); h.edit != nil && (best.edit == nil || best.edit.earlier(h.edit)) {
			best = h
		}
	}
	if best.edit == nil {
		return ""
	}
	if value := best.value(); value != Null {
		return value
	}
	return ""
}

// Text is the value of a text or choice, or "".
func (v View) Text(field string) string {
	text, _ := v.Value(field).Text()
	return text
}

// Number is the value of a number, for computing.
func (v View) Number(field string) (float64, bool) { return v.Value(field).Float() }

// Flag is the value of a flag, or absent where there is none.
func (v View) Flag(field string, absent bool) bool {
	switch v.Value(field) {
	case "true":
		return true
	case "false":
		return false
	}
	return absent
}

// Ref is the record that a reference leads to, as it reads; zero where there is
// none.
func (v View) Ref(field string) ID {
	id, ok := v.Value(field).ID()
	if !ok {
		return ID{}
	}
	return v.book.Resolve(id)
}

// Time is the value of an instant.
func (v View) Time(field string) (Millis, bool) {
	text, ok := v.Value(field).Text()
	if !ok {
		return 0, false
	}
	t, err := time.Parse(time.RFC3339, text)
	return MillisOf(t), err == nil
}

// Keys lists the keys of a map's entries that hold a value, sorted and as they
// stand: a key that is the id of a joined twin is the reader's to Resolve.
func (v View) Keys(prefix string) []string {
	start := prefix + "/"
	var keys []string
	for _, r := range v.members {
		m := v.book.of(r)
		at := sort.Search(len(m.cells), func(i int) bool { return m.cells[i].field() >= start })
		for ; at < len(m.cells) && strings.HasPrefix(m.cells[at].field(), start); at++ {
			if v.Value(m.cells[at].field()) == "" {
				continue
			}
			key, _, _ := strings.Cut(m.cells[at].field()[len(start):], "/")
			keys = append(keys, key)
		}
	}
	sort.Strings(keys)
	return slices.Compact(keys)
}

// Names walks the names of the fields that anybody ever set: of twins that read as one, some
// come twice.
func (v View) Names() iter.Seq[string] {
	return func(yield func(string) bool) {
		for _, r := range v.members {
			for _, c := range v.book.of(r).cells {
				if !yield(c.field()) {
					return
				}
			}
		}
	}
}

// Values walks the fields that anybody ever set, by name, with what is shown.
func (v View) Values() iter.Seq2[string, Value] {
	return func(yield func(string, Value) bool) {
		if len(v.members) == 1 {
			for _, c := range v.book.of(v.members[0]).cells {
				if !yield(c.field(), shown(c.heads()).Value) {
					return
				}
			}
			return
		}
		for _, f := range v.Fields() {
			if !yield(f.Name, f.Shown.Value) {
				return
			}
		}
	}
}

// EverSet reports whether an edit that counts set a field. Its heads may be empty,
// where what replaced them came first; they are nil only where nobody set it.
func (v View) EverSet(field string) bool {
	for _, m := range v.members {
		if v.book.of(m).heads(field) != nil {
			return true
		}
	}
	return false
}
