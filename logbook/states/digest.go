package states

import (
	"crypto/sha256"
	"hash"
	"slices"
	"sync"

	"evenwhite/logbook"
)

// Pages reads what a log holds behind a sequence, in order, until it is so many bytes: logbook.Log.Page.
type Pages func(after logbook.Seq, atMost int) ([]logbook.Stored, error)

// Digests work out the states of logs, each on from where it was asked for last. All methods may be
// called at once.
type Digests struct {
	mu sync.Mutex
	of map[logbook.ID]*running
}

// At is the state of a log at a head.
func (d *Digests) At(pages Pages, production logbook.ID, head logbook.Head) (State, error) {
	d.mu.Lock()
	r := d.of[production]
	if r == nil {
		if d.of == nil {
			d.of = map[logbook.ID]*running{}
		}
		r = &running{}
		d.of[production] = r
	}
	d.mu.Unlock()
	r.mu.Lock()
	defer r.mu.Unlock()
	if err := r.reach(pages, head); err != nil {
		r.lines = nil
		return State{}, err
	}
	return r.state(), nil
}

// running is the digest of a log as far as a head.
type running struct {
	mu    sync.Mutex
	at    logbook.Head
	lines map[logbook.Line]*lineSum // nil: nothing was read
}

type lineSum struct {
	spans []logbook.Span
	sum   hash.Hash // over the hashes of the edits of the spans
}

// an edit is known by its dot and its hash.
type edit struct {
	dot  logbook.Dot
	hash logbook.Hash
}

func (r *running) reach(pages Pages, head logbook.Head) error {
	if r.lines == nil || r.at.Identity != head.Identity || r.at.Seq > head.Seq || !r.within(head) {
		r.lines, r.at = map[logbook.Line]*lineSum{}, logbook.Head{}
	}
	edits, err := editsOf(pages, r.at.Seq, head.Seq, nil)
	if err != nil {
		return err
	}
	if !r.addAll(edits) { // one came that stands before another of its line
		if edits, err = editsOf(pages, 0, head.Seq, nil); err != nil {
			return err
		}
		r.lines = map[logbook.Line]*lineSum{}
		r.addAll(edits)
	}
	r.at = head
	return nil
}

// within reports whether a head may be one to which the log went on.
func (r *running) within(head logbook.Head) bool {
	return r.at.Seq < head.Seq || r.at.Chain == head.Chain
}

// addAll adds edits in the order of dots; false where one stands before what was added.
func (r *running) addAll(edits []edit) bool {
	for i := range edits {
		if !r.add(&edits[i]) {
			return false
		}
	}
	return true
}

func (r *running) add(e *edit) bool {
	l := r.lines[e.dot.Line]
	if l == nil {
		l = &lineSum{sum: sha256.New()}
		r.lines[e.dot.Line] = l
	}
	last := len(l.spans) - 1
	switch {
	case last < 0 || l.spans[last].To+1 < e.dot.N:
		l.spans = append(l.spans, logbook.Span{From: e.dot.N, To: e.dot.N})
	case l.spans[last].To+1 == e.dot.N:
		l.spans[last].To++
	default:
		return false
	}
	l.sum.Write(e.hash[:])
	return true
}

func (r *running) state() State {
	s := State{Held: logbook.Ranges{}}
	for line, l := range r.lines {
		s.Held[line] = slices.Clone(l.spans)
	}
	all := sha256.New()
	for _, line := range s.Held.Lines() {
		all.Write(line[:])
		all.Write(r.lines[line].sum.Sum(nil))
	}
	copy(s.Digest[:], all.Sum(nil))
	return s
}

// editsOf reads what a log holds behind one sequence as far as another, in the order of dots; of a
// set that is given, its own alone.
func editsOf(pages Pages, at, end logbook.Seq, only *logbook.Held) (all []edit, err error) {
	for at < end {
		page, err := pages(at, logbook.PageBytes)
		if err != nil {
			return nil, err
		}
		if len(page) == 0 {
			break // what is left is damaged
		}
		for i := range page {
			if at = page[i].Seq; at > end {
				break
			}
			if only == nil || only.Has(page[i].Dot) {
				all = append(all, edit{page[i].Dot, page[i].Hash})
			}
		}
	}
	slices.SortFunc(all, func(a, b edit) int {
		switch {
		case a.dot.Less(b.dot):
			return -1
		case b.dot.Less(a.dot):
			return 1
		}
		return 0
	})
	return all, nil
}
