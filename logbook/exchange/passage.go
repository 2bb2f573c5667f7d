package exchange

import (
	"errors"
	"slices"
	"sort"
	"sync"

	"evenwhite/logbook"
)

// A Passage is a piece of a log in rows that stand by themselves (rows.md), for all
// devices that ask from where it begins: it is written, and packed, once.
type Passage struct {
	Rows  []byte // shared: not to be changed
	Edits int
	marks []Mark
	size  int         // of the canonical bytes that were read for it
	end   logbook.Seq // of its last edit

	packing sync.Once
	packed  []byte
}

// Packed returns what pack makes of the rows, made at the first call. Every call
// for one log hands in the same pack.
func (s *Passage) Packed(pack func([]byte) []byte) []byte {
	s.packing.Do(func() { s.packed = pack(s.Rows) })
	return s.packed
}

// passageSizes are how many edits passages have, each beginning where its size
// divides the sequence: devices that begin at different places, and bring different
// edits, share nearly all. Long ones pack better, for who is far behind; short ones
// are for those who listen while others push.
var passageSizes = [...]logbook.Seq{2048, 512, 64, 8, 1}

const (
	// usualEdit is what an edit has at least, nearly always: what does not go
	// into this passage need not be read.
	usualEdit = 100
	// passageBytes bounds the canonical bytes of a passage.
	passageBytes = 512 << 10
	// passagesHeld bounds the rows that a log keeps at hand.
	passagesHeld = 8 << 20
)

// passageKey says which passage: the edits behind one sequence up to another.
type passageKey struct {
	after, to logbook.Seq
	whole     bool
}

// passages are those that were asked for last. A log only grows, so that none is
// ever out of date.
type passages struct {
	mu    sync.Mutex
	held  map[passageKey]*heldPassage
	order []passageKey
	size  int
}

var errUnwritten = errors.New("a passage of the log could not be written")

type heldPassage struct {
	making sync.Once
	made   *Passage
	err    error
}

// get returns a passage, made by whoever asks first.
func (h *passages) get(key passageKey, write func() (*Passage, error)) (*Passage, error) {
	h.mu.Lock()
	s, ok := h.held[key]
	if !ok {
		if h.held == nil {
			h.held = map[passageKey]*heldPassage{}
		}
		s = &heldPassage{}
		h.held[key] = s
	}
	h.mu.Unlock()
	s.making.Do(func() {
		s.err = errUnwritten // stays where write panics
		defer h.keep(key, s)
		s.made, s.err = write()
	})
	return s.made, s.err
}

// keep counts a passage that was made and lets the oldest go. One that could not be
// made is not kept.
func (h *passages) keep(key passageKey, s *heldPassage) {
	const overhead = 512
	h.mu.Lock()
	defer h.mu.Unlock()
	if s.err != nil {
		delete(h.held, key)
		return
	}
	h.order = append(h.order, key)
	h.size += 2*len(s.made.Rows) + overhead
	for h.size > passagesHeld && len(h.order) > 1 {
		oldest := h.order[0]
		h.size -= 2*len(h.held[oldest].made.Rows) + overhead
		delete(h.held, oldest)
		h.order = h.order[1:]
	}
}

// pullRows finds the passages after a place, leaving out what the device brought or
// has, until the limit of the request is reached.
func (p *Peer) pullRows(from cursor, req *Request, out *Answer) ([]*Passage, error) {
	head, err := p.Head()
	if err != nil {
		return nil, err
	}
	var brought []logbook.Seq
	for _, a := range out.Answers {
		if heldAs(a) {
			brought = append(brought, a.Seq)
		}
	}
	sort.Slice(brought, func(i, j int) bool { return brought[i] < brought[j] })
	limit := pullLimit(req.Limit)
	var found []*Passage
	at, sent, scanned := from.seq, 0, 0
	for at < head.Seq && sent < limit && scanned < scanBytes {
		key := passageKey{after: at, to: passageEnd(at, head.Seq, brought), whole: req.Whole}
		if key.to == at {
			at++
			continue
		}
		s, err := p.passage(key, req.Have, limit, limit-sent)
		if err != nil {
			return nil, err
		}
		if sent > 0 && sent+s.size > limit {
			break
		}
		at, scanned = s.end, scanned+s.size
		if s.Edits > 0 {
			found, sent, out.Marks = append(found, s), sent+s.size, append(out.Marks, s.marks...)
		}
	}
	out.More = at < head.Seq
	from.seq = at
	if from.chain, _, err = p.ChainAt(at); err != nil {
		return nil, err
	}
	out.Cursor = from.String()
	return found, nil
}

