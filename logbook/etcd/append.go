package etcd

import (
	"context"
	"slices"
	"sync"
	"time"

	"evenwhite/logbook"

	clientv3 "go.etcd.io/etcd/client/v3"
)

// What one transaction holds at most, below what etcd takes: 128 operations and 1.5 MiB. A call that is
// larger is still one: it fails where etcd was not told to take more (--max-request-bytes).
const (
	mostOps   = 100
	mostBytes = 1 << 20
	mostCalls = 256
)

// A call is one caller's append. It is written in one transaction with those of whoever waits at
// the same time.
type call struct {
	entries  []logbook.Entry
	changes  *uint64 // nil: it is no change that was made by looking
	receipts []logbook.Receipt
	err      error
	wake     chan []*call // the batch to commit, or nil where receipts and err are the answer
}

func (c *call) size() (ops, bytes int) {
	for _, e := range c.entries {
		ops, bytes = ops+len(e.Notes), bytes+len(e.Bytes)+64
	}
	return ops, bytes
}

// A queue holds who waits while one caller commits.
type queue struct {
	sync.Mutex
	busy    bool
	waiting []*call
}

// next takes as many of those who wait as fit into one transaction.
func (q *queue) next() (batch []*call) {
	q.Lock()
	defer q.Unlock()
	ops, bytes := 0, 0
	for _, c := range q.waiting {
		o, b := c.size()
		if len(batch) > 0 && (ops+o > mostOps || bytes+b > mostBytes || len(batch) == mostCalls) {
			break
		}
		ops, bytes, batch = ops+o, bytes+b, append(batch, c)
	}
	if q.waiting = q.waiting[len(batch):]; len(batch) == 0 {
		q.busy, q.waiting = false, nil
		return nil
	}
	return batch
}

// Append implements logbook.Store.
func (s *Store) Append(production logbook.ID, entries []logbook.Entry) ([]logbook.Receipt, error) {
	return s.append(production, &call{entries: entries})
}

// AppendChange implements logbook.SharedStore.
func (s *Store) AppendChange(production logbook.ID, changes uint64, entries []logbook.Entry) ([]logbook.Receipt, error) {
	return s.append(production, &call{entries: entries, changes: &changes})
}

func (s *Store) append(production logbook.ID, c *call) ([]logbook.Receipt, error) {
	l, err := s.log(production)
	if err != nil {
		return nil, err
	}
	for i := range c.entries {
		if err := c.entries[i].Verify(); err != nil {
			return nil, err
		}
	}
	if err := s.enter(); err != nil {
		return nil, err
	}
	defer s.begun.Done()
	c.wake = make(chan []*call, 1)
	l.queue.Lock()
	l.queue.waiting = append(l.queue.waiting, c)
	leads := !l.queue.busy
	l.queue.busy = true
	l.queue.Unlock()
	var batch []*call
	if leads {
		batch = l.queue.next()
	} else if batch = <-c.wake; batch == nil {
		return c.receipts, c.err
	}
	s.commit(l, batch)
	if waiting := l.queue.next(); waiting != nil {
		waiting[0].wake <- waiting
	}
	for _, other := range batch {
		if other != c {
			other.wake <- nil
		}
	}
	return c.receipts, c.err
}

// commit writes a batch and leaves each call its answer. Where an answer of etcd is lost, what was
// written is found under the next head.
func (s *Store) commit(l *log, batch []*call) {
	until := s.until()
	l.working.Lock()
	defer l.working.Unlock()
	begun := time.Now()
	tried := map[logbook.Dot]logbook.Hash{} // may be there by this very call
	for try := firstTry; ; {
		n := s.news(l, batch, tried)
		done, err := false, s.givenUp()
		if err == nil {
			done, err = s.put(l, n, bounded(try, until))
		}
		if mayYet(err) && s.rest(until) {
			try *= 2
			for _, e := range n.entries {
				tried[e.Dot] = e.Hash
			}
			if err = s.refreshUntil(l, until); err == nil || mayYet(err) && s.rest(until) {
				continue
			}
		}
		if err == nil && !done {
			if err = s.refreshUntil(l, until); err == nil {
				continue
			}
		}
		if err == nil {
			s.learn(l, n)
			s.asksWentWell()
		} else {
			s.inVain(begun, err)
			for _, c := range batch {
				if c.err == nil {
					c.receipts, c.err = nil, err
				}
			}
		}
		return
	}
}

// news is what a batch adds to a log.
type news struct {
	head    head
	entries []logbook.Entry
	dots    map[logbook.Dot]logbook.Seq
	hashes  map[logbook.Dot]logbook.Hash
	chains  []logbook.Chain
	clashes []logbook.Entry
	aside   map[logbook.AsideKey]bool
	crowd   logbook.Crowd
	notes   map[string][]byte
}

func (s *Store) news(l *log, batch []*call, tried map[logbook.Dot]logbook.Hash) *news {
	n := &news{head: l.head, dots: map[logbook.Dot]logbook.Seq{}, hashes: map[logbook.Dot]logbook.Hash{},
		aside: map[logbook.AsideKey]bool{}, crowd: logbook.Crowd{}, notes: map[string][]byte{}}
	for _, c := range batch {
		c.receipts, c.err = make([]logbook.Receipt, len(c.entries)), nil
		switch {
		case l.head.rev == 0:
			c.receipts, c.err = nil, logbook.ErrNoProduction
			continue
		case c.changes != nil && *c.changes != n.head.changes && !c.landed(l, tried):
			c.receipts, c.err = nil, logbook.ErrWentOn
			continue
		}
		before := n.head.Seq
		for i, e := range c.entries {
			c.receipts[i] = n.take(l, e, tried)
		}
		if c.changes != nil && n.head.Seq > before {
			n.head.changes++
		}
	}
	return n
}

