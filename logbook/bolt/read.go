package bolt

import (
	"bytes"
	"fmt"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
)

// Productions implements logbook.Store.
func (s *Store) Productions() ([]logbook.ID, error) {
	var ids []logbook.ID
	err := s.view(func(tx *bbolt.Tx) error {
		return tx.Bucket(logsBucket).ForEachBucket(func(name []byte) error {
			ids = append(ids, logbook.ID(name))
			return nil
		})
	})
	return ids, err
}

// Read implements logbook.Store.
func (s *Store) Read(production logbook.ID, after logbook.Seq, atMost int) ([]logbook.Stored, error) {
	head, err := s.Head(production)
	if err != nil || after >= head.Seq {
		return nil, err
	}
	var out []logbook.Stored
	err = s.viewLog(production, func(log *bbolt.Bucket) error {
		c := log.Bucket(editsBucket).Cursor()
		key, value := c.Seek(number(uint64(after) + 1))
		for size := 0; key != nil && (len(out) == 0 || size < atMost); key, value = c.Next() {
			e, err := wholeEdit(key, value)
			if err != nil {
				return err
			}
			out = append(out, e)
			size += len(e.Bytes)
		}
		return nil
	})
	return out, err
}

// wholeEdit copies an edit out, unless its bytes are not those that were stored.
func wholeEdit(key, value []byte) (logbook.Stored, error) {
	e, err := decodeStored(key, value)
	if err == nil && logbook.HashOf(e.Bytes) != e.Hash {
		err = fmt.Errorf("%w: edit %s at sequence %d is not what was stored", logbook.ErrDamaged, e.Dot, e.Seq)
	}
	return e, err
}

// Get implements logbook.Store.
func (s *Store) Get(production logbook.ID, wanted []logbook.Dot) ([]logbook.Stored, error) {
	var found []logbook.Seq
	err := s.lookUp(production, func(x *index) {
		for _, d := range wanted {
			if seq, ok := x.find(d); ok {
				found = append(found, seq)
			}
		}
	})
	if err != nil {
		return nil, err
	}
	var out []logbook.Stored
	err = s.viewLog(production, func(log *bbolt.Bucket) error {
		edits := log.Bucket(editsBucket)
		for _, seq := range found {
			key := number(uint64(seq))
			e, err := wholeEdit(key, edits.Get(key))
			if err != nil {
				return err
			}
			out = append(out, e)
		}
		return nil
	})
	return out, err
}

// Head implements logbook.Store.
func (s *Store) Head(production logbook.ID) (logbook.Head, error) {
	var head logbook.Head
	err := s.lookUp(production, func(x *index) { head = x.head })
	return head, err
}

// ChainAt implements logbook.Store.
func (s *Store) ChainAt(production logbook.ID, seq logbook.Seq) (chain logbook.Chain, ok bool, err error) {
	head, err := s.Head(production)
	switch {
	case err != nil || seq > head.Seq:
		return logbook.Chain{}, false, err
	case seq == 0:
		return logbook.Chain{}, true, nil
	case seq == head.Seq: // as nearly every cursor is
		return head.Chain, true, nil
	}
	err = s.viewLog(production, func(log *bbolt.Bucket) error {
		r, err := rowOf(log.Bucket(editsBucket).Get(number(uint64(seq))))
		if err == nil {
			chain, ok = logbook.Chain(r.chain), true
		}
		return err
	})
	return chain, ok, err
}

// Ranges implements logbook.Store.
func (s *Store) Ranges(production logbook.ID) (held logbook.Ranges, err error) {
	err = s.lookUp(production, func(x *index) { held = x.held.Ranges() })
	return held, err
}

// RangesBehind implements logbook.Store.
func (s *Store) RangesBehind(production logbook.ID, behind logbook.Dot, atMost int) (held logbook.Ranges, to logbook.Dot, err error) {
	err = s.lookUp(production, func(x *index) { held, to = x.held.Part(behind, atMost) })
	return held, to, err
}

// lookUp lends a log's index.
func (s *Store) lookUp(production logbook.ID, f func(*index)) error {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if s.closed {
		return logbook.ErrClosed
	}
	x, ok := s.logs[production]
	if !ok {
		return logbook.ErrNoProduction
	}
	f(x)
	return nil
}

// Clashes implements logbook.Store.
func (s *Store) Clashes(production logbook.ID) ([]logbook.Entry, error) {
	var out []logbook.Entry
	err := s.viewLog(production, func(log *bbolt.Bucket) error {
		return log.Bucket(clashesBucket).ForEach(func(_, value []byte) error {
			e, err := decodeClash(value)
			out = append(out, e)
			return err
		})
	})
	return out, err
}

// Kept implements logbook.Store.
func (s *Store) Kept(name string) ([]byte, error) {
	var out []byte
	err := s.view(func(tx *bbolt.Tx) error {
		if value := tx.Bucket(keptBucket).Get([]byte(name)); value != nil {
			out = append([]byte{}, value...)
		}
		return nil
	})
	return out, err
}

// KeptUnder implements logbook.Store.
func (s *Store) KeptUnder(prefix string) ([]logbook.KeptValue, error) {
	var out []logbook.KeptValue
	err := s.view(func(tx *bbolt.Tx) error {
		c := tx.Bucket(keptBucket).Cursor()
		for key, value := c.Seek([]byte(prefix)); key != nil && bytes.HasPrefix(key, []byte(prefix)); key, value = c.Next() {
			out = append(out, logbook.KeptValue{Name: string(key), Value: append([]byte{}, value...)})
		}
		return nil
	})
	return out, err
}
