package exchange

import (
	"fmt"
	"iter"

	"evenwhite/logbook"
)

// A Request is what a device says in one exchange: what it brings, and from where on
// it asks.
type Request struct {
	// Run is the run of the service as the device last heard it; zero at first.
	Run logbook.Line
	// Cursor is the device's place in this log; "" at first.
	Cursor string
	// Parts says that the device takes the service's list in parts and asks for what it
	// lacks of it. A reset then leads to the end of the log: what is before, it wants.
	Parts bool
	// ListBehind asks for the part of the list behind a dot, unless it is zero.
	ListBehind logbook.Dot
	// Want are edits to be sent: those that the list tells and the device lacks. Nothing
	// behind the cursor comes with them, or with a later part of the list.
	Want logbook.Ranges
	// Have lists what the device holds, where it does not take parts: sent with a cursor
	// from a reset until nothing more comes, so that it is not sent what it has.
	Have logbook.Ranges
	// Edits are what the device brings, its own and others'.
	Edits []*logbook.Edit
	// Limit bounds the bytes of the edits in the answer.
	Limit int
	// Whole asks for rows with every record written (rows.md).
	Whole bool
	// Guard is the service's own: which of the edits this device may not put into the
	// log.
	Guard logbook.Guard
}

// An Answer is what the service says. A device moves on only when it has
// stored the edits and the cursor together.
type Answer struct {
	Run      logbook.Line // unknown to the device: what it thought the service held is void
	Identity logbook.Line // of the log
	Now      logbook.Millis
	Rules    int // the number of the rules by which the log judges
	Answers  []logbook.Answer
	// List is what the service holds, sent when the run was unknown to the device
	// and at a reset: whatever the device holds beyond it, it offers.
	List logbook.Ranges
	// ListBehind and ListTo are where a part of the list begins and ends; zero: where the
	// list does.
	ListBehind, ListTo logbook.Dot
	// Reset says that the cursor leads nowhere in this log (it was restored from a
	// backup, or is another one): ask again with the new cursor, and with Have or, in
	// parts, with Want.
	Reset bool
	Edits []*logbook.Edit
	// Marks say which of the edits are refused here: they are held, and passed on, but
	// apply to nothing.
	Marks  []Mark
	More   bool
	Cursor string
}

// A Mark is why an edit that is passed on does not apply.
type Mark struct {
	Dot    logbook.Dot
	Reason string
}

// markOf judges an edit that is passed on.
func (p *Peer) markOf(e *logbook.Edit) []Mark {
	if err := p.Judge(e); err != nil {
		return []Mark{{e.Dot, err.Error()}}
	}
	return nil
}

// MaxPush is the greatest number of edits in one exchange.
const MaxPush = 500

// scanBytes bounds how much of the log one call looks at.
const scanBytes = 4 << 20

// A Peer is the side of an exchange that has a log. All its methods may be called at
// once.
type Peer struct {
	*logbook.Log
	passages passages
}

// NewPeer lets a log take part in exchanges.
func NewPeer(l *logbook.Log) *Peer { return &Peer{Log: l} }

// Place is the end of the log as an opaque text: the cursor of an exchange that
// has everything. It moves on only when what is new can be read in the book as well.
func (p *Peer) Place() (string, error) {
	head, err := p.Readable()
	return cursor{head.Identity, head.Seq, head.Chain}.String(), err
}

// Exchange takes what a device brings and sends it what it lacks. Repeating an
// exchange, or losing its answer, does no harm.
func (p *Peer) Exchange(req Request, via logbook.ID, now logbook.Millis) (Answer, error) {
	out, from, err := p.receive(&req, via, now)
	if err != nil || out.Reset {
		return out, err
	}
	if req.catchesUp() {
		found, err := p.wanted(&req, &out)
		for i := range found {
			out.Edits = append(out.Edits, found[i].edit)
		}
		return out, err
	}
	var brought logbook.Held
	for i, e := range req.Edits {
		if heldAs(out.Answers[i]) {
			brought.Add(e.Dot)
		}
	}
	err = p.pull(from, &out, func(d logbook.Dot) bool { return brought.Has(d) || req.Have.Has(d) }, req.Limit)
	return out, err
}

