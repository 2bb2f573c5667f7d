package bolt

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"syscall"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
)

// A request is one caller's change. It is written in one transaction with those
// of whoever waits at the same time; apply may run again in another one.
type request struct {
	apply func(*change) error
	err   error
	wake  chan []*request // the batch to commit, or nil where err is the answer
}

// A queue holds who waits while one caller commits.
type queue struct {
	sync.Mutex
	busy    bool
	waiting []*request
}

// A change is a transaction in the making and what the indexes learn from it
// once it is committed.
type change struct {
	tx   *bbolt.Tx
	logs map[logbook.ID]*news
}

type news struct {
	head  logbook.Head // zero where nothing was added
	dots  map[logbook.Dot]logbook.Seq
	order []logbook.Dot
	aside map[twin]logbook.Entry
	crowd logbook.Crowd // of those
	left  []logbook.Seq // rows that were damaged and whose edits came again

	removed bool // the log that was there before is gone; what is here came after it
}

func (c *change) news(production logbook.ID) *news {
	n, ok := c.logs[production]
	if !ok {
		n = &news{dots: map[logbook.Dot]logbook.Seq{}, aside: map[twin]logbook.Entry{}, crowd: logbook.Crowd{}}
		c.logs[production] = n
	}
	return n
}

// most bounds how many requests share a commit.
const most = 256

// do writes a change and returns when it is durable. The caller that finds nobody
// writing commits; whoever comes meanwhile waits and is committed together, by
// the first among them, so that a commit's two syncs serve many. No goroutine
// stands between: handing a change to one costs a lone writer a fifth of its
// speed.
func (s *Store) do(apply func(*change) error) error {
	if err := s.enter(); err != nil {
		return err
	}
	defer s.begun.Done()
	r := &request{apply: apply}
	batch := []*request{r}
	s.queue.Lock()
	if s.queue.busy {
		r.wake = make(chan []*request, 1)
		s.queue.waiting = append(s.queue.waiting, r)
		s.queue.Unlock()
		if batch = <-r.wake; batch == nil {
			return r.err
		}
	} else {
		s.queue.busy = true
		s.queue.Unlock()
	}
	s.commit(batch)
	s.queue.next()
	for _, other := range batch {
		if other != r {
			other.wake <- nil
		}
	}
	return r.err
}

// next hands the writing on to who waits.
func (q *queue) next() {
	q.Lock()
	defer q.Unlock()
	n := min(len(q.waiting), most)
	if n == 0 {
		q.busy = false
		return
	}
	batch := q.waiting[:n:n]
	q.waiting = append([]*request(nil), q.waiting[n:]...)
	batch[0].wake <- batch
}

// commit writes a batch and leaves each its answer. A request that cannot be
// applied is answered and the others are tried without it; where the commit
// itself fails, each is tried alone.
func (s *Store) commit(batch []*request) {
	batch = slices.Clone(batch)
	for len(batch) > 0 {
		refused, err := s.update(batch)
		switch {
		case err == nil:
			return
		case refused >= 0:
			batch[refused].err = err
			batch = slices.Delete(batch, refused, refused+1)
		case len(batch) == 1:
			batch[0].err = err
			return
		default:
			for _, r := range batch {
				s.commit([]*request{r})
			}
			return
		}
	}
}

// update is one transaction. refused is the request that could not be applied,
// or -1.
func (s *Store) update(batch []*request) (refused int, err error) {
	if s.broken != nil {
		return -1, s.broken
	}
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if fault := recover(); fault != nil {
			s.locked = true
			refused, err = -1, s.endWriting(fault)
		}
	}()
	c := &change{logs: map[logbook.ID]*news{}}
	var transaction int
	refused = -1
	err = s.db.Update(func(tx *bbolt.Tx) error {
		c.tx, transaction = tx, tx.ID()
		for i, r := range batch {
			if err := r.apply(c); err != nil {
				refused = i
				return err
			}
		}
		return nil
	})
	if err == nil {
		s.learn(c)
		return -1, nil
	}
	if refused >= 0 {
		return refused, err
	}
	return -1, s.failed(err, transaction)
}

