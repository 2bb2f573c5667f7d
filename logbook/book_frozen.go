package logbook

import (
	"iter"
	"maps"
	"slices"
)

// A frozen book stays as it was while the live one goes on. They share all that
// only grows; of what else an edit changes, the live book first puts the state from
// before into each past. So freezing copies next to nothing, and what is held for
// it is what was changed meanwhile.

// past is what a frozen book knows of earlier: where it says nothing, nothing has
// changed. A nil past, that of the live book, says nothing.
type past struct {
	states  map[*record]*state    // nil for a record that was not there
	groups  map[*record][]*record // of joined twins, of one alone itself
	dots    map[Dot]struct{}      // of the edits that came since
	waiting map[Dot][]place
}

// freeze makes a book that stays as this one is, for as long as thaw is not called:
// the live book must not be changed while it is read. It must be settled.
func (b *Book) freeze() *Book {
	twin := *b
	twin.byKind = maps.Clone(b.byKind) // lists that only grow: each keeps its length
	twin.frozen, twin.orders, twin.kept = nil, &orders{}, &keptOf{}
	twin.past = &past{states: map[*record]*state{}, groups: map[*record][]*record{}, dots: map[Dot]struct{}{}, waiting: map[Dot][]place{}}
	b.frozen = append(b.frozen, twin.past)
	return &twin
}

// thaw ends a frozen book.
func (b *Book) thaw(twin *Book) {
	b.frozen = slices.DeleteFunc(b.frozen, func(p *past) bool { return p == twin.past })
}

// of is what the book shows of a record.
func (b *Book) of(r *record) *state {
	if b.past != nil {
		return b.past.of(r)
	}
	return &r.state
}

func (p *past) of(r *record) *state {
	if s, ok := p.states[r]; ok {
		return s
	}
	return &r.state
}

// absent reports whether a record was made after a book was frozen.
func (b *Book) absent(r *record) bool { return b.past != nil && b.past.of(r) == nil }

// later reports whether an edit came after the book was frozen.
func (p *past) later(d Dot) bool {
	if p == nil {
		return false
	}
	_, ok := p.dots[d]
	return ok
}

// holds is what was held, of what is.
func (p *past) holds(now Ranges) Ranges {
	then := make(Ranges, len(now))
	for line, spans := range now {
		for _, s := range spans {
			for from := s.From; from <= s.To; {
				if p.later(Dot{line, from}) {
					from++
					continue
				}
				to := from
				for to < s.To && !p.later(Dot{line, to + 1}) {
					to++
				}
				then[line] = append(then[line], Span{from, to})
				from = to + 1
			}
		}
	}
	return then
}

// names are those that waited, of those that do.
func (p *past) names(now map[Dot][]place) iter.Seq2[Dot, []place] {
	if p == nil {
		return maps.All(now)
	}
	return func(yield func(Dot, []place) bool) {
		for d, places := range now {
			if _, changed := p.waiting[d]; !changed && !yield(d, places) {
				return
			}
		}
		for d, places := range p.waiting {
			if !yield(d, places) {
				return
			}
		}
	}
}

// keepDot tells the frozen books of an edit that is new.
func (b *Book) keepDot(d Dot) {
	for _, p := range b.frozen {
		p.dots[d] = struct{}{}
	}
}

// keepName keeps what waits for an edit, before that changes.
func (b *Book) keepName(d Dot) {
	for _, p := range b.frozen {
		if _, kept := p.waiting[d]; !kept {
			p.waiting[d] = b.waiting[d]
		}
	}
}

// keepGroup keeps what reads as one with a record, before that changes.
func (b *Book) keepGroup(r *record) {
	for _, p := range b.frozen {
		if _, kept := p.groups[r]; !kept {
			p.groups[r] = b.members(r)
		}
	}
}

// anyJoined reports whether there may be joined twins.
func (b *Book) anyJoined() bool { return len(b.groups) > 0 || b.past != nil && len(b.past.groups) > 0 }

// joins walks the joined twins, each with all that reads as it.
func (b *Book) joins() iter.Seq2[*record, []*record] {
	if b.past == nil {
		return maps.All(b.groups)
	}
	return func(yield func(*record, []*record) bool) {
		for r, members := range b.groups {
			if _, changed := b.past.groups[r]; !changed && !yield(r, members) {
				return
			}
		}
		for r, members := range b.past.groups {
			if len(members) > 1 && !yield(r, members) {
				return
			}
		}
	}
}

// keep keeps a record, before an edit changes it. One copy serves all frozen books.
func (b *Book) keep(r *record) {
	var before *state
	for _, p := range b.frozen {
		if _, kept := p.states[r]; kept {
			continue
		}
		if before == nil && r.first != nil {
			before = r.clone()
		}
		p.states[r] = before
	}
}

// clone copies what is changed in place. What came before an edit stays.
func (r *state) clone() *state {
	out := &state{cells: slices.Clone(r.cells), first: r.first, last: r.last}
	for i := range out.cells {
		if c := &out.cells[i]; c.many != nil {
			many := slices.Clone(*c.many)
			c.many = &many
		}
	}
	return out
}
