package logbook

import (
	"encoding/hex"
	"errors"
	"fmt"
	"iter"
	"slices"
	"sort"
	"strings"
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

// FieldState is what is known of one field. Several heads with equal values are
// no conflict.
type FieldState struct {
	Name     string
	Heads    []Version // by (corrected time, dot), latest first
	Shown    Version   // the first of them: in a conflict not decided
	Conflict bool
}

// Record finds a record of any kind, deleted or not, by the id of any member.
func (b *Book) Record(id ID) (View, bool) {
	b.Settle()
	r := b.first(id)
	if r == nil {
		return View{}, false
	}
	return b.view(r), true
}

// RecordOf finds a record of one kind, deleted or not.
func (b *Book) RecordOf(kind Kind, id ID) (View, bool) {
	b.Settle()
	r := b.find(id, kind)
	if r == nil {
		return View{}, false
	}
	return b.view(r), true
}

func (b *Book) view(r *record) View {
	members := b.members(r)
	return View{ID: members[0].id, Kind: r.kind, book: b, members: members}
}

// Resolve returns the id under which a record reads.
func (b *Book) Resolve(id ID) ID {
	b.Settle()
	if r := b.first(id); r != nil {
		return b.members(r)[0].id
	}
	return id
}

// Records lists the records of a kind that are not deleted, in the order in
// which they were made.
func (b *Book) Records(kind Kind) []View {
	return slices.Collect(b.From(kind, Place{Made: Beginning}, false))
}

// AllRecords lists deleted ones too.
func (b *Book) AllRecords(kind Kind) []View {
	return slices.Collect(b.From(kind, Place{Made: Beginning}, true))
}

// Apart lists the records of a kind, deleted ones too, each as a view of its own
// whether or not it reads as one with others.
func (b *Book) Apart(kind Kind) []View {
	b.noteKind(kind)
	views := make([]View, len(b.byKind[kind]))
	for i, r := range b.byKind[kind] {
		views[i] = b.alone(r)
	}
	return views
}

// Stretch lists some records of a kind that are not deleted, in no order, and where the next
// stretch begins, 0 after the last: for whoever goes through all of them in short calls.
func (b *Book) Stretch(kind Kind, from, most int) (views []View, next int) {
	b.noteKind(kind)
	b.Settle()
	records := b.byKind[kind]
	to := min(len(records), from+most)
	for _, r := range records[from:to] {
		if v := b.view(r); v.ID == r.id && !v.Deleted() {
			views = append(views, v)
		}
	}
	if to == len(records) {
		return views, 0
	}
	return views, to
}

// Sift lists the records of a kind that are not deleted and that are kept, in the order in
// which they were made. It borrows the book for so many of them at a time.
func Sift(from Lender, kind Kind, most int, keep func(*Book, View) bool) (all []View) {
	for at, more := 0, true; more; more = at > 0 {
		from.Read(func(b *Book) {
			var some []View
			some, at = b.Stretch(kind, at, most)
			for _, v := range some {
				if keep(b, v) {
					all = append(all, v)
				}
			}
		})
	}
	from.Read(func(*Book) { slices.SortFunc(all, ByPlace) })
	return all
}

// ByPlace compares where two records stand.
func ByPlace(v, w View) int { return v.Place().Compare(w.Place()) }

func (b *Book) alone(r *record) View {
	return View{ID: r.id, Kind: r.kind, book: b, members: r.alone[:]}
}

// Alone finds a record of one kind, deleted or not, whether or not it reads as one
// with others.
func (b *Book) Alone(kind Kind, id ID) (View, bool) {
	r := b.find(id, kind)
	if r == nil {
		return View{}, false
	}
	return b.alone(r), true
}

// Referring lists the records of a kind that refer to a record by a field, or by
// the keys of the map of that name; deleted ones are left out.
func (b *Book) Referring(kind Kind, field string, to ID) []View {
	return b.referringTo(kind, field, to, false)
}

// AllReferring lists deleted ones too.
func (b *Book) AllReferring(kind Kind, field string, to ID) []View {
	return b.referringTo(kind, field, to, true)
}

func (b *Book) referringTo(kind Kind, field string, to ID, deleted bool) []View {
	b.Settle()
	targets := []*record{{id: to}}
	if r := b.first(to); r != nil {
		targets = b.members(r)
	}
	var found []*record
	for _, target := range targets {
		b.noteReferring(referrer{kind, field, target.id})
		found = append(found, b.referring[referrer{kind, field, target.id}]...)
	}
	found = slices.DeleteFunc(found, b.absent)
	to = b.Resolve(to)
	views := b.list(found, deleted)
	out := views[:0]
	for _, v := range views {
		if v.Ref(field) == to || v.hasKey(field, targets) {
			out = append(out, v)
		}
	}
	return out
}

// Pointing walks the ids of records of a kind that ever referred to a record by a field, or by
// the keys of the map of that name, and those as which they read: for whoever looks at each anew.
func (b *Book) Pointing(kind Kind, field string, to ID) iter.Seq[ID] {
	return func(yield func(ID) bool) {
		targets := []*record{{id: to}}
		if r := b.first(to); r != nil {
			targets = b.members(r)
		}
		for _, target := range targets {
			b.noteReferring(referrer{kind, field, target.id})
			for _, r := range b.referring[referrer{kind, field, target.id}] {
				if reads := b.members(r)[0].id; !yield(r.id) || reads != r.id && !yield(reads) {
					return
				}
			}
		}
	}
}

func (v View) hasKey(prefix string, targets []*record) bool {
	for _, t := range targets {
		start := prefix + "/" + t.id.String()
		for _, r := range v.members {
			m := v.book.of(r)
			at := sort.Search(len(m.cells), func(i int) bool { return m.cells[i].field() >= start })
			for ; at < len(m.cells) && strings.HasPrefix(m.cells[at].field(), start); at++ {
				if v.Value(m.cells[at].field()) != "" {
					return true
				}
			}
		}
	}
	return false
}

func (b *Book) list(records []*record, deleted bool) []View {
	b.Settle()
	out := make([]View, 0, len(records))
	// Without joined twins every record is a view of its own.
	var seen map[ID]bool
	if b.anyJoined() {
		seen = map[ID]bool{}
	}
	for _, r := range records {
		v := b.view(r)
		if seen[v.ID] || !deleted && v.Deleted() {
			continue
		}
		if seen != nil {
			seen[v.ID] = true
		}
		out = append(out, v)
	}
	slices.SortFunc(out, ByPlace)
	return out
}

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

// A Draft is a change on its way to become an edit.
type Draft struct {
	Kind   Kind
	Record ID
	Set    []Change
}

// Replace makes the change that sets a field over all its heads.
func Replace(v View, field string, value Value) Change {
	c := Change{Field: field, Value: value}
	for _, h := range v.Field(field).Heads {
		c.Over = append(c.Over, h.Dot)
	}
	return c
}

// Strike makes the change that strikes a record out, having seen all its heads.
func Strike(v View) Change {
	c := Change{Field: DeletedField, Value: "true"}
	for _, f := range v.Fields() {
		for _, h := range f.Heads {
			c.Over = append(c.Over, h.Dot)
		}
	}
	return distinct(c)
}

// BringBack makes the change that undoes a striking-out.
func BringBack(v View) Change { return Replace(v, DeletedField, Null) }

// Drafts turns changes of a view into drafts: of one record, or where twins read
// as one, of each of them that holds the field, so that they keep agreeing.
func (v View) Drafts(changes []Change) []Draft {
	var out []Draft
	for i, m := range v.members {
		d := Draft{Kind: m.kind, Record: m.id}
		for _, c := range changes {
			own := Change{Field: c.Field, Value: c.Value}
			wrote := v.book.of(m).wrote(c.Field)
			for _, dot := range c.Over {
				if wrote[dot] {
					own.Over = append(own.Over, dot)
				}
			}
			if i == 0 || len(own.Over) > 0 {
				d.Set = append(d.Set, own)
			}
		}
		if len(d.Set) > 0 {
			out = append(out, d)
		}
	}
	return out
}

// wrote are the heads of a field; of deleted, those of all fields.
func (r *state) wrote(field string) map[Dot]bool {
	found := map[Dot]bool{}
	for _, c := range r.cells {
		if c.field() != field && field != DeletedField {
			continue
		}
		for _, h := range c.heads() {
			found[h.edit.dot()] = true
		}
	}
	return found
}

// distinct orders the names of a change and keeps each once.
func distinct(c Change) Change {
	sort.Slice(c.Over, func(i, j int) bool { return c.Over[i].Less(c.Over[j]) })
	c.Over = slices.Compact(c.Over)
	return c
}

// ErrNoRecord is wrapped by errors about a record that was asked for and is
// not in the log, or is of another kind.
var ErrNoRecord = errors.New("no such record")

func FindRecord(b *Book, kind Kind, what string, id ID) (View, error) {
	v, ok := b.RecordOf(kind, id)
	if !ok {
		return View{}, fmt.Errorf("%w: %s is %s, allowed is the id of a %s of this production", ErrNoRecord, what, id, kind)
	}
	return v, nil
}