// failed judges a commit that failed. A full disk is harmless as long as the
// failed transaction is not to be seen; after any other failure the system may
// have dropped pages that it will not write again, and what bbolt reads back is
// not what is on the disk.
func (s *Store) failed(err error, transaction int) error {
	full := fullError(err)
	seen := 0
	if e := s.db.View(func(tx *bbolt.Tx) error { seen = tx.ID(); return nil }); e != nil {
		err = errors.Join(err, e)
	} else if errors.Is(full, logbook.ErrFull) && seen < transaction {
		s.mu.Lock()
		defer s.mu.Unlock()
		s.full = true
		return full
	}
	return s.endWriting(err)
}

// endWriting notes why nothing more is written.
func (s *Store) endWriting(why any) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.broken = fmt.Errorf("%w (%v)", logbook.ErrBroken, why)
	return s.broken
}

// learn adds what was committed to the indexes.
func (s *Store) learn(c *change) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.full = false
	for production, n := range c.logs {
		if n.removed {
			delete(s.logs, production)
			if n.head == (logbook.Head{}) {
				continue
			}
		}
		x := s.logs[production]
		if x == nil {
			x = newIndex()
			s.logs[production] = x
		}
		if n.head != (logbook.Head{}) {
			x.head = n.head
		}
		x.drop(n.left)
		for _, d := range n.order {
			x.add(d, n.dots[d])
		}
		for t, e := range n.aside {
			x.aside[t] = true
			x.crowd.Add(e)
		}
	}
}

// removed reports whether a production was removed from the store. Damage may have taken
// all that is kept: that is no reason to begin none.
func removed(tx *bbolt.Tx, production logbook.ID) bool {
	kept := tx.Bucket(keptBucket)
	return kept != nil && kept.Get([]byte(logbook.RemovedName(production))) != nil
}

// Begin implements logbook.Store.
func (s *Store) Begin(production logbook.ID, identity logbook.Line) error {
	if err := s.lookUp(production, func(*index) {}); !errors.Is(err, logbook.ErrNoProduction) {
		return err
	}
	gone := false
	if err := s.view(func(tx *bbolt.Tx) error { gone = removed(tx, production); return nil }); err != nil || gone {
		return cmp.Or(err, logbook.ErrRemoved)
	}
	return s.do(func(c *change) error {
		logs := c.tx.Bucket(logsBucket)
		if logs.Bucket(production[:]) != nil {
			return nil
		}
		if removed(c.tx, production) {
			return logbook.ErrRemoved
		}
		log, err := logs.CreateBucket(production[:])
		if err != nil {
			return err
		}
		for _, name := range [][]byte{editsBucket, clashesBucket} {
			if _, err := log.CreateBucket(name); err != nil {
				return err
			}
		}
		c.news(production).head.Identity = identity
		return log.Put(identityKey, identity[:])
	})
}

// Append implements logbook.Store.
func (s *Store) Append(production logbook.ID, entries []logbook.Entry) ([]logbook.Receipt, error) {
	if err := s.lookUp(production, func(*index) {}); err != nil {
		return nil, err
	}
	for i := range entries {
		if err := entries[i].Verify(); err != nil {
			return nil, err
		}
	}
	receipts := make([]logbook.Receipt, len(entries))
	err := s.do(func(c *change) error {
		log := c.tx.Bucket(logsBucket).Bucket(production[:])
		if log == nil {
			return logbook.ErrNoProduction
		}
		news := c.news(production)
		a := appending{s.index(production), news, log, c.tx.Bucket(keptBucket)}
		if news.removed {
			a.held = newIndex()
			a.held.head.Identity = news.head.Identity
		}
		return a.all(entries, receipts)
	})
	if err != nil {
		return nil, err
	}
	return receipts, nil
}