// landed reports whether a change is in the log already, by a try whose answer was lost.
func (c *call) landed(l *log, tried map[logbook.Dot]logbook.Hash) bool {
	if len(c.entries) == 0 {
		return false
	}
	first := c.entries[0]
	at, ok := l.at[first.Dot]
	return ok && l.rows[at-1].hash == first.Hash && tried[first.Dot] == first.Hash
}

// take answers one entry.
func (n *news) take(l *log, e logbook.Entry, tried map[logbook.Dot]logbook.Hash) logbook.Receipt {
	at, hash, ok := l.at[e.Dot], logbook.Hash{}, true
	if at > 0 {
		hash = l.rows[at-1].hash
	} else if at, ok = n.dots[e.Dot]; ok {
		hash = n.hashes[e.Dot]
	}
	if !ok {
		n.head.Seq, n.head.Chain = n.head.Seq+1, n.head.Chain.Next(e.Hash)
		n.entries, n.chains = append(n.entries, e), append(n.chains, n.head.Chain)
		n.dots[e.Dot], n.hashes[e.Dot] = n.head.Seq, e.Hash
		for _, note := range e.Notes {
			n.notes[note.Name] = note.Value
		}
		return logbook.Receipt{Outcome: logbook.Taken, Seq: n.head.Seq}
	}
	r := logbook.Receipt{Outcome: logbook.Repeat, Seq: at}
	key := logbook.AsideKey{Dot: e.Dot, Hash: e.Hash}
	switch {
	case hash == e.Hash && l.at[e.Dot] > 0 && tried[e.Dot] == e.Hash:
		r.Outcome = logbook.Taken
		delete(tried, e.Dot) // the second of one call is a repeat
	case hash == e.Hash:
	case l.aside[key] || n.aside[key]:
		r.Outcome = logbook.Clash
	case !l.crowd.Room(e, n.crowd):
		r.Outcome = logbook.CrowdedOut
	default:
		n.aside[key] = true
		n.crowd.Add(e)
		n.clashes = append(n.clashes, e)
		r.Outcome = logbook.Clash
	}
	return r
}

// put writes what is new, where the head is still what it was.
func (s *Store) put(l *log, n *news, time time.Duration) (done bool, err error) {
	if len(n.clashes) > 0 {
		n.head.clashes++
	}
	if n.head == l.head {
		return true, nil
	}
	key, folder := s.keys.head(l.id), s.keys.log(l.id, l.head.Identity)
	ops := []clientv3.Op{clientv3.OpPut(key, n.head.encode())}
	if len(n.entries) > 0 {
		var edits []byte
		rows := make([]row, len(n.entries))
		for i, e := range n.entries {
			edits, rows[i] = appendEntry(edits, e), row{e.Dot, e.Hash}
		}
		first := uint64(l.head.Seq) + 1
		ops = append(ops, clientv3.OpPut(numbered(folder+"edits/", first), string(edits)),
			clientv3.OpPut(numbered(folder+"dots/", first), encodeDots(rows, len(edits))))
	}
	if len(n.clashes) > 0 {
		var b []byte
		for _, e := range n.clashes {
			b = appendEntry(b, e)
		}
		ops = append(ops, clientv3.OpPut(numbered(folder+"clashes/", n.head.clashes), string(b)))
	}
	for name, value := range n.notes {
		ops = append(ops, s.keeping(name, value))
	}
	err = s.wrote(s.once(time, func(ctx context.Context) error {
		r, err := s.client.Txn(ctx).If(clientv3.Compare(clientv3.ModRevision(key), "=", l.head.rev)).Then(ops...).Commit()
		if err == nil {
			done, n.head.rev = r.Succeeded, r.Header.Revision
		}
		return err
	}))
	return done, err
}

// learn adds what was written to the index, and what was read of others.
func (s *Store) learn(l *log, n *news) {
	if n.head == l.head {
		return
	}
	s.mu.Lock()
	if len(n.entries) > 0 {
		stored := make([]logbook.Stored, len(n.entries))
		size := 0
		for i, e := range n.entries {
			e.Bytes, e.Notes = slices.Clone(e.Bytes), nil
			size += len(e.Bytes)
			stored[i] = logbook.Stored{Entry: e, Seq: l.head.Seq + 1 + logbook.Seq(i), Chain: n.chains[i]}
			l.add(row{e.Dot, e.Hash}, n.chains[i])
		}
		l.pages = append(l.pages, page{l.head.Seq + 1, size})
		s.pages.keep(l, stored, size)
	}
	l.addClashes(n.clashes)
	l.head = n.head
	s.mu.Unlock()
	l.changed.Wake()
}

// add notes one more edit.
func (l *log) add(r row, chain logbook.Chain) {
	l.rows, l.chains = append(l.rows, r), append(l.chains, chain)
	l.at[r.dot] = logbook.Seq(len(l.rows))
	l.held.Add(r.dot)
}

func (l *log) addClashes(clashes []logbook.Entry) {
	for _, e := range clashes {
		l.aside[logbook.AsideKey{Dot: e.Dot, Hash: e.Hash}] = true
		l.crowd.Add(e)
	}
}
