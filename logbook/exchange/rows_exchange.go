package exchange

import (
	"math"
	"strconv"
	"strings"

	"evenwhite/logbook"
)

// Rows writes a request in the rows form. known returns the record of an edit that
// the log surely holds (Replica.Shared); where it is nil, and where the request asks
// for whole rows because the log answered with ErrRecords, every record is written.
// It fails where an edit has no canonical bytes.
func (q *Request) Rows(known func(logbook.Dot) (logbook.RecordRef, bool)) ([]byte, error) {
	out := strconv.AppendInt([]byte(`["rows",`), rowsForm, 10)
	out = append(out, "]\n"...)
	if q.Run != (logbook.Line{}) {
		out = appendNamed(out, "run", q.Run.String())
	}
	if q.Cursor != "" {
		out = appendNamed(out, "cursor", q.Cursor)
	}
	if q.Limit > 0 {
		out = append(strconv.AppendInt(append(out, `["limit",`...), int64(q.Limit), 10), "]\n"...)
	}
	if q.Whole {
		out = append(out, "[\"whole\"]\n"...)
	}
	if q.Parts {
		out = append(out, "[\"parts\"]\n"...)
	}
	out = appendDot(out, "behind", q.ListBehind)
	out = appendRanges(out, "want", q.Want)
	out = appendRanges(out, "have", q.Have)
	w := newRowsWriter(out, known)
	for _, e := range q.Edits {
		b, err := logbook.EncodeEdit(e)
		if err != nil {
			return nil, err
		}
		w.edit(e, logbook.HashOf(b))
	}
	if len(q.Edits) > 0 {
		w.check()
	}
	w.row("end", int64(len(q.Edits)))
	return w.out, nil
}

// appendRanges appends a row for each line of what is held.
func appendRanges(out []byte, name string, held logbook.Ranges) []byte {
	for _, line := range held.Lines() {
		out = append(append(append(out, `["`...), name...), `",`...)
		out = logbook.AppendText(out, line.String())
		for _, s := range held[line] {
			out = strconv.AppendUint(append(out, ','), s.From, 10)
			out = strconv.AppendUint(append(out, ','), s.To, 10)
		}
		out = append(out, "]\n"...)
	}
	return out
}

// appendDot appends a row with a dot, unless it is zero.
func appendDot(out []byte, name string, d logbook.Dot) []byte {
	if d == (logbook.Dot{}) {
		return out
	}
	out = append(append(append(out, `["`...), name...), `","`...)
	out = append(append(out, d.Line.String()...), `",`...)
	return append(strconv.AppendUint(out, d.N, 10), "]\n"...)
}

// lineDot reads a dot of which the line is written out.
func (r *rowsReader) lineDot() (d logbook.Dot) {
	r.next("the line")
	d.Line = r.lineText("the line")
	r.next("the number in the line")
	d.N = uint64(r.integer("the number in the line", 1, 1<<62))
	r.end()
	return d
}

// readRows splits a text into rows and hands the name of each that does not belong
// to the edits to head, which reports whether it knows it. The row "end" is the
// last; behind its name the reader stands before the number of edits.
func (r *rowsReader) readRows(text string, head func(name string) bool) error {
	for r.err == nil {
		row, rest, found := strings.Cut(text, "\n")
		if !found {
			r.row++
			return rowError(r.row, "it was cut off: allowed is a row with a line feed behind, and an end row as the last")
		}
		name := r.begin(row)
		if r.err != nil {
			break
		}
		switch {
		case r.row == 1:
			r.form(name)
		case name == "end":
			r.checked("the rows end")
			r.next("the number of edits")
			if n := r.integer("the number of edits", 0, math.MaxInt32); r.err == nil && n != int64(len(r.edits)) {
				r.fail("it counts %d edits; %d stand above", n, len(r.edits))
			}
			head(name)
			if rest != "" {
				r.fail("%q stands behind it", logbook.Shorten(rest))
			}
			return r.err
		case r.editRow(name) || head(name):
		default:
			r.fail("it is a row %q, which this version does not know", logbook.Shorten(name))
		}
		text = rest
	}
	return r.err
}