// appending is one log in a transaction: what it held before, what the
// transaction adds, its bucket and that of the notes. Only who commits changes an index
// (a reader that meets damage puts another in its place), so that it is read here
// without the lock.
type appending struct {
	held *index
	news *news
	log  *bbolt.Bucket
	kept *bbolt.Bucket
}

func (a appending) all(entries []logbook.Entry, receipts []logbook.Receipt) error {
	edits := a.log.Bucket(editsBucket)
	edits.FillPercent = 0.95 // rows are only added at the end
	head := a.held.head
	if a.news.head.Seq > 0 {
		head = a.news.head
	}
	seq, chain := head.Seq, head.Chain
	for i, e := range entries {
		at, ok := a.find(e.Dot)
		if ok {
			if held, err := wholeRow(edits.Get(number(uint64(at)))); err == nil {
				if receipts[i], err = a.again(held, e, at); err != nil {
					return err
				}
				continue
			}
		}
		if seq == math.MaxUint32 { // what the index has room for
			return fmt.Errorf("the log holds %d edits; no more fit", seq)
		}
		seq, chain = seq+1, chain.Next(e.Hash)
		if err := edits.Put(number(uint64(seq)), encodeStored(e, chain)); err != nil {
			return err
		}
		if err := a.mend(edits, e, at, seq); err != nil {
			return err
		}
		a.news.dots[e.Dot] = seq
		a.news.order = append(a.news.order, e.Dot)
		receipts[i] = logbook.Receipt{Outcome: logbook.Taken, Seq: seq}
		a.news.head = logbook.Head{Identity: a.held.head.Identity, Seq: seq, Chain: chain}
		for _, n := range e.Notes {
			if err := keepIn(a.kept, n.Name, n.Value); err != nil {
				return err
			}
		}
	}
	return nil
}

// keepIn puts a small value of the server's own, or removes it where it is nil.
func keepIn(kept *bbolt.Bucket, name string, value []byte) error {
	if value == nil {
		return kept.Delete([]byte(name))
	}
	return kept.Put([]byte(name), value)
}

func (a appending) find(d logbook.Dot) (logbook.Seq, bool) {
	if seq, ok := a.news.dots[d]; ok {
		return seq, true
	}
	return a.held.find(d)
}

// again answers an entry whose dot is held: a repeat, or a clash, which is kept
// aside once.
func (a appending) again(held row, e logbook.Entry, at logbook.Seq) (logbook.Receipt, error) {
	if logbook.Hash(held.hash) == e.Hash {
		return logbook.Receipt{Outcome: logbook.Repeat, Seq: at}, nil
	}
	clash := logbook.Receipt{Outcome: logbook.Clash, Seq: at}
	t := twin{e.Dot, e.Hash}
	if _, comes := a.news.aside[t]; comes || a.held.aside[t] {
		return clash, nil
	}
	if !a.held.crowd.Room(e, a.news.crowd) {
		return logbook.Receipt{Outcome: logbook.CrowdedOut, Seq: at}, nil
	}
	a.news.aside[t] = e
	a.news.crowd.Add(e)
	clashes := a.log.Bucket(clashesBucket)
	n, err := clashes.NextSequence()
	if err != nil {
		return logbook.Receipt{}, err
	}
	return clash, clashes.Put(number(n), encodeClash(e))
}

// Keep implements logbook.Store.
func (s *Store) Keep(name string, value []byte) error {
	if err := logbook.CheckKeptName(name); err != nil {
		return err
	}
	return s.do(func(c *change) error { return keepIn(c.tx.Bucket(keptBucket), name, value) })
}

// fullError names a disk, quota or file system that has no room for the file to
// grow. bbolt drops what it wraps in some places, so that the text decides there.
func fullError(err error) error {
	if err == nil || errors.Is(err, logbook.ErrFull) {
		return err
	}
	for _, no := range []syscall.Errno{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG} {
		if errors.Is(err, no) || strings.Contains(err.Error(), no.Error()) {
			return fmt.Errorf("%w (%v)", logbook.ErrFull, err)
		}
	}
	return err
}
