package exchange

import (
	"errors"
	"fmt"
	"sort"

	"evenwhite/logbook"
)

// A Relay is the side of a log that asks another log as a device does: it offers what that one, as
// far as is known, lacks, and takes in what is new there. Between its calls the log goes on.
// One goroutine uses it at a time.
type Relay struct {
	peer    *Peer
	fetches bool
	log     logbook.Line // that was met last
	known   *knownLog    // of it; nil before
	stuck   bool         // of what it lacks, nothing could be read for the request
}

// NewRelay lets a log ask another. One that only fetches offers nothing.
func NewRelay(p *Peer, fetches bool) *Relay { return &Relay{peer: p, fetches: fetches} }

// Errors of a relay.
var (
	// ErrItself is the answer of the very log that asks.
	ErrItself = errors.New("the other server holds this very log: a server is not linked with itself")
	// ErrNoRoom is wrapped where edits could not be taken in; they come again.
	ErrNoRoom = errors.New("what came could not be stored here")
)

// Request says what to ask next.
func (r *Relay) Request() (q Request, err error) {
	if r.known == nil {
		return Request{Parts: true}, nil
	}
	var lacks []logbook.Dot
	r.peer.Read(func(b *logbook.Book) {
		if q = r.known.request(b); !r.fetches {
			lacks = r.known.lacks(b, MaxPush)
		}
	})
	held, err := r.peer.Get(lacks)
	if err != nil {
		return q, err
	}
	for i := range held {
		if e, err := logbook.DecodeEdit(held[i].Bytes); err == nil { // one of a newer version is told as damage, and stays
			q.Edits = append(q.Edits, e)
		}
	}
	r.stuck = len(lacks) > 0 && len(q.Edits) == 0
	sort.Slice(q.Edits, func(i, j int) bool { return q.Edits[i].Dot.Less(q.Edits[j].Dot) })
	q.Edits = q.Edits[:pushable(q.Edits)]
	return q, nil
}

// Rows writes a request in rows. Spelled, every record is written, as the other asks where it does
// not find one that was left out.
func (r *Relay) Rows(q *Request, spelled bool) ([]byte, error) {
	if r.known == nil || spelled {
		return q.Rows(nil)
	}
	var named []logbook.Dot
	for _, e := range q.Edits {
		for d := range e.Names {
			if r.known.holds.Has(d) {
				named = append(named, d)
			}
		}
	}
	records, err := r.peer.Records(named)
	if err != nil {
		return nil, err
	}
	return q.Rows(func(d logbook.Dot) (ref logbook.RecordRef, held bool) {
		ref, held = records[d]
		return ref, held
	})
}

// Records finds the records of the edits that are held here.
func (r *Relay) Records(dots []logbook.Dot) (map[logbook.Dot]logbook.RecordRef, error) {
	return r.peer.Records(dots)
}

// A Round is what one answer brought.
type Round struct {
	Came    int            // edits that were not here
	Went    map[string]int // of those that were offered, by outcome
	Clashes int            // of both: their dots are held with other bytes
	Aside   int            // of what came: an owner here takes them in, or leaves them
	More    bool
}

// Take takes an answer in. Where it fails nothing is moved on: the same comes again.
func (r *Relay) Take(a *Answer, who Bringer, now logbook.Millis) (out Round, err error) {
	head, err := r.peer.Head()
	if err != nil {
		return out, err
	}
	if a.Identity == head.Identity {
		return out, ErrItself
	}
	answers, err := r.store(a.Edits, who, now)
	if err != nil {
		return out, err
	}
	if r.known == nil || r.log != a.Identity {
		r.log, r.known = a.Identity, newKnownLog()
	}
	r.known.list(a)
	for _, answer := range answers {
		r.known.holds.Add(answer.Dot)
		switch answer.Outcome {
		case logbook.AnswerTaken, logbook.AnswerRefused:
			out.Came++
		case logbook.AnswerClash:
			r.known.contested[answer.Dot] = true
			out.Clashes++
		case logbook.AnswerAside:
			out.Aside++
		}
	}
	out.Went = map[string]int{}
	for _, answer := range a.Answers {
		out.Went[answer.Outcome]++
	}
	out.Clashes += out.Went[logbook.AnswerClash]
	r.peer.Read(func(b *logbook.Book) {
		r.known.giveUp(b, a)
		r.known.answered(a.Answers)
		out.More = r.known.moved(b, a) || !r.fetches && !r.stuck && len(r.known.lacks(b, 1)) > 0
	})
	return out, nil
}

// store puts what came into the log, some at a time.
func (r *Relay) store(edits []*logbook.Edit, who Bringer, now logbook.Millis) (all []logbook.Answer, err error) {
	for len(edits) > 0 {
		n := min(len(edits), takenAtOnce)
		answers, err := r.peer.PushGuarded(edits[:n], who.Guard, who.Via, now)
		if err != nil {
			return nil, err
		}
		for _, answer := range answers {
			if answer.Outcome == logbook.AnswerLater {
				return nil, fmt.Errorf("%w: %s", ErrNoRoom, answer.Reason)
			}
		}
		all, edits = append(all, answers...), edits[n:]
	}
	return all, nil
}

// Waiting counts the edits here that the other is not known to hold or to keep aside; all before
// it was met.
func (r *Relay) Waiting() (n int) {
	if r.fetches {
		return 0
	}
	there := &logbook.Held{}
	if r.known != nil {
		there = r.known.holds
	}
	r.peer.Read(func(b *logbook.Book) {
		for _, s := range there.Lacks(b.Holding(), logbook.Dot{}) {
			n += int(s.To - s.From + 1)
		}
		if r.known == nil {
			return
		}
		for d := range r.known.aside {
			if b.Held(d) && !there.Has(d) {
				n--
			}
		}
	})
	return n
}

// Coming counts the edits that the other is known to hold and that are not here.
func (r *Relay) Coming() (n int) {
	if r.known == nil {
		return 0
	}
	r.peer.Read(func(b *logbook.Book) {
		for _, s := range b.Holding().Lacks(r.known.holds, logbook.Dot{}) {
			n += int(s.To - s.From + 1)
		}
	})
	return n
}

// Aside counts the edits that went and that the other keeps aside, as far as is known.
func (r *Relay) Aside() (n int) {
	if r.known == nil {
		return 0
	}
	for d := range r.known.aside {
		if !r.known.holds.Has(d) {
			n++
		}
	}
	return n
}

// Place is the cursor up to which everything of the other log is here; "" before it was met.
func (r *Relay) Place() string {
	if r.known == nil {
		return ""
	}
	return r.known.cursor
}

// Knowledge is what is known of the other log, as text (Replica.Knowledge); nil before it was
// met. An older one does no harm: some edits then go twice.
func (r *Relay) Knowledge() []byte {
	if r.known == nil {
		return nil
	}
	return r.known.text(r.log)
}

// Recall takes in what Knowledge wrote. The error wraps ErrRows.
func (r *Relay) Recall(text []byte) error {
	log, known, err := recalled(r.peer.Production(), text)
	if err == nil {
		r.log, r.known = log, known
	}
	return err
}
