package logbook

import (
	"slices"
	"sort"
)

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

// A draft may name more than an edit may: then it becomes several edits of one act.

// mostNamed bounds what one edit names in all its fields, and so its bytes.
const mostNamed = 2048

// piece is a draft that one edit can hold.
type piece struct {
	Draft
	after map[string]int // by field, the piece that its edit replaces, by its place in the act
}

// pieces cuts drafts so that no edit names more than most for a field; 0 is no bound. The
// edits of a field replace one another, and one head is left. Those of a striking-out all
// stay: each keeps what it has seen.
func pieces(drafts []Draft, most int) (all []piece) {
	for _, d := range drafts {
		if most == 0 || len(d.Set) == 0 {
			all = append(all, piece{Draft: d})
			continue
		}
		last := map[string]int{}
		for left := d.Set; len(left) > 0; {
			var p piece
			p.Draft = Draft{Kind: d.Kind, Record: d.Record}
			left = p.fill(left, most, last)
			for _, c := range p.Set {
				last[c.Field] = len(all)
			}
			all = append(all, p)
		}
	}
	return all
}

// fill takes as much of some changes as an edit can hold and returns what is left of them.
func (p *piece) fill(changes []Change, most int, last map[string]int) (left []Change) {
	named := 0
	for _, c := range changes {
		chained := c.Field != DeletedField || c.Value != "true"
		before, again := last[c.Field]
		room := min(most, mostNamed-named)
		if again && chained {
			room-- // for the piece before
		}
		if len(p.Set) > 0 && room < min(len(c.Over), most/2) {
			left = append(left, c)
			continue
		}
		taken := c
		if len(c.Over) > room {
			taken.Over = c.Over[:room:room]
			rest := c
			rest.Over = c.Over[room:]
			left = append(left, rest)
		}
		if again && chained {
			if p.after == nil {
				p.after = map[string]int{}
			}
			p.after[c.Field] = before
		}
		named += len(taken.Over)
		p.Set = append(p.Set, taken)
	}
	return left
}

// set is what the piece's edit sets, where the act's first edit has a dot.
func (p *piece) set(first Dot) []Change {
	if len(p.after) == 0 {
		return p.Set
	}
	set := make([]Change, len(p.Set))
	for i, c := range p.Set {
		if before, ok := p.after[c.Field]; ok {
			c.Over = append(c.Over[:len(c.Over):len(c.Over)], Dot{first.Line, first.N + uint64(before)})
		}
		set[i] = c
	}
	return set
}

// Act writes drafts as edits of one act, as many as it takes. like says production, device,
// time and person of each, and the dot of the first: the others follow it in its line. most
// is how many dots an edit may name for a field; 0 is no bound.
func Act(like *Edit, drafts []Draft, most int) []*Edit { return actOf(like, pieces(drafts, most)) }

func actOf(like *Edit, act []piece) []*Edit {
	edits := make([]*Edit, len(act))
	for i := range act {
		d, e := &act[i], *like
		e.Kind, e.Record, e.Dot.N, e.Set = d.Kind, d.Record, like.Dot.N+uint64(i), d.set(like.Dot)
		if len(act) > 1 {
			e.Act = like.Dot
		}
		edits[i] = &e
	}
	return edits
}
