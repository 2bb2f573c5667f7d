package logbook

import (
	"iter"
	"maps"
	"slices"
	"sort"
	"strings"
)

// A Book holds the edits of one production and the records they make. What it
// shows is a function of the set of edits alone: Apply takes them in any order,
// any number of times.
//
// The merge is one rule. The heads of a field are the versions written to it by
// valid edits that no valid edit names in its over for that field. A name whose
// edit is not here, or is here but refused, waits until it is here and valid.
//
// A Book is not locked: Log guards the one of a store.
type Book struct {
	production ID
	records    map[ID]*record
	byKind     map[Kind][]*record
	held       *Held
	waiting    map[Dot][]place
	crowds     map[place]crowd
	refused    map[Dot]Refusal
	referring  map[referrer][]*record
	origins    origins
	byDot      map[block]*[blockOf]*written // nil: not wanted
	form       []byte                       // room to write an edit down
	writtens   slab[written]
	rows       slab[record]
	groups     map[*record][]*record // joined twins, by each member
	regroup    []*record             // whose groups may be others, since they were worked out
	orders     *orders
	kept       *keptOf
	rules      Rules
	count      uint64  // of the edits that are here
	frozen     []*past // of the frozen books that are being read
	past       *past   // of a frozen book: what the live one changed since
	notes      *notes  // of a book that notes what is asked of it
}

// A Refusal is an edit that is held but not valid: neither its values nor its
// names apply.
type Refusal struct {
	Edit   *Edit
	Reason string
}

// record is what is known of one record. Another kind under the same id is a
// fault somewhere; both are kept, the lesser kind first.
type record struct {
	id    ID
	kind  Kind
	other *record
	alone [1]*record // the record itself, as the only member of its view
	state
}

// state is what edits change about a record. Who reads it goes through the book,
// by of: a frozen book may keep an earlier one.
type state struct {
	cells []cell // in the order of names
	first *written
	last  *written // that came, and so all
}

type place struct {
	record *record
	field  string
}

type referrer struct {
	kind  Kind
	field string
	to    ID
}

// Rules say which edits are valid. They are handed in: the merge knows no kind of
// record.
type Rules struct {
	// Version rises whenever the rules widen; they never narrow.
	Version int
	// Judge returns why an edit is not valid, or nil, from its own bytes alone, so
	// that every copy comes to the same verdict.
	Judge func(*Edit) error
	// MostNames is how many dots an edit may name for one field; 0 is no bound.
	MostNames int
}

// NewBook makes an empty book.
func NewBook(production ID, rules Rules) *Book {
	return &Book{
		production: production,
		records:    map[ID]*record{},
		byKind:     map[Kind][]*record{},
		held:       &Held{},
		waiting:    map[Dot][]place{},
		crowds:     map[place]crowd{},
		refused:    map[Dot]Refusal{},
		referring:  map[referrer][]*record{},
		origins:    origins{},
		groups:     map[*record][]*record{},
		orders:     &orders{},
		kept:       &keptOf{},
		rules:      rules,
	}
}

// Production returns the production that the book is about.
func (b *Book) Production() ID { return b.production }

// Held reports whether an edit is here, valid or not.
func (b *Book) Held(d Dot) bool {
	b.noteAll()
	return b.held.Has(d) && !b.past.later(d)
}

// Holds lists the edits that are here, valid or not.
func (b *Book) Holds() Ranges {
	b.noteAll()
	if b.past != nil {
		return b.past.holds(b.held.Ranges())
	}
	return b.held.Ranges()
}

// Holding lends the set of the edits that are here, valid or not: not to be changed.
func (b *Book) Holding() *Held {
	b.noteAll()
	if b.past != nil {
		return HeldOf(b.Holds())
	}
	return b.held
}

// Applied walks the edits that are here and valid, in no order.
func (b *Book) Applied() iter.Seq[*Edit] {
	b.noteAll()
	return func(yield func(*Edit) bool) {
		for _, records := range b.byKind {
			for _, r := range records {
				for w := range b.of(r).last.all {
					if !yield(w.edit()) {
						return
					}
				}
			}
		}
	}
}

