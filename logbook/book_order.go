package logbook

import (
	"bytes"
	"cmp"
	"iter"
	"slices"
	"sync"
)

// A Place is where a record stands among those of its kind: by when it was made, then by id.
type Place struct {
	Made Millis
	ID   ID
}

// Compare returns -1, 0 or +1.
func (p Place) Compare(other Place) int {
	if p.Made != other.Made {
		return cmp.Compare(p.Made, other.Made)
	}
	return bytes.Compare(p.ID[:], other.ID[:])
}

// Place is where the record stands.
func (v View) Place() Place { return Place{v.CreatedAt(), v.ID} }

func (b *Book) placeOf(r *record) Place { return Place{b.of(r).first.at, r.id} }

// orders are the records of each kind in order, made when somebody first asks for them and
// kept from then on. Records stand in them apart, so that an answer about twins moves
// none; those that read as one are few and walked beside them.
type orders struct {
	mu   sync.Mutex
	own  map[Kind]*Order[*record]
	ones map[Kind][]View // joined twins, in order; absent where they changed
}

// From walks the records of a kind that are not deleted, or all, from behind a place on: in
// the order in which they were made.
func (b *Book) From(kind Kind, after Place, deleted bool) iter.Seq[View] {
	b.Settle()
	b.noteKind(kind)
	own, ones := b.orderOf(kind)
	at, _ := slices.BinarySearchFunc(ones, after, func(v View, p Place) int {
		if v.Place().Compare(p) <= 0 {
			return -1
		}
		return 1
	})
	ones = ones[at:]
	return func(yield func(View) bool) {
		show := func(v View) bool { return !deleted && v.Deleted() || yield(v) }
		for r := range own.From(func(r *record) bool { return b.placeOf(r).Compare(after) > 0 }) {
			if b.anyJoined() && len(b.members(r)) > 1 {
				continue
			}
			for len(ones) > 0 && ones[0].Place().Compare(b.placeOf(r)) < 0 {
				if !show(ones[0]) {
					return
				}
				ones = ones[1:]
			}
			if !show(b.alone(r)) {
				return
			}
		}
		for _, v := range ones {
			if !show(v) {
				return
			}
		}
	}
}

func (b *Book) orderOf(kind Kind) (own *Order[*record], ones []View) {
	o := b.orders
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.own == nil {
		o.own, o.ones = map[Kind]*Order[*record]{}, map[Kind][]View{}
	}
	if len(b.byKind[kind]) == 0 {
		return &Order[*record]{}, nil // whoever asks may have made the kind up
	}
	if o.own[kind] == nil {
		o.own[kind] = NewOrder(func(x, y *record) int { return b.placeOf(x).Compare(b.placeOf(y)) }, slices.Clone(b.byKind[kind]))
	}
	ones, known := o.ones[kind]
	if !known {
		for r, members := range b.joins() {
			if r.kind == kind && r == members[0] {
				ones = append(ones, b.view(r))
			}
		}
		slices.SortFunc(ones, ByPlace)
		o.ones[kind] = ones
	}
	return o.own[kind], ones
}

// begins sets the edit that made a record, as far as is known, and puts it in its place.
func (b *Book) begins(r *record, w *written) {
	own := b.orders.own[r.kind]
	if own != nil && r.first != nil {
		own.Remove(r)
	}
	r.first = w
	if own != nil {
		own.Add(r)
	}
	if len(b.groups[r]) > 0 {
		b.orders.regrouped(r.kind)
	}
}

// regrouped forgets the order of joined twins.
func (o *orders) regrouped(kind Kind) { delete(o.ones, kind) }
