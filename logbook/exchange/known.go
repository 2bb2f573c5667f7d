package exchange

import (
	"evenwhite/logbook"
	"sort"
)

// Knowledge is what the device knows of a log, as text: whoever keeps the replica stores it
// in one transaction with the edits of the answer that taught it. nil of a log that was
// never met.
//
// It is written in rows (rows.md), with names of its own: log, run, cursor, listed, held,
// contested, aside, catching.
func (r *Replica) Knowledge(log logbook.Line) []byte {
	known, ok := r.logs[log]
	if !ok {
		return nil
	}
	return known.text(log)
}

func (k *knownLog) text(log logbook.Line) []byte {
	out := appendNamed([]byte("[\"rows\",1]\n"), "log", log.String())
	if k.run != (logbook.Line{}) {
		out = appendNamed(out, "run", k.run.String())
	}
	if k.cursor != "" {
		out = appendNamed(out, "cursor", k.cursor)
	}
	out = appendDot(out, "listed", k.listed)
	out = appendRanges(out, "held", k.holds.Ranges())
	for _, d := range dotsOf(k.contested) {
		out = appendDot(out, "contested", d)
	}
	for _, d := range dotsOf(k.aside) {
		out = appendDot(out, "aside", d)
	}
	if k.catching {
		out = append(out, "[\"catching\"]\n"...)
	}
	return append(out, "[\"end\",0]\n"...)
}

func dotsOf(set map[logbook.Dot]bool) (all []logbook.Dot) {
	for d, in := range set {
		if in {
			all = append(all, d)
		}
	}
	sort.Slice(all, func(i, j int) bool { return all[i].Less(all[j]) })
	return all
}

// Recall takes in what Knowledge wrote. The error wraps ErrRows.
func (r *Replica) Recall(text []byte) error {
	log, known, err := recalled(r.production, text)
	if err != nil {
		return err
	}
	r.logs[log] = known
	return nil
}

// recalled reads what text wrote.
func recalled(production logbook.ID, text []byte) (log logbook.Line, known *knownLog, err error) {
	known = newKnownLog()
	var held logbook.Ranges
	rows := newRowsReader(production, 0)
	err = rows.readRows(string(text), func(name string) bool {
		switch name {
		case "end":
			rows.end()
		case "log", "run":
			rows.next("the line")
			to := &log
			if name == "run" {
				to = &known.run
			}
			*to = rows.lineText("the line")
			rows.end()
		case "cursor":
			rows.next("the cursor")
			known.cursor = rows.text("the cursor")
			rows.end()
		case "listed":
			known.listed = rows.lineDot()
		case "held":
			rows.next("the line")
			rows.ranges(name, &held)
		case "contested":
			known.contested[rows.lineDot()] = true
		case "aside":
			known.aside[rows.lineDot()] = true
		case "catching":
			known.catching = true
			rows.end()
		default:
			return false
		}
		return true
	})
	known.holds = logbook.HeldOf(held)
	return log, known, err
}

// Unsent counts the edits of this device that no log is known to hold or to keep aside.
func (r *Replica) Unsent() (n int) {
	left := r.own
	for _, known := range r.logs {
		left = left.Without(known.holds)
	}
	for _, s := range left.Spans(logbook.Dot{}) {
		n += int(s.To - s.From + 1)
	}
	for _, known := range r.logs {
		for d := range known.aside {
			if left.Has(d) {
				n--
			}
		}
	}
	return n
}

// Wrote takes in an edit that this device made under the running line and stored itself:
// then whoever keeps the replica counts, and Write is not used. An edit under another line
// begins that one.
func (r *Replica) Wrote(e *logbook.Edit) {
	if line := e.Dot.Line; line != r.left {
		if r.line != line {
			r.line, r.n = line, 0
		}
		r.n = max(r.n, e.Dot.N)
	}
	r.Hold(e)
}

// Over reports whether a line is over: somebody else wrote under it, or named what is not
// written yet. This device may write no more under it.
func (r *Replica) Over(line logbook.Line) bool { return line == r.left }

// Own counts the edits of this device that are here.
func (r *Replica) Own() (n int) {
	for _, s := range r.own.Spans(logbook.Dot{}) {
		n += int(s.To - s.From + 1)
	}
	return n
}

// Edits lists what is held, by dot: all, or only those that no log is known to hold.
func (r *Replica) Edits(unsent bool) (edits []*logbook.Edit) {
	for line, s := range r.book.Holding().Spans(logbook.Dot{}) {
		for n := s.From; n <= s.To; n++ {
			d := logbook.Dot{Line: line, N: n}
			if !unsent || !r.delivered(d) {
				edits = append(edits, r.book.Edit(d))
			}
		}
	}
	return edits
}

func (r *Replica) delivered(d logbook.Dot) bool {
	for _, known := range r.logs {
		if known.holds.Has(d) {
			return true
		}
	}
	return false
}
