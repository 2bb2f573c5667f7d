package logbook

import (
	"errors"
	"fmt"
	"iter"
	"slices"
	"sort"
	"strings"
)

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