// passageEnd is the end of the longest passage that begins at a place and is full,
// with none of what was brought in it; the place itself where the next edit was.
func passageEnd(at, head logbook.Seq, brought []logbook.Seq) logbook.Seq {
	next := head + 1 // of what was brought
	if i, _ := slices.BinarySearch(brought, at+1); i < len(brought) {
		next = brought[i]
	}
	for _, n := range passageSizes {
		if at%n == 0 && at+n <= head && at+n < next {
			return at + n
		}
	}
	return at
}

// passage returns one that may be shared, or, where a device takes less at a time, its
// own with what is left for it.
func (p *Peer) passage(key passageKey, have logbook.Ranges, limit, left int) (*Passage, error) {
	if have != nil || limit < passageBytes {
		return p.writePassage(key, have, min(passageBytes, left))
	}
	return p.passages.get(key, func() (*Passage, error) { return p.writePassage(key, nil, passageBytes) })
}

// writePassage reads edits from the store and writes their rows.
func (p *Peer) writePassage(key passageKey, have logbook.Ranges, atMost int) (*Passage, error) {
	s := &Passage{end: key.after}
	var read []logbook.Stored
	var edits []*logbook.Edit
	left := func() int { return min(atMost-s.size, int(key.to-s.end)*usualEdit) }
	for stored, err := range p.stored(s.end, left) {
		if err != nil {
			return nil, err
		}
		if s.end = min(stored.Seq, key.to); stored.Seq > key.to {
			break
		}
		s.size += len(stored.Bytes)
		if e, err := logbook.DecodeEdit(stored.Bytes); err == nil { // else of a newer version: told as damage
			read, edits = append(read, *stored), append(edits, e)
		}
		if s.end == key.to {
			break
		}
	}
	if left() > 0 { // what stood there last is damaged
		s.end = key.to
	}
	var at logbook.Seq // of the edit that is written
	var known func(logbook.Dot) (logbook.RecordRef, bool)
	if !key.whole {
		earlier, err := p.named(edits)
		if err != nil {
			return nil, err
		}
		known = func(d logbook.Dot) (logbook.RecordRef, bool) {
			e, ok := earlier[d]
			return e.RecordRef, ok && e.seq < at
		}
	}
	w := newRowsWriter([]byte("[\"tables\"]\n"), known)
	for i, e := range edits {
		if at = read[i].Seq; !have.Has(e.Dot) {
			w.edit(e, read[i].Hash)
			s.marks = append(s.marks, p.markOf(e)...)
		}
	}
	w.check()
	s.Rows, s.Edits = w.out, w.edits
	return s, nil
}

type storedRef struct {
	logbook.RecordRef
	seq logbook.Seq
}

// named finds the records by which those of the edits can be left out.
func (p *Peer) named(edits []*logbook.Edit) (map[logbook.Dot]storedRef, error) {
	var dots []logbook.Dot
	for _, e := range edits {
		for d := range e.Names {
			dots = append(dots, d)
			break
		}
	}
	found := make(map[logbook.Dot]storedRef, len(dots))
	if len(dots) == 0 {
		return found, nil
	}
	held, err := p.Get(dots)
	if err != nil {
		return nil, err
	}
	for i := range held {
		if ref, err := logbook.RecordIn(held[i].Bytes); err == nil {
			found[held[i].Dot] = storedRef{ref, held[i].Seq}
		}
	}
	return found, nil
}
