package exchange

import (
	"sort"

	"evenwhite/logbook"
)

// A Replica is a device's side of the exchange: every edit of the production
// that the device holds, its own and others', and what it knows of each log that
// it met. Whoever keeps a replica stores the edits and the knowledge of a log in
// one transaction.
//
// The device offers a log whatever it holds and the log, as far as the device
// knows, lacks. That one rule sends new edits, relays those of others and
// refills a log that was emptied or restored from a backup.
type Replica struct {
	production logbook.ID
	device     logbook.ID
	draw       func() logbook.Line
	line       logbook.Line // of this start, drawn at the first edit
	n          uint64
	left       logbook.Line  // over, since somebody else wrote under it
	own        *logbook.Held // of this device
	book       *logbook.Book
	logs       map[logbook.Line]*knownLog
}

// knownLog is what a device knows of one log.
type knownLog struct {
	run      logbook.Line
	cursor   string
	holds    *logbook.Held  // as listed in this run, and pushed or pulled since
	listed   logbook.Dot    // up to where the list of this run was told; zero: all of it
	catching bool           // after a reset: ask for what the list tells and is not here
	asked    logbook.Ranges // what was asked for last
	// contested are dots under which the log gave another edit than the one held
	// here: the one here is offered once, so that the log keeps it aside.
	contested map[logbook.Dot]bool
	// aside are dots that the log keeps outside in this run, until an owner takes them
	// in: they are held here, and not offered again.
	aside map[logbook.Dot]bool
}

// NewReplica makes an empty replica. draw returns 8 random bytes at each call.
func NewReplica(production, device logbook.ID, rules logbook.Rules, draw func() logbook.Line) *Replica {
	r := &Replica{
		production: production, device: device, draw: draw, own: &logbook.Held{},
		book: logbook.NewBook(production, rules), logs: map[logbook.Line]*knownLog{},
	}
	r.book.Index()
	return r
}

// Book lends the book of all edits held.
func (r *Replica) Book() *logbook.Book { return r.book }

// Write makes an edit of this device in the line of this start.
func (r *Replica) Write(d logbook.Draft, by string, at, offset logbook.Millis) (*logbook.Edit, error) {
	if r.line == (logbook.Line{}) {
		r.line = r.draw()
	}
	e := &logbook.Edit{
		Production: r.production, Kind: d.Kind, Record: d.Record, Device: r.device,
		Dot: logbook.Dot{Line: r.line, N: r.n + 1}, At: at, Offset: offset, By: by, Set: d.Set,
	}
	if _, err := logbook.EncodeEdit(e); err != nil {
		return nil, err
	}
	r.n++
	r.Hold(e)
	return e, nil
}

// Hold takes an edit in, whoever made it and however it came. Refused edits are
// held like any other. One in the running line that was not written here ends the
// line: a phone whose memory was set back would write under a dot that is taken.
func (r *Replica) Hold(e *logbook.Edit) {
	if r.book.Held(e.Dot) {
		if e.Dot.Line == r.line && !sameEdit(r.book.Edit(e.Dot), e) {
			r.leave(e.Dot.Line)
		}
		return
	}
	if e.Dot.N > r.n {
		r.leave(e.Dot.Line)
	}
	for d := range e.Names { // what is written there would be taken for replaced
		if d.N > r.n {
			r.leave(d.Line)
		}
	}
	if e.Device == r.device {
		r.own.Add(e.Dot)
	}
	_ = r.book.Apply(e) // a refusal is kept in the book
}

// Request says what to send to the log that was last met at an address; zero for
// an address that is met for the first time.
func (r *Replica) Request(log logbook.Line) Request {
	known, ok := r.logs[log]
	if !ok {
		return Request{Parts: true}
	}
	req := Request{Run: known.run, Cursor: known.cursor, Parts: true, ListBehind: known.listed, Edits: r.lackedBy(known, MaxPush)}
	req.Edits = req.Edits[:pushable(req.Edits)]
	if known.catching {
		req.Want = r.wants(known, mostWanted)
	}
	known.asked = req.Want
	return req
}

// wants lists the first edits that a log is known to hold and that are not here.
func (r *Replica) wants(known *knownLog, most uint64) logbook.Ranges {
	var want logbook.Ranges
	for line, s := range r.book.Holding().Lacks(known.holds, logbook.Dot{}) {
		if most == 0 {
			break
		}
		s.To = min(s.To, s.From+most-1)
		if want == nil {
			want = logbook.Ranges{}
		}
		want[line] = append(want[line], s)
		most -= s.To - s.From + 1
	}
	return want
}

// lackedBy lists the first edits that a log is to be offered, by dot: of what its list was not
// told about yet, none.
func (r *Replica) lackedBy(known *knownLog, most int) (edits []*logbook.Edit) {
	for line, s := range known.holds.Lacks(r.book.Holding(), logbook.Dot{}) {
		if !known.tells(logbook.Dot{Line: line, N: s.From}) || len(edits) >= most {
			break
		}
		for n := s.From; n <= s.To && len(edits) < most; n++ {
			if d := (logbook.Dot{Line: line, N: n}); known.tells(d) && !known.aside[d] {
				edits = append(edits, r.book.Edit(d))
			}
		}
	}
	for dot := range known.contested {
		if known.holds.Has(dot) || known.aside[dot] {
			edits = append(edits, r.book.Edit(dot))
		}
	}
	sort.Slice(edits, func(i, j int) bool { return edits[i].Dot.Less(edits[j].Dot) })
	return edits
}

