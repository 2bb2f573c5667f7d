package exchange

import "evenwhite/logbook"

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
	if r.comes(e) {
		_ = r.book.Apply(e) // a refusal is kept in the book
	}
}

// comes notes an edit before it is merged, and reports whether it is new.
func (r *Replica) comes(e *logbook.Edit) bool {
	if r.book.Held(e.Dot) {
		if e.Dot.Line == r.line && !sameEdit(r.book.Edit(e.Dot), e) {
			r.leave(e.Dot.Line)
		}
		return false
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
	return true
}

// Request says what to send to the log that was last met at an address; zero for
// an address that is met for the first time.
func (r *Replica) Request(log logbook.Line) Request {
	known, ok := r.logs[log]
	if !ok {
		return Request{Parts: true}
	}
	req := known.request(r.book)
	for _, d := range known.lacks(r.book, MaxPush) {
		req.Edits = append(req.Edits, r.book.Edit(d))
	}
	req.Edits = req.Edits[:pushable(req.Edits)]
	return req
}

// Shared returns what a request to a log may leave out: the records of edits that
// are held here and, as far as is known, there.
func (r *Replica) Shared(log logbook.Line) func(logbook.Dot) (logbook.RecordRef, bool) {
	known, ok := r.logs[log]
	if !ok {
		return nil
	}
	return known.shared(r.book)
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

// Take stores an answer and returns the log that gave it, and whether there is
// more to exchange with it.
func (r *Replica) Take(a Answer) (log logbook.Line, more bool) {
	known, ok := r.logs[a.Identity]
	if !ok {
		known = newKnownLog()
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
	known.giveUp(r.book, &a)
	for _, dot := range known.answered(a.Answers) {
		r.leave(dot.Line)
	}
	return a.Identity, known.moved(r.book, &a) || len(known.lacks(r.book, 1)) > 0
}

// leave ends a line under whose dots somebody else has written.
func (r *Replica) leave(line logbook.Line) {
	if line == r.line {
		r.left, r.line, r.n = line, logbook.Line{}, 0
	}
}
