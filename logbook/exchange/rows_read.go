package exchange

import (
	"encoding/base64"
	"fmt"

	"evenwhite/logbook"
)

// rowsReader reads the rows of edits. Its first error stays.
type rowsReader struct {
	production logbook.ID
	most       int // edits
	s          logbook.Scanner
	row        int // counted from 1
	err        error

	lines   []readLine
	devices []logbook.ID
	persons []string
	fields  []fieldOver
	records []logbook.RecordRef
	line    int // of the next edit; -1 before any
	act     logbook.Dot
	of      int // the record of the next edit; -1 where its dots name it
	also    []logbook.Member
	set     []logbook.Change // of the row at hand

	edits  []*logbook.Edit
	rows   []int               // in which an edit stands
	above  map[logbook.Dot]int // where an edit stands
	gaps   []rowGap
	checks []rowCheck
}

// readLine is a line as its next edit continues it.
type readLine struct {
	line       logbook.Line
	n          uint64
	at, offset logbook.Millis
	device     logbook.ID
	by         string
	begun      bool
}

// rowGap is an edit whose record is that of another: one above, or one held.
type rowGap struct {
	edit, above int // above is -1 where it is not
	dot         logbook.Dot
}

// rowCheck is what the chain over the edits up to a place must be.
type rowCheck struct {
	edits, row int
	chain      logbook.Chain
}

func newRowsReader(production logbook.ID, most int) *rowsReader {
	return &rowsReader{production: production, most: most, line: -1, of: -1, above: map[logbook.Dot]int{}}
}

func (r *rowsReader) fail(format string, args ...any) {
	if r.err == nil {
		r.err = rowError(r.row, format, args...)
	}
}

// editRow takes a row of the given name where it belongs to the edits.
func (r *rowsReader) editRow(name string) (mine bool) {
	switch name {
	case "":
		r.edit()
	case "in":
		r.in()
	case "act":
		r.act = logbook.Dot{}
		if r.more() {
			r.act = r.dot()
			r.end()
		}
	case "of":
		r.recordRow()
	case "also":
		r.next("the member")
		m := logbook.Member{Name: r.text("the member")}
		r.next("its value")
		m.Value = r.value()
		r.also = append(r.also, m)
		r.end()
	case "check":
		r.check()
	default:
		return r.definition(name)
	}
	return true
}

// definition takes a row that gives something a number, or forgets all numbers.
func (r *rowsReader) definition(name string) (mine bool) {
	switch name {
	case "tables":
		r.checked("tables are forgotten")
		r.lines, r.devices, r.persons, r.fields, r.records, r.line, r.act = nil, nil, nil, nil, nil, -1, logbook.Dot{}
	case "line":
		r.next("the line")
		r.lines = append(r.lines, readLine{line: r.lineText("line")})
	case "device":
		r.next("the device")
		r.devices = append(r.devices, r.id("device"))
	case "person":
		r.next("the person")
		r.persons = append(r.persons, r.text("person"))
	case "field":
		r.next("the field")
		f := fieldOver{name: r.text("field")}
		r.next("how many dots it is over")
		f.over = int(r.integer("the number of dots", 0, logbook.MaxEdit/9))
		r.fields = append(r.fields, f)
	default:
		return false
	}
	r.end()
	return true
}

// check notes what the chain over the edits since the last check must be.
func (r *rowsReader) check() {
	r.next("the chain")
	text := r.text("the chain")
	b, err := base64.RawURLEncoding.Strict().DecodeString(text)
	if err != nil || len(b) != len(logbook.Chain{}) {
		r.fail("the chain is %q; allowed are 8 bytes in base64url", logbook.Shorten(text))
		return
	}
	r.checks = append(r.checks, rowCheck{len(r.edits), r.row, logbook.Chain(b)})
	r.end()
}

// in reads of which line the next edits are.
func (r *rowsReader) in() {
	r.next("the line")
	at := r.number("line", len(r.lines))
	if r.err != nil {
		return
	}
	l := &r.lines[at]
	r.line = at
	if r.more() {
		l.n = uint64(r.integer("n", 1, 1<<62))
		if r.more() {
			device := r.number("device", len(r.devices))
			r.next("the person")
			person := r.number("person", len(r.persons))
			r.next("the offset")
			l.offset = logbook.Millis(r.integer("the offset", -int64(logbook.YearTenThousand), int64(logbook.YearTenThousand)))
			if r.end(); r.err == nil {
				l.device, l.by, l.begun = r.devices[device], r.persons[person], true
			}
		}
	}
	if !l.begun {
		r.fail("line %d begins here; it needs n, device, person and offset", at)
	}
}

func (r *rowsReader) recordRow() {
	r.next("the record")
	r.s.Space()
	if r.s.At < len(r.s.In) && r.s.In[r.s.At] != '"' {
		r.of = r.number("record", len(r.records))
		r.end()
		return
	}
	ref := logbook.RecordRef{Record: r.id("record")}
	r.next("the kind")
	ref.Kind = logbook.Kind(r.text("kind"))
	r.of = len(r.records)
	r.records = append(r.records, ref)
	r.end()
}

