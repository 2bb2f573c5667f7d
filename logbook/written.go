package logbook

// written is an edit as a book keeps it. What it says stays in its byte form, and is read
// out of it when somebody asks: a long job has a million of them.
type written struct {
	said   string // its byte form from n on
	record *record
	before *written // of the same record
	from   *origin
	n      uint64
	at     Millis // corrected
}

// An origin is what many edits share: where they were written.
type origin struct {
	production, device ID
	line               Line
}

func (w *written) dot() Dot { return Dot{w.from.line, w.n} }

// earlier is Before.
func (w *written) earlier(other *written) bool {
	if w.at != other.at {
		return w.at < other.at
	}
	return w.dot().Less(other.dot())
}

// edit reads the edit anew.
func (w *written) edit() *Edit {
	e := &Edit{Production: w.from.production, Record: w.record.id, Device: w.from.device, Dot: Dot{Line: w.from.line}}
	r := reader{in: w.said}
	r.head(e)
	r.rest(e)
	return e
}

// by is who made the edit.
func (w *written) by() string {
	r := reader{in: w.said}
	e := Edit{Dot: Dot{Line: w.from.line}}
	r.head(&e)
	return e.By
}

// all walks an edit and those of its record that came before it.
func (w *written) all(yield func(*written) bool) {
	for ; w != nil; w = w.before {
		if !yield(w) {
			return
		}
	}
}

// changesIn reads on from where what an edit sets begins.
func changesIn(said string) reader {
	r := reader{in: said}
	r.head(&Edit{})
	r.uvarint()
	return r
}

// skipChange passes over one change.
func (r *reader) skipChange() {
	r.string()
	r.string()
	for n := r.uvarint(); n > 0 && !r.bad; n-- {
		r.at += len(Line{})
		r.uvarint()
	}
}

// head is a version as a cell holds it.
type head struct {
	edit *written
	at   uint32 // where its change stands in what the edit says
}

// field is the name of the field.
func (h head) field() string {
	field, _ := stringAt(h.edit.said, int(h.at))
	return field
}

func (h head) value() Value {
	_, at := stringAt(h.edit.said, int(h.at))
	value, _ := stringAt(h.edit.said, at)
	return Value(value)
}

// stringAt is a text of the byte form, and where the next thing begins.
func stringAt(said string, at int) (text string, next int) {
	n := int(said[at])
	at++
	if n >= 0x80 { // of more than a byte
		r := reader{in: said, at: at - 1}
		n, at = int(r.uvarint()), r.at
	}
	return said[at : at+n], at + n
}

func (h head) version() Version {
	return Version{Dot: h.edit.dot(), Value: h.value(), Record: h.edit.record.id, edit: h.edit}
}

// A Version is one value written to a field.
type Version struct {
	Dot    Dot
	Value  Value
	Record ID
	edit   *written
}

// Known reports whether it is a version at all: the zero one is none.
func (v Version) Known() bool { return v.edit != nil }

// Edit is the edit that wrote it.
func (v Version) Edit() *Edit { return v.edit.edit() }

// By is who wrote it.
func (v Version) By() string { return v.edit.by() }

// Corrected is when it was written.
func (v Version) Corrected() Millis { return v.edit.at }

// Before orders versions as Before does their edits.
func (v Version) Before(other Version) bool { return v.edit.earlier(other.edit) }

// cell holds the heads of one field, whose name stands in each of its changes.
type cell struct {
	one  [1]head // the head where there is one; else where the name stands
	many *[]head // where there are several, or none any more
}

func (c *cell) field() string { return c.one[0].field() }

func (c *cell) heads() []head {
	if c.many != nil {
		return *c.many
	}
	return c.one[:]
}

// set changes the heads.
func (c *cell) set(heads []head) {
	switch {
	case len(heads) == 1:
		c.one[0], c.many = heads[0], nil
	case c.many == nil:
		c.many = &heads
	default:
		*c.many = heads
	}
}

// origins are those of the edits of a book.
type origins map[origin]*origin

func (all origins) of(e *Edit) *origin {
	key := origin{e.Production, e.Device, e.Dot.Line}
	known := all[key]
	if known == nil {
		known = &origin{e.Production, e.Device, e.Dot.Line}
		all[key] = known
	}
	return known
}

// slab hands out room for things that stay, in pieces: the more there are, the larger.
type slab[T any] struct {
	left []T
	gone int
}

func (s *slab[T]) next() *T {
	if len(s.left) == 0 {
		s.left = make([]T, min(max(s.gone, 1), 255)) // one less than a power of two: the collector adds a word
	}
	item := &s.left[0]
	s.left = s.left[1:]
	s.gone++
	return item
}