// form reads the first row.
func (r *rowsReader) form(name string) {
	if name != "rows" {
		r.fail("it is a row %q; allowed is [\"rows\",%d]", logbook.Shorten(name), rowsForm)
		return
	}
	r.next("the number of the form")
	r.integer("the number of the form", rowsForm, rowsForm)
	r.end()
}

// ranges reads what the row of a name says of one line.
func (r *rowsReader) ranges(name string, into *logbook.Ranges) {
	if *into == nil {
		*into = logbook.Ranges{}
	}
	line := r.lineText("the line")
	if _, twice := (*into)[line]; twice {
		r.fail("%s told the line %s above; allowed is each line once", name, line)
	}
	last := int64(0)
	var spans []logbook.Span
	for r.more() {
		from := r.integer("the begin of a span of "+name, last+1, 1<<62)
		r.next("the end of a span")
		last = r.integer("the end of a span of "+name, from, 1<<62)
		spans = append(spans, logbook.Span{From: uint64(from), To: uint64(last)})
	}
	(*into)[line] = spans
}

// ReadRequestRows reads a request in the rows form. held finds the records of edits
// that the log holds. Errors wrap ErrRows, ErrForm, or ErrRecords where the request
// must be sent with every record written.
func ReadRequestRows(
	text []byte, production logbook.ID, held func([]logbook.Dot) (map[logbook.Dot]logbook.RecordRef, error),
) (Request, error) {
	var q Request
	r := newRowsReader(production, MaxPush)
	err := r.readRows(string(text), func(name string) bool {
		switch name {
		case "end":
			r.end()
		case "run":
			r.next("the run")
			q.Run = r.lineText("the run")
			r.end()
		case "cursor":
			r.next("the cursor")
			q.Cursor = r.text("the cursor")
			r.end()
		case "limit":
			r.next("the limit")
			q.Limit = int(r.integer("the limit", 1, math.MaxInt32))
			r.end()
		case "whole":
			q.Whole = true
			r.end()
		case "parts":
			q.Parts = true
			r.end()
		case "behind":
			q.ListBehind = r.lineDot()
		case "want":
			r.next("the line")
			r.ranges(name, &q.Want)
		case "have":
			r.next("the line")
			r.ranges(name, &q.Have)
		default:
			return false
		}
		return true
	})
	if err != nil {
		return Request{}, err
	}
	q.Edits, err = r.whole(held)
	return q, err
}

// RowsBefore writes what of an answer stands before its edits.
func (a *Answer) RowsBefore() []byte {
	out := strconv.AppendInt([]byte(`["rows",`), rowsForm, 10)
	out = append(out, "]\n"...)
	out = appendNamed(out, "run", a.Run.String())
	out = appendNamed(out, "log", a.Identity.String())
	out = append(strconv.AppendInt(append(out, `["now",`...), int64(a.Now), 10), "]\n"...)
	out = append(strconv.AppendInt(append(out, `["rules",`...), int64(a.Rules), 10), "]\n"...)
	if a.Reset {
		out = append(out, "[\"reset\"]\n"...)
	}
	out = appendDot(out, "behind", a.ListBehind)
	out = appendDot(out, "listed", a.ListTo)
	if a.List != nil {
		out = appendRanges(append(out, "[\"list\"]\n"...), "list", a.List)
	}
	for i := 0; i < len(a.Answers); {
		first, n := a.Answers[i], 1
		for i+n < len(a.Answers) && follows(a.Answers[i+n], first, n) {
			n++
		}
		out = append(append(append(out, `["`...), first.Outcome...), `",`...)
		out = append(logbook.AppendText(out, first.Dot.Line.String()), ',')
		out = append(strconv.AppendUint(out, first.Dot.N, 10), ',')
		out = strconv.AppendUint(out, first.Dot.N+uint64(n)-1, 10)
		if first.Reason != "" {
			out = logbook.AppendText(append(out, ','), first.Reason)
		}
		out = append(out, "]\n"...)
		i += n
	}
	return out
}

// follows reports whether an answer is that of another, n dots on.
func follows(a, first logbook.Answer, n int) bool {
	return a.Outcome == first.Outcome && a.Reason == first.Reason && a.Dot == logbook.Dot{Line: first.Dot.Line, N: first.Dot.N + uint64(n)}
}

