package bolt

import (
	"encoding/binary"
	"errors"
	"fmt"
	"syscall"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
)

// A request is one caller's change. Its writes are in a transaction with those
// of whoever waits at the same time; apply may run again in another one.
type request struct {
	apply  func(*bbolt.Tx) error
	commit func() // runs after the commit, before the answer
	answer chan error
}

// most bounds how many requests share a commit.
const most = 256

// write is the one goroutine that writes: it takes whatever waits and commits it
// together, so that a commit's two syncs serve many callers.
func (s *Store) write() {
	defer close(s.done)
	for first := range s.work {
		batch := []*request{first}
	gather:
		for len(batch) < most {
			select {
			case r, ok := <-s.work:
				if !ok {
					break gather
				}
				batch = append(batch, r)
			default:
				break gather
			}
		}
		s.commit(batch)
	}
}

// commit writes a batch. A request that fails is answered and the others are
// tried again without it; where the commit itself fails, each is tried alone.
func (s *Store) commit(batch []*request) {
	for len(batch) > 0 {
		failed := -1
		err := s.update(func(tx *bbolt.Tx) error {
			for i, r := range batch {
				if err := r.apply(tx); err != nil {
					failed = i
					return err
				}
			}
			return nil
		})
		switch {
		case err == nil:
			for _, r := range batch {
				if r.commit != nil {
					r.commit()
				}
				r.answer <- nil
			}
			return
		case failed >= 0:
			batch[failed].answer <- err
			batch = append(batch[:failed:failed], batch[failed+1:]...)
		case len(batch) == 1:
			batch[0].answer <- err
			return
		default:
			for _, r := range batch {
				s.commit([]*request{r})
			}
			return
		}
	}
}

// update is one transaction; it turns bbolt's panics and a full disk into errors.
func (s *Store) update(f func(*bbolt.Tx) error) (err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = fmt.Errorf("%w: %v", logbook.ErrDamaged, fault)
		}
	}()
	return fullError(s.db.Update(f))
}

// do hands a change to the writer and waits until it is durable.
func (s *Store) do(apply func(*bbolt.Tx) error, commit func()) error {
	if err := s.enter(); err != nil {
		return err
	}
	defer s.begun.Done()
	r := &request{apply, commit, make(chan error, 1)}
	s.work <- r
	return <-r.answer
}

// Begin implements logbook.Store.
func (s *Store) Begin(production logbook.ID, identity logbook.Line) error {
	s.mu.RLock()
	_, known := s.ranges[production]
	closed := s.closed
	s.mu.RUnlock()
	if known && !closed {
		return nil
	}
	return s.do(func(tx *bbolt.Tx) error {
		logs := tx.Bucket(logsBucket)
		if logs.Bucket(production[:]) != nil {
			return nil
		}
		log, err := logs.CreateBucket(production[:])
		if err != nil {
			return err
		}
		for _, name := range [][]byte{editsBucket, dotsBucket, clashesBucket} {
			if _, err := log.CreateBucket(name); err != nil {
				return err
			}
		}
		return log.Put(identityKey, identity[:])
	}, func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		if s.ranges[production] == nil {
			s.ranges[production] = logbook.Ranges{}
		}
	})
}

// Append implements logbook.Store.
func (s *Store) Append(production logbook.ID, entries []logbook.Entry) ([]logbook.Receipt, error) {
	receipts := make([]logbook.Receipt, len(entries))
	err := s.do(func(tx *bbolt.Tx) error {
		log := tx.Bucket(logsBucket).Bucket(production[:])
		if log == nil {
			return logbook.ErrNoProduction
		}
		return appendTo(log, entries, receipts)
	}, func() {
		s.mu.Lock()
		defer s.mu.Unlock()
		for i, r := range receipts {
			if r.Outcome == logbook.Taken {
				s.ranges[production].Add(entries[i].Dot)
			}
		}
	})
	if err != nil {
		return nil, err
	}
	return receipts, nil
}

func appendTo(log *bbolt.Bucket, entries []logbook.Entry, receipts []logbook.Receipt) error {
	edits, dots := log.Bucket(editsBucket), log.Bucket(dotsBucket)
	edits.FillPercent = 0.95 // rows are only added at the end
	seq, chain := end(edits)
	for i, e := range entries {
		key := dotKey(e.Dot)
		if held := dots.Get(key); held != nil {
			receipts[i] = logbook.Receipt{Outcome: logbook.Repeat, Seq: logbook.Seq(binary.BigEndian.Uint64(held))}
			row := edits.Get(held)
			if len(row) < editHead {
				return fmt.Errorf("%w: the edit of %s is missing", logbook.ErrDamaged, e.Dot)
			}
			if string(row[24:40]) != string(e.Hash[:]) {
				receipts[i].Outcome = logbook.Clash
				if err := keepAside(log.Bucket(clashesBucket), e); err != nil {
					return err
				}
			}
			continue
		}
		seq, chain = seq+1, chain.Next(e.Hash)
		at := number(uint64(seq))
		if err := edits.Put(at, encodeStored(e, chain)); err != nil {
			return err
		}
		if err := dots.Put(key, at); err != nil {
			return err
		}
		receipts[i] = logbook.Receipt{Outcome: logbook.Taken, Seq: seq}
	}
	return nil
}

// end is the last sequence of a log and the chain there.
func end(edits *bbolt.Bucket) (logbook.Seq, logbook.Chain) {
	key, row := edits.Cursor().Last()
	if key == nil || len(row) < editHead {
		return 0, logbook.Chain{}
	}
	return logbook.Seq(binary.BigEndian.Uint64(key)), logbook.Chain(row[40:48])
}

// keepAside keeps a clash; the same bytes again are the same clash.
func keepAside(clashes *bbolt.Bucket, e logbook.Entry) error {
	c := clashes.Cursor()
	for key, value := c.First(); key != nil; key, value = c.Next() {
		known, err := decodeClash(value)
		if err != nil {
			return err
		}
		if known.Dot == e.Dot && known.Hash == e.Hash {
			return nil
		}
	}
	n, err := clashes.NextSequence()
	if err != nil {
		return err
	}
	return clashes.Put(number(n), encodeClash(e))
}

// Keep implements logbook.Store.
func (s *Store) Keep(name string, value []byte) error {
	return s.do(func(tx *bbolt.Tx) error {
		if value == nil {
			return tx.Bucket(keptBucket).Delete([]byte(name))
		}
		return tx.Bucket(keptBucket).Put([]byte(name), value)
	}, nil)
}

// fullError names a full disk.
func fullError(err error) error {
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) {
		return fmt.Errorf("%w (%v)", logbook.ErrFull, err)
	}
	return err
}
