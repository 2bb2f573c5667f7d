package logbook

import (
	"bytes"
	"iter"
	"slices"
	"sort"
	"strings"
)

// Settle brings the groups of joined twins up to date: of what an edit touched since, and
// of nothing else. The reading methods call it; Log calls it while it still holds the
// book alone.
func (b *Book) Settle() {
	if len(b.regroup) == 0 {
		return
	}
	var affected []*record // with all that was one with what was touched
	seen := map[*record]bool{}
	for _, r := range b.regroup {
		for _, m := range append(b.members(r), r) {
			if !seen[m] {
				seen[m] = true
				affected = append(affected, m)
			}
		}
	}
	b.regroup = nil
	done := map[*record]bool{}
	for _, r := range affected {
		if !done[r] {
			members := b.joined(r)
			for _, m := range members {
				done[m] = true
			}
			b.group(members)
		}
	}
}

// group lets records read as one.
func (b *Book) group(members []*record) {
	sort.Slice(members, func(i, j int) bool { return bytes.Compare(members[i].id[:], members[j].id[:]) < 0 })
	for _, m := range members {
		if slices.Equal(b.members(m), members) {
			continue
		}
		b.keepGroup(m)
		b.touch(m)
		b.orders.regrouped(m.kind)
		if len(members) > 1 {
			b.groups[m] = members
		} else {
			delete(b.groups, m)
		}
	}
}

// joined finds all that reads as one with a record: what answers lead to, one after
// another, past nothing that is struck out.
func (b *Book) joined(r *record) []*record {
	if r.deleted() {
		return []*record{r}
	}
	return b.led(r, func(other *record) bool { return !other.deleted() })
}

// led finds the records that answers of "one" lead to from a record, in either direction,
// itself first.
func (b *Book) led(r *record, past func(*record) bool) []*record {
	members, in := []*record{r}, map[*record]bool{r: true}
	known := map[*record]map[*record]bool{} // what the answers in a record lead to
	from := func(r *record) map[*record]bool {
		if known[r] == nil {
			known[r] = map[*record]bool{}
			for other, answer := range b.answersIn(r) {
				if answer == `"one"` {
					known[r][other] = true
				}
			}
		}
		return known[r]
	}
	add := func(other *record) {
		if !in[other] && past(other) {
			in[other] = true
			members = append(members, other)
		}
	}
	for i := 0; i < len(members); i++ {
		m := members[i]
		for other := range from(m) {
			add(other)
		}
		b.noteReferring(referrer{m.kind, "same", m.id})
		for _, other := range b.referring[referrer{m.kind, "same", m.id}] {
			b.noteRecord(other.id)
			if !b.absent(other) && from(other)[m] {
				add(other)
			}
		}
	}
	return members
}

// answersIn walks the answers that stand in a record: those about records of greater ids.
func (b *Book) answersIn(r *record) iter.Seq2[*record, Value] {
	return func(yield func(*record, Value) bool) {
		cells := b.of(r).cells
		from := sort.Search(len(cells), func(i int) bool { return cells[i].field() >= SamePrefix })
		for _, c := range cells[from:] {
			key, ok := strings.CutPrefix(c.field(), SamePrefix)
			if !ok {
				return
			}
			id, err := ParseID(key)
			if err != nil || !r.id.Less(id) {
				continue
			}
			if other := b.find(id, r.kind); other != nil && !yield(other, shown(c.heads()).Value) {
				return
			}
		}
	}
}

// Answers walks the answers that stand in a record, or in one that reads as it: of whom it
// is about, seen apart, and what was said.
func (v View) Answers() iter.Seq2[View, string] {
	return func(yield func(View, string) bool) {
		for _, m := range v.members {
			for other, answer := range v.book.answersIn(m) {
				if text, ok := answer.Text(); ok && !yield(v.book.alone(other), text) {
					return
				}
			}
		}
	}
}

// Led lists the records that answers of "one" lead to, each seen apart, struck out or not,
// by id.
func (v View) Led() []View {
	var all []View
	for _, r := range v.book.led(v.members[0], func(*record) bool { return true }) {
		all = append(all, v.book.alone(r))
	}
	slices.SortFunc(all, func(x, y View) int { return bytes.Compare(x.ID[:], y.ID[:]) })
	return all
}