// Waiting walks the names that wait for their edit, which is not here or refused, each
// with the field for which it is named, in no order.
func (b *Book) Waiting() iter.Seq2[Dot, FieldRef] {
	b.noteAll()
	return func(yield func(Dot, FieldRef) bool) {
		for d, places := range b.past.names(b.waiting) {
			for _, p := range places {
				if !yield(d, FieldRef{RecordRef{p.record.kind, p.record.id}, p.field}) {
					return
				}
			}
		}
	}
}

// Kinds lists the kinds of which there are records, deleted ones as well, sorted.
func (b *Book) Kinds() []Kind {
	b.noteAll()
	return slices.Sorted(maps.Keys(b.byKind))
}

// Refusal finds the edit under a dot, where it is here but not valid.
func (b *Book) Refusal(d Dot) (Refusal, bool) {
	b.noteAll()
	r, ok := b.refused[d]
	if b.past.later(d) {
		return Refusal{}, false
	}
	return r, ok
}

// Refused lists the edits that are here but not valid, by dot.
func (b *Book) Refused() []Refusal {
	b.noteAll()
	out := make([]Refusal, 0, len(b.refused))
	for d, r := range b.refused {
		if !b.past.later(d) {
			out = append(out, r)
		}
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Edit.Dot.Less(out[j].Edit.Dot) })
	return out
}

// Apply merges one edit and returns why it is refused, or nil. A refused one must not
// be changed afterwards. An edit that is here already changes nothing.
func (b *Book) Apply(e *Edit) error { return b.applyJudged(e, b.rules.Judge(e)) }

// applyJudged merges one edit which err refuses, unless it is nil.
func (b *Book) applyJudged(e *Edit, err error) error {
	b.form = e.appendSaid(b.form[:0])
	return b.apply(e, string(b.form), err)
}

// apply merges an edit whose byte form from n on is at hand, and which err refuses, unless it is
// nil: of one that is valid it keeps the byte form alone.
func (b *Book) apply(e *Edit, said string, err error) error {
	if !b.held.Add(e.Dot) {
		if r, ok := b.refused[e.Dot]; ok {
			return refusedError(r.Reason)
		}
		return nil
	}
	b.count++
	b.keepDot(e.Dot)
	if err != nil {
		b.refused[e.Dot] = Refusal{e, err.Error()}
		return err
	}
	r := b.ensure(e.Record, e.Kind)
	b.keep(r)
	w := b.writtens.next()
	*w = written{said: said, record: r, before: r.last, from: b.origins.of(e), n: e.Dot.N, at: e.Corrected()}
	r.last = w
	b.indexDot(w)
	b.touch(r)
	if r.first == nil || w.earlier(r.first) {
		b.begins(r, w)
	}
	named := b.namedBefore(e)
	if r.cells == nil {
		r.cells = make([]cell, 0, len(e.Set))
	}
	changes := changesIn(said)
	for i := range e.Set {
		c, h := &e.Set[i], head{w, uint32(changes.at)}
		changes.skipChange()
		at, found := r.cell(c.Field)
		if !found {
			r.add(at, cell{one: [1]head{h}})
		}
		switch here := !named(place{r, c.Field}); {
		case here && found:
			b.addHead(r, at, h)
		case !here && !found:
			r.cells[at].set([]head{})
		}
		for _, d := range c.Over {
			b.supersede(r, at, d)
		}
		b.index(r, c)
	}
	return nil
}

// refusedError is the reason of a refusal that was found earlier.
type refusedError string

func (r refusedError) Error() string { return string(r) }

// Before orders edits as screens do: by corrected time, then by dot.
func Before(a, b *Edit) bool {
	if x, y := a.Corrected(), b.Corrected(); x != y {
		return x < y
	}
	return a.Dot.Less(b.Dot)
}

func (b *Book) ensure(id ID, kind Kind) *record {
	first := b.records[id]
	for r := first; r != nil; r = r.other {
		if r.kind == kind {
			return r
		}
	}
	r := b.rows.next()
	r.id, r.kind, r.other, r.alone[0] = id, kind, first, r
	if first != nil && first.kind < kind {
		r.other, first.other = first.other, r
	} else {
		b.records[id] = r
	}
	b.byKind[kind] = append(b.byKind[kind], r)
	if len(b.referring[referrer{kind, "same", id}]) > 0 {
		b.regroup = append(b.regroup, r) // the answer that it is another's twin came before it
	}
	for o := b.records[id]; o != nil && first != nil; o = o.other {
		b.touch(o) // what refers to the id may read another kind
	}
	return r
}