// ExchangeRows is Exchange for an answer in rows: its edits are the passages.
func (p *Peer) ExchangeRows(req Request, via logbook.ID, now logbook.Millis) (Answer, []*Passage, error) {
	out, from, err := p.receive(&req, via, now)
	if err != nil || out.Reset {
		return out, nil, err
	}
	if req.catchesUp() {
		found, err := p.wanted(&req, &out)
		if err != nil || len(found) == 0 {
			return out, nil, err
		}
		return out, []*Passage{wantedRows(found)}, nil
	}
	passages, err := p.pullRows(from, &req, &out)
	return out, passages, err
}

// heldAs reports whether the log holds an edit as the device brought it.
func heldAs(a logbook.Answer) bool {
	return a.Outcome != logbook.AnswerClash && a.Outcome != logbook.AnswerLater && a.Outcome != logbook.AnswerAside
}

// receive takes what a device brings. It returns the beginning of an answer, whole
// where it is a reset, and the place from which the device is to get more.
func (p *Peer) receive(req *Request, via logbook.ID, now logbook.Millis) (out Answer, from cursor, err error) {
	if len(req.Edits) > MaxPush {
		return out, from, fmt.Errorf("%w: edits has %d items; allowed are at most %d", logbook.ErrRequest, len(req.Edits), MaxPush)
	}
	from, reset, err := p.place(req.Cursor, req.Parts)
	if err != nil {
		return out, from, err
	}
	out = Answer{Run: p.Run(), Identity: from.identity, Now: now, Rules: p.Rules(), Reset: reset}
	if out.Answers, err = p.PushGuarded(req.Edits, req.Guard, via, now); err != nil {
		return Answer{}, from, err
	}
	if err := p.list(req, &out); err != nil {
		return Answer{}, from, err
	}
	if out.List != nil && req.Parts {
		req.Limit = pullLimit(req.Limit)/2 + 1 // the list has the other half
	}
	if reset || req.catchesUp() {
		out.Cursor, out.More = from.String(), true
	}
	return out, from, nil
}

// place finds a cursor in the log: the beginning for "", and where the log did not go that
// way, with reset, the place from which a device goes on that asks in parts or does not.
func (p *Peer) place(text string, parts bool) (from cursor, reset bool, err error) {
	head, err := p.Head()
	if err != nil {
		return cursor{}, false, err
	}
	begin := cursor{identity: head.Identity}
	if text == "" {
		return begin, false, nil
	}
	if parts {
		begin = cursor{head.Identity, head.Seq, head.Chain}
	}
	c, err := parseCursor(text)
	if err != nil {
		return cursor{}, false, err
	}
	if c.identity != head.Identity {
		return begin, true, nil
	}
	chain, ok, err := p.ChainAt(c.seq)
	if err != nil {
		return cursor{}, false, err
	}
	if !ok || chain != c.chain {
		return begin, true, nil
	}
	return c, false, nil
}

// pullLimit is how many bytes of edits an answer may have.
func pullLimit(asked int) int {
	const most = 1 << 20
	if asked <= 0 || asked > most {
		return most
	}
	return asked
}

// pull adds the edits after a place to the answer, leaving out what the device
// has, until its limit is reached.
func (p *Peer) pull(at cursor, out *Answer, has func(logbook.Dot) bool, limit int) error {
	limit = pullLimit(limit)
	sent, scanned := 0, 0
	left := func() int {
		if scanned >= scanBytes {
			return 0
		}
		return limit - sent
	}
	for s, err := range p.stored(at.seq, left) {
		if err != nil {
			return err
		}
		at.seq, at.chain = s.Seq, s.Chain
		scanned += len(s.Bytes)
		if has(s.Dot) {
			continue
		}
		e, err := logbook.DecodeEdit(s.Bytes)
		if err != nil { // of a newer version: it is told as damage, and stays
			continue
		}
		out.Edits, out.Marks = append(out.Edits, e), append(out.Marks, p.markOf(e)...)
		sent += len(s.Bytes)
	}
	out.Cursor, out.More = at.String(), left() <= 0
	return nil
}

// stored walks the log behind a sequence, page by page, to its end or until a page is at its
// end and nothing is left to read: left says how many bytes.
func (p *Peer) stored(at logbook.Seq, left func() int) iter.Seq2[*logbook.Stored, error] {
	return func(yield func(*logbook.Stored, error) bool) {
		for n := left(); n > 0; n = left() {
			page, err := p.Page(at, min(logbook.PageBytes, n))
			if err != nil {
				yield(nil, err)
				return
			}
			if len(page) == 0 {
				return
			}
			for i := range page {
				if at = page[i].Seq; !yield(&page[i], nil) {
					return
				}
			}
		}
	}
}