// RowsAfter writes what of an answer with so many edits stands behind them.
func (a *Answer) RowsAfter(edits int) []byte {
	var out []byte
	for _, m := range a.Marks {
		out = append(logbook.AppendText(append(out, `["mark",`...), m.Dot.Line.String()), ',')
		out = append(strconv.AppendUint(out, m.Dot.N, 10), ',')
		out = append(logbook.AppendText(out, m.Reason), "]\n"...)
	}
	out = strconv.AppendInt(append(out, `["end",`...), int64(edits), 10)
	out = append(logbook.AppendText(append(out, ','), a.Cursor), ',')
	return append(strconv.AppendBool(out, a.More), "]\n"...)
}

// ReadAnswerRows reads an answer in the rows form. held finds the records of edits
// that the device holds. Errors wrap ErrRows, ErrForm, or ErrRecords where the device
// must ask for whole rows.
func ReadAnswerRows(
	text []byte, production logbook.ID, held func([]logbook.Dot) (map[logbook.Dot]logbook.RecordRef, error),
) (Answer, error) {
	var a Answer
	r := newRowsReader(production, mostRowEdits)
	err := r.readRows(string(text), func(name string) bool {
		switch name {
		case "end":
			r.next("the cursor")
			a.Cursor = r.text("the cursor")
			r.next("whether there is more")
			a.More = r.boolean()
			r.end()
		case "run":
			r.next("the run")
			a.Run = r.lineText("the run")
			r.end()
		case "log":
			r.next("the log")
			a.Identity = r.lineText("the log")
			r.end()
		case "now":
			r.next("the time")
			a.Now = logbook.Millis(r.integer("the time", 0, int64(logbook.YearTenThousand)))
			r.end()
		case "rules":
			r.next("the number of the rules")
			a.Rules = int(r.integer("the number of the rules", 0, math.MaxInt32))
			r.end()
		case "reset":
			a.Reset = true
			r.end()
		case "behind":
			a.ListBehind = r.lineDot()
		case "listed":
			a.ListTo = r.lineDot()
		case "list":
			if a.List == nil {
				a.List = logbook.Ranges{}
			}
			if r.more() {
				r.ranges(name, &a.List)
			}
		case "mark":
			r.mark(&a)
		case logbook.AnswerTaken, logbook.AnswerRepeat, logbook.AnswerRefused, logbook.AnswerClash, logbook.AnswerLater,
			logbook.AnswerAside:
			r.answers(&a, name)
		default:
			return false
		}
		return true
	})
	if err == nil && (a.Run == (logbook.Line{}) || a.Identity == (logbook.Line{})) {
		err = rowError(r.row, "run and log are not told above")
	}
	if err != nil {
		return Answer{}, err
	}
	a.Edits, err = r.whole(held)
	return a, err
}

func (r *rowsReader) boolean() bool {
	v := r.value()
	if v != "true" && v != "false" {
		r.fail("it is %s; allowed are true and false", logbook.Shorten(string(v)))
	}
	return v == "true"
}

// mark reads why an edit that stands above is refused where it comes from.
func (r *rowsReader) mark(a *Answer) {
	r.next("the line")
	m := Mark{Dot: logbook.Dot{Line: r.lineText("the line")}}
	r.next("the n")
	m.Dot.N = uint64(r.integer("the n", 1, 1<<62))
	r.next("the reason")
	m.Reason = r.text("the reason")
	r.end()
	a.Marks = append(a.Marks, m)
}

// answers reads what became of edits that run on in one line.
func (r *rowsReader) answers(a *Answer, outcome string) {
	r.next("the line")
	line := r.lineText("the line")
	r.next("the first n")
	from := r.integer("the first n", 1, 1<<62)
	r.next("the last n")
	to := r.integer("the last n", from, from+int64(MaxPush-len(a.Answers))-1)
	reason := ""
	if r.more() {
		reason = r.text("the reason")
		r.end()
	}
	for n := from; n <= to && r.err == nil; n++ {
		a.Answers = append(a.Answers, logbook.Answer{Dot: logbook.Dot{Line: line, N: uint64(n)}, Outcome: outcome, Reason: reason})
	}
}
