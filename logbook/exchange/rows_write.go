package exchange

import (
	"encoding/base64"
	"strconv"

	"evenwhite/logbook"
)

// rowsWriter writes the rows of edits.
type rowsWriter struct {
	out []byte
	// known returns the record of an edit that the receiver surely holds; nil where
	// every record is to be written.
	known   func(logbook.Dot) (logbook.RecordRef, bool)
	above   map[logbook.Dot]logbook.RecordRef // edits written so far
	lines   map[logbook.Line]int
	devices map[logbook.ID]int
	persons map[string]int
	fields  map[fieldOver]int
	records map[logbook.RecordRef]int
	met     []lineState // by the number of the line
	line    int         // of the last edit; -1 at first
	act     logbook.Dot
	chain   logbook.Chain
	edits   int
}

// lineState is what the next edit of a line has unless a row says otherwise.
type lineState struct {
	line           logbook.Line
	n              uint64
	at, offset     logbook.Millis
	device, person int
	begun          bool
}

func newRowsWriter(out []byte, known func(logbook.Dot) (logbook.RecordRef, bool)) *rowsWriter {
	return &rowsWriter{
		out: out, known: known, above: map[logbook.Dot]logbook.RecordRef{}, lines: map[logbook.Line]int{}, devices: map[logbook.ID]int{},
		persons: map[string]int{}, fields: map[fieldOver]int{}, records: map[logbook.RecordRef]int{}, line: -1,
	}
}

// edit writes an edit that is in canonical order and has this hash.
func (w *rowsWriter) edit(e *logbook.Edit, hash logbook.Hash) {
	w.place(e)
	if e.Act != w.act {
		w.act = e.Act
		if e.Act.IsZero() {
			w.row("act")
		} else {
			at := w.lineNumber(e.Act.Line)
			w.out = strconv.AppendInt(append(w.out, `["act",`...), int64(at), 10)
			w.out = append(strconv.AppendUint(append(w.out, ','), e.Act.N, 10), "]\n"...)
		}
	}
	ref := logbook.RecordRef{Kind: e.Kind, Record: e.Record}
	if !w.implied(e, ref) {
		w.record(ref)
	}
	for _, m := range e.Extra {
		w.out = append(logbook.AppendText(append(w.out, `["also",`...), m.Name), ',')
		w.out = append(append(w.out, m.Value...), "]\n"...)
	}
	for i := range e.Set { // definitions stand before the row that uses them
		w.defineField(&e.Set[i])
	}
	state := &w.met[w.line]
	w.out = strconv.AppendInt(append(w.out, '['), int64(e.At-state.at), 10)
	for i := range e.Set {
		c := &e.Set[i]
		w.out = strconv.AppendInt(append(w.out, ','), int64(w.fields[fieldOver{c.Field, len(c.Over)}]), 10)
		w.out = append(append(w.out, ','), c.Value...)
		for _, d := range c.Over {
			w.out = strconv.AppendInt(append(w.out, ','), int64(w.lines[d.Line]), 10)
			w.out = strconv.AppendUint(append(w.out, ','), d.N, 10)
		}
	}
	w.out = append(w.out, "]\n"...)
	state.at, state.n = e.At, e.Dot.N+1
	w.above[e.Dot] = ref
	w.chain = w.chain.Next(hash)
	w.edits++
}

// row writes a name and whole numbers.
func (w *rowsWriter) row(name string, numbers ...int64) {
	w.out = append(append(w.out, `["`...), name...)
	w.out = append(w.out, '"')
	for _, n := range numbers {
		w.out = strconv.AppendInt(append(w.out, ','), n, 10)
	}
	w.out = append(w.out, "]\n"...)
}

// define writes a row that gives a text its number.
func (w *rowsWriter) define(name, text string) {
	w.out = appendNamed(w.out, name, text)
}

// appendNamed appends a row of a name and a text.
func appendNamed(out []byte, name, text string) []byte {
	out = append(append(append(out, `["`...), name...), `",`...)
	return append(logbook.AppendText(out, text), "]\n"...)
}

// place writes of which line an edit is, where that does not follow from the edit
// before it.
func (w *rowsWriter) place(e *logbook.Edit) {
	at := w.lineNumber(e.Dot.Line)
	device, ok := w.devices[e.Device]
	if !ok {
		device = len(w.devices)
		w.devices[e.Device] = device
		w.define("device", e.Device.String())
	}
	person, ok := w.persons[e.By]
	if !ok {
		person = len(w.persons)
		w.persons[e.By] = person
		w.define("person", e.By)
	}
	state := &w.met[at]
	switch {
	case !state.begun || device != state.device || person != state.person || e.Offset != state.offset:
		w.row("in", int64(at), int64(e.Dot.N), int64(device), int64(person), int64(e.Offset))
	case e.Dot.N != state.n:
		w.row("in", int64(at), int64(e.Dot.N))
	case at != w.line:
		w.row("in", int64(at))
	}
	state.device, state.person, state.offset, state.begun = device, person, e.Offset, true
	w.line = at
}

func (w *rowsWriter) lineNumber(l logbook.Line) int {
	at, ok := w.lines[l]
	if !ok {
		at = len(w.lines)
		w.lines[l] = at
		w.met = append(w.met, lineState{line: l})
		w.define("line", l.String())
	}
	return at
}

func (w *rowsWriter) defineField(c *logbook.Change) {
	for _, d := range c.Over {
		w.lineNumber(d.Line)
	}
	key := fieldOver{c.Field, len(c.Over)}
	if _, ok := w.fields[key]; ok {
		return
	}
	w.fields[key] = len(w.fields)
	w.out = logbook.AppendText(append(w.out, `["field",`...), c.Field)
	w.out = strconv.AppendInt(append(w.out, ','), int64(len(c.Over)), 10)
	w.out = append(w.out, "]\n"...)
}

// implied reports whether the receiver finds the record by the first dot that the
// edit names.
func (w *rowsWriter) implied(e *logbook.Edit, ref logbook.RecordRef) bool {
	if w.known == nil {
		return false
	}
	for i := range e.Set {
		if len(e.Set[i].Over) == 0 {
			continue
		}
		first := e.Set[i].Over[0]
		named, ok := w.above[first]
		if !ok {
			named, ok = w.known(first)
		}
		return ok && named == ref
	}
	return false
}

func (w *rowsWriter) record(ref logbook.RecordRef) {
	if at, ok := w.records[ref]; ok {
		w.row("of", int64(at))
		return
	}
	w.records[ref] = len(w.records)
	w.out = logbook.AppendText(append(w.out, `["of",`...), ref.Record.String())
	w.out = logbook.AppendText(append(w.out, ','), string(ref.Kind))
	w.out = append(w.out, "]\n"...)
}

// check ends a stretch of edits.
func (w *rowsWriter) check() {
	w.define("check", base64.RawURLEncoding.EncodeToString(w.chain[:]))
	w.chain = logbook.Chain{}
}