// edit reads the row of an edit.
func (r *rowsReader) edit() {
	if r.line < 0 {
		r.fail("an edit needs a line; none is told above")
	}
	if len(r.edits) == r.most {
		r.fail("it is edit %d; allowed are at most %d", r.most+1, r.most)
	}
	if r.err != nil {
		return
	}
	l := &r.lines[r.line]
	e := &logbook.Edit{Production: r.production, Device: l.device,
		Dot: logbook.Dot{Line: l.line, N: l.n}, Offset: l.offset, By: l.by, Act: r.act, Extra: r.also}
	e.At = l.at + logbook.Millis(r.integer("the time", -int64(logbook.YearTenThousand), int64(logbook.YearTenThousand)))
	r.set = r.set[:0]
	for r.more() {
		r.change()
	}
	if r.err != nil {
		return
	}
	e.Set = append([]logbook.Change(nil), r.set...)
	if r.of >= 0 {
		e.Record, e.Kind = r.records[r.of].Record, r.records[r.of].Kind
	} else if !r.gap(e) {
		r.fail("its record is neither told above nor by a dot that it is over")
		return
	}
	l.at, l.n = e.At, l.n+1
	r.above[e.Dot] = len(r.edits)
	r.edits, r.rows = append(r.edits, e), append(r.rows, r.row)
	r.of, r.also = -1, nil
}

func (r *rowsReader) change() {
	at := r.number("field", len(r.fields))
	r.next("the value")
	if r.err != nil {
		return
	}
	c := logbook.Change{Field: r.fields[at].name, Value: r.value()}
	for k := r.fields[at].over; k > 0 && r.err == nil; k-- {
		r.next("a dot")
		c.Over = append(c.Over, r.dot())
	}
	r.set = append(r.set, c)
}

// gap notes an edit whose record is that of the first dot it names.
func (r *rowsReader) gap(e *logbook.Edit) bool {
	for i := range e.Set {
		if len(e.Set[i].Over) == 0 {
			continue
		}
		g := rowGap{edit: len(r.edits), above: -1, dot: e.Set[i].Over[0]}
		if at, ok := r.above[g.dot]; ok {
			g.above = at
		}
		r.gaps = append(r.gaps, g)
		return true
	}
	return false
}

// checked makes sure that the edits so far stand before a check.
func (r *rowsReader) checked(where string) {
	last := 0
	if n := len(r.checks); n > 0 {
		last = r.checks[n-1].edits
	}
	if last != len(r.edits) || r.of >= 0 || r.also != nil {
		r.fail("%s with no check behind the edits above", where)
	}
}

// whole fills in the records that were left out and compares the checks. held
// finds the records of edits that are held here.
func (r *rowsReader) whole(held func([]logbook.Dot) (map[logbook.Dot]logbook.RecordRef, error)) ([]*logbook.Edit, error) {
	if r.err != nil {
		return nil, r.err
	}
	var asked []logbook.Dot
	for _, g := range r.gaps {
		if g.above < 0 {
			asked = append(asked, g.dot)
		}
	}
	var found map[logbook.Dot]logbook.RecordRef
	if len(asked) > 0 && held != nil {
		var err error
		if found, err = held(asked); err != nil {
			return nil, err
		}
	}
	for _, g := range r.gaps {
		ref, ok := found[g.dot]
		if g.above >= 0 {
			ref, ok = logbook.RecordRef{Kind: r.edits[g.above].Kind, Record: r.edits[g.above].Record}, true
		}
		if !ok {
			return nil, fmt.Errorf("%w: row %d names %s, which is not held here", ErrRecords, r.rows[g.edit], g.dot)
		}
		r.edits[g.edit].Kind, r.edits[g.edit].Record = ref.Kind, ref.Record
	}
	return r.edits, r.compare(len(asked) > 0)
}

// compare holds the edits to the checks; left says that records were left out.
func (r *rowsReader) compare(left bool) error {
	at, size := 0, 0
	for _, c := range r.checks {
		var chain logbook.Chain
		for ; at < c.edits; at++ {
			b, err := logbook.EncodeEdit(r.edits[at])
			if err != nil {
				return fmt.Errorf("row %d: edit %s: %w", r.rows[at], r.edits[at].Dot, err)
			}
			if size += len(b); size > mostRowBytes {
				return fmt.Errorf("%w: its edits have more than %d bytes", ErrRows, mostRowBytes)
			}
			chain = chain.Next(logbook.HashOf(b))
		}
		switch {
		case chain == c.chain:
		case left:
			return fmt.Errorf("%w: row %d shows that another edit is held here under a dot", ErrRecords, c.row)
		default:
			return rowError(c.row, "the chain of the edits before it is another: they were changed on their way")
		}
	}
	return nil
}
