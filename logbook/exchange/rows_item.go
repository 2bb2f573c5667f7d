package exchange

import (
	"math"
	"strconv"

	"evenwhite/logbook"
)

// The items of a row, as rowsReader reads them one after another.

// begin enters a row and reads its name; "" where it is the row of an edit.
func (r *rowsReader) begin(text string) string {
	r.s = logbook.Scanner{In: text}
	r.row++
	r.s.Space()
	if r.s.At == len(text) || text[r.s.At] != '[' {
		r.fail("it is %q; allowed is a JSON list", logbook.Shorten(text))
		return ""
	}
	r.s.At++
	r.s.Space()
	if r.s.At < len(text) && text[r.s.At] == '"' {
		return r.text("its name")
	}
	return ""
}

// more reports whether another item follows and goes there; after the last it
// makes sure that the row ends.
func (r *rowsReader) more() bool {
	if r.err != nil {
		return false
	}
	more, err := r.s.More(']')
	if err != nil {
		r.fail("%v", err)
		return false
	}
	if !more {
		if r.s.Space(); r.s.At != len(r.s.In) {
			r.fail("%q stands behind its list", logbook.Shorten(r.s.In[r.s.At:]))
		}
	}
	return more
}

// end makes sure that a row has no more items.
func (r *rowsReader) end() {
	if r.more() {
		r.fail("it has more items than its name allows")
	}
}

// next goes to an item that must be there.
func (r *rowsReader) next(what string) {
	if !r.more() {
		r.fail("it ends before %s", what)
	}
}

func (r *rowsReader) text(what string) string {
	if r.err != nil {
		return ""
	}
	r.s.Space()
	if r.s.At == len(r.s.In) || r.s.In[r.s.At] != '"' {
		r.fail("%s is %q; allowed is a text", what, logbook.Shorten(r.s.In[r.s.At:]))
		return ""
	}
	text, err := r.s.Text()
	if err != nil {
		r.fail("%s: %v", what, err)
	}
	return text
}

// digits reads the sign and digits of a whole number.
func (r *rowsReader) digits() (string, int) {
	r.s.Space()
	from := r.s.At
	for r.s.At < len(r.s.In) && (r.s.In[r.s.At] == '-' || '0' <= r.s.In[r.s.At] && r.s.In[r.s.At] <= '9') {
		r.s.At++
	}
	return r.s.In[from:r.s.At], from
}

// integer reads a whole number between bounds.
func (r *rowsReader) integer(what string, least, most int64) int64 {
	if r.err != nil {
		return 0
	}
	text, from := r.digits()
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < least || n > most {
		r.fail("%s is %q; allowed is a whole number from %d to %d", what, logbook.Shorten(r.s.In[from:]), least, most)
		return 0
	}
	return n
}

// number reads the number of something that is defined above.
func (r *rowsReader) number(what string, defined int) int {
	if defined == 0 {
		r.fail("it names a %s; none is defined above", what)
		return 0
	}
	return int(r.integer(what, 0, int64(defined)-1))
}

// dot reads a dot that an edit names. An edit may name more than any line can hold,
// and is sent like any other.
func (r *rowsReader) dot() logbook.Dot {
	at := r.number("line", len(r.lines))
	r.next("the number of an edit")
	if r.err != nil {
		return logbook.Dot{}
	}
	text, from := r.digits()
	n, err := strconv.ParseUint(text, 10, 64)
	if err != nil || n == 0 {
		r.fail("n is %q; allowed is a whole number from 1 to %d", logbook.Shorten(r.s.In[from:]), uint64(math.MaxUint64))
		return logbook.Dot{}
	}
	return logbook.Dot{Line: r.lines[at].line, N: n}
}

func (r *rowsReader) id(what string) logbook.ID {
	id, err := logbook.ParseID(r.text(what))
	if err != nil {
		r.fail("%v", err)
	}
	return id
}

func (r *rowsReader) lineText(what string) logbook.Line {
	l, err := logbook.ParseLine(r.text(what))
	if err != nil {
		r.fail("%v", err)
	}
	return l
}

// value reads a value and brings it into canonical form.
func (r *rowsReader) value() logbook.Value {
	if r.err != nil {
		return ""
	}
	r.s.Space()
	if v, ok := r.s.Plain(); ok {
		return v
	}
	out, err := r.s.Value(nil, logbook.ValueDepth)
	if err != nil {
		r.fail("its value: %v", err)
	}
	return logbook.Value(out)
}
