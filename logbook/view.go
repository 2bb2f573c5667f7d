package logbook

import (
	"encoding/hex"
	"sort"
)

// A View is a record as it reads now. Twins that were answered to be one read as
// one, under the smallest id.
type View struct {
	ID      ID
	Kind    Kind
	book    *Book
	members []*record
}

// Book is the book that the record stands in.
func (v View) Book() *Book { return v.book }

// Known reports whether the record is in a book: the zero view is that of none.
func (v View) Known() bool { return v.book != nil }

// Deleted reports whether the record is struck out.
func (v View) Deleted() bool { return v.Value(DeletedField) == "true" }

// CreatedAt is the corrected time of the record's first edit.
func (v View) CreatedAt() Millis { return v.created().at }

// CreatedBy is who made the first edit.
func (v View) CreatedBy() string { return v.created().by() }

// CreatedDot is the dot of the first edit.
func (v View) CreatedDot() Dot { return v.created().dot() }

// Created is the record's first edit.
func (v View) Created() *Edit { return v.created().edit() }

func (v View) created() *written {
	first := v.book.of(v.members[0]).first
	for _, m := range v.members[1:] {
		if other := v.book.of(m).first; other.earlier(first) {
			first = other
		}
	}
	return first
}

// ChangedAt is the corrected time of the last edit of the record's history.
func (v View) ChangedAt() Millis { return v.latest().at }

func (v View) latest() *written {
	var last *written
	for _, m := range v.members {
		for w := range v.book.of(m).last.all {
			if last == nil || last.earlier(w) {
				last = w
			}
		}
	}
	return last
}

// Edits is the record's history, oldest first by (corrected time, dot).
func (v View) Edits() []*Edit {
	var all []*Edit
	for _, m := range v.members {
		for w := range v.book.of(m).last.all {
			all = append(all, w.edit())
		}
	}
	if len(all) > 1 {
		sort.Slice(all, func(i, j int) bool { return Before(all[i], all[j]) })
	}
	return all
}

// Parts lists the records that read as this one, each as a view of its own,
// smallest id first.
func (v View) Parts() []View {
	parts := make([]View, len(v.members))
	for i, m := range v.members {
		parts[i] = v.book.alone(m)
	}
	return parts
}

// Members lists the ids of the records that read as this one, smallest first.
func (v View) Members() []ID {
	ids := make([]ID, len(v.members))
	for i, m := range v.members {
		ids[i] = m.id
	}
	return ids
}

// ETag changes with whatever is told of the record: the heads of each of its twins, its
// first edit, by which it was made, and its last. It is made of dots: a restored server
// never gives an old tag to a new state.
func (v View) ETag() string {
	text := []byte(v.CreatedDot().String() + " " + v.latest().dot().String() + "\n")
	for _, m := range v.members {
		text = append(text, m.id.String()+"\n"...)
		for _, c := range v.book.of(m).cells {
			dots := make([]Dot, len(c.heads()))
			for i, h := range c.heads() {
				dots[i] = h.edit.dot()
			}
			sort.Slice(dots, func(i, j int) bool { return dots[i].Less(dots[j]) })
			text = append(text, c.field()...)
			for _, d := range dots {
				text = append(text, " "+d.String()...)
			}
			text = append(text, '\n')
		}
	}
	sum := Sum(text)
	return `"` + hex.EncodeToString(sum[:12]) + `"`
}