// add puts a cell in. Most records get few fields after their first: room for more would stay.
func (r *state) add(at int, c cell) {
	if n := len(r.cells); n == cap(r.cells) {
		r.cells = append(make([]cell, 0, n+1+n/8), r.cells...)
	}
	r.cells = slices.Insert(r.cells, at, c)
}

// cell finds the cell of a field, or where it belongs. It searches by hand: nearly all that is
// read from a book is read through it.
func (r *state) cell(field string) (at int, found bool) {
	from, to := 0, len(r.cells)
	for from < to {
		at := int(uint(from+to) >> 1)
		switch strings.Compare(r.cells[at].field(), field) {
		case -1:
			from = at + 1
		case 0:
			return at, true
		default:
			to = at
		}
	}
	return from, false
}

func (r *state) heads(field string) []head {
	if at, found := r.cell(field); found {
		return r.cells[at].heads()
	}
	return nil
}

// index notes which records may refer to which: by the value of a plain field,
// or by the key of a map entry. Rows are only added; Referring looks at what the
// records say now.
func (b *Book) index(r *record, c *Change) {
	if c.Field == DeletedField || strings.HasPrefix(c.Field, SamePrefix) {
		b.regroup = append(b.regroup, r)
	}
	refers(c, func(field string, to ID) bool {
		key := referrer{r.kind, field, to}
		if known := b.referring[key]; !r.among(known, key) {
			b.referring[key] = append(known, r)
		}
		return true
	})
}

// refers walks what a change may refer to.
func refers(c *Change, yield func(field string, to ID) bool) {
	if len(c.Value) == 38 {
		if to, ok := c.Value.ID(); ok && !yield(c.Field, to) {
			return
		}
	}
	if prefix, key, found := strings.Cut(c.Field, "/"); found {
		if key, _, _ = strings.Cut(key, "/"); len(key) == 36 {
			if to, err := ParseID(key); err == nil {
				yield(prefix, to)
			}
		}
	}
}

// among reports whether a record, of which the last edit is being noted, stands among those
// known to refer to another. That may be a camera with thousands of clips: where its own
// edits are fewer, they are looked through.
func (r *record) among(known []*record, key referrer) (found bool) {
	n := len(known)
	if n == 0 || known[n-1] == r {
		return n > 0
	}
	looked := 0
	for w := range r.last.before.all {
		if looked++; looked > n {
			return slices.Contains(known, r)
		}
		e := w.edit()
		for i := range e.Set {
			refers(&e.Set[i], func(field string, to ID) bool {
				found = found || field == key.field && to == key.to
				return !found
			})
		}
	}
	return found
}

func (b *Book) members(r *record) []*record {
	members := b.membersOf(r)
	if b.notes != nil {
		for _, m := range members {
			b.noteRecord(m.id)
		}
	}
	return members
}

func (b *Book) membersOf(r *record) []*record {
	if b.past != nil {
		if g, ok := b.past.groups[r]; ok {
			return g
		}
	}
	if g, ok := b.groups[r]; ok {
		return g
	}
	return r.alone[:]
}

func (b *Book) find(id ID, kind Kind) *record {
	for r := b.first(id); r != nil; r = r.other {
		if r.kind == kind && !b.absent(r) {
			return r
		}
	}
	return nil
}

// first finds the record of an id, of two kinds the lesser; nil where there is none.
func (b *Book) first(id ID) *record {
	b.noteRecord(id)
	r := b.records[id]
	for r != nil && b.absent(r) {
		r = r.other
	}
	return r
}

func (r *state) deleted() bool { return shown(r.heads(DeletedField)).Value == "true" }

// shown is the greatest version by (corrected time, dot); zero where there is
// none.
func shown(heads []head) Version {
	if best := greatest(heads); best.edit != nil {
		return best.version()
	}
	return Version{}
}

func greatest(heads []head) head {
	var best head
	for _, h := range heads {
		if best.edit == nil || best.edit.earlier(h.edit) {
			best = h
		}
	}
	return best
}