// tells reports whether a dot is in the part of the list that was told.
func (k *knownLog) tells(d logbook.Dot) bool { return k.listed == (logbook.Dot{}) || !k.listed.Less(d) }

// list takes in a list or the next part of it.
func (k *knownLog) list(a *Answer) {
	switch {
	case a.List == nil:
		return
	case a.ListBehind == (logbook.Dot{}):
		k.run, k.holds, k.asked = a.Run, logbook.HeldOf(a.List), nil
		clear(k.aside)
	case a.Run != k.run || a.ListBehind != k.listed:
		return // of another list
	default:
		for line, spans := range a.List {
			for _, s := range spans {
				k.holds.AddSpan(line, s)
			}
		}
	}
	k.listed = a.ListTo
}

// Shared returns what a request to a log may leave out: the records of edits that
// are held here and, as far as is known, there.
func (r *Replica) Shared(log logbook.Line) func(logbook.Dot) (logbook.RecordRef, bool) {
	known, ok := r.logs[log]
	if !ok {
		return nil
	}
	return func(d logbook.Dot) (logbook.RecordRef, bool) {
		if !known.holds.Has(d) {
			return logbook.RecordRef{}, false
		}
		return r.book.RecordAt(d)
	}
}

// Records finds the records of the edits that are held here.
func (r *Replica) Records(dots []logbook.Dot) (map[logbook.Dot]logbook.RecordRef, error) {
	found := make(map[logbook.Dot]logbook.RecordRef, len(dots))
	for _, d := range dots {
		if ref, held := r.book.RecordAt(d); held {
			found[d] = ref
		}
	}
	return found, nil
}

// pushBytes bounds the canonical bytes in one exchange, so that they fit a body of
// 1 MiB also where they are written for people.
const pushBytes = 128 << 10

// pushable counts how many edits fit one exchange: at least one.
func pushable(edits []*logbook.Edit) int {
	size := 0
	for i, e := range edits {
		b, _ := logbook.EncodeEdit(e) // what cannot be written is refused by whoever is offered it
		if size += len(b); i == MaxPush || i > 0 && size > pushBytes {
			return i
		}
	}
	return len(edits)
}

// Take stores an answer and returns the log that gave it, and whether there is
// more to exchange with it.
func (r *Replica) Take(a Answer) (log logbook.Line, more bool) {
	known, ok := r.logs[a.Identity]
	if !ok {
		known = &knownLog{holds: &logbook.Held{}, contested: map[logbook.Dot]bool{}, aside: map[logbook.Dot]bool{}}
		r.logs[a.Identity] = known
	}
	known.list(&a)
	for _, e := range a.Edits {
		if r.book.Held(e.Dot) && !sameEdit(r.book.Edit(e.Dot), e) {
			known.contested[e.Dot] = true
		}
		r.Hold(e)
		known.holds.Add(e.Dot)
	}
	r.giveUp(known, &a)
	for _, answer := range a.Answers {
		if answer.Outcome == logbook.AnswerLater {
			continue
		}
		delete(known.contested, answer.Dot)
		if answer.Outcome == logbook.AnswerAside {
			known.aside[answer.Dot] = true
			continue
		}
		known.holds.Add(answer.Dot) // at a clash: another edit
		if answer.Outcome == logbook.AnswerClash {
			r.leave(answer.Dot.Line)
		}
	}
	known.cursor = a.Cursor
	catching := a.Reset || known.catching
	known.catching = catching && (known.listed != (logbook.Dot{}) || r.wants(known, 1) != nil)
	return a.Identity, a.More || catching || known.listed != (logbook.Dot{}) || len(r.lackedBy(known, 1)) > 0
}

// giveUp takes out of what a log is known to hold the edits that were asked for and passed
// over: their rows were damaged since the list was made. Else they were asked for without end.
func (r *Replica) giveUp(known *knownLog, a *Answer) {
	if known.asked == nil {
		return
	}
	asked := logbook.HeldOf(known.asked)
	known.asked = nil
	var last logbook.Dot
	for _, e := range a.Edits {
		if asked.Has(e.Dot) && last.Less(e.Dot) {
			last = e.Dot
		}
	}
	lost := &logbook.Held{}
	for line, s := range r.book.Holding().Lacks(asked, logbook.Dot{}) {
		if last != (logbook.Dot{}) && last.Less(logbook.Dot{Line: line, N: s.From}) {
			break // the log has not come to it
		}
		lost.AddSpan(line, s)
	}
	known.holds = known.holds.Without(lost)
}

// leave ends a line under whose dots somebody else has written.
func (r *Replica) leave(line logbook.Line) {
	if line == r.line {
		r.left, r.line, r.n = line, logbook.Line{}, 0
	}
}

// sameEdit compares edits by their bytes. One that has none is like no other.
func sameEdit(a, b *logbook.Edit) bool {
	x, errX := logbook.EncodeEdit(a)
	y, errY := logbook.EncodeEdit(b)
	return errX == nil && errY == nil && string(x) == string(y)
}
