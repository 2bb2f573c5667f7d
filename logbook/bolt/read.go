package bolt

import (
	"bytes"
	"encoding/binary"
	"errors"

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

// usualEdit is about how many bytes an edit takes.
const usualEdit = 150

// Read implements logbook.Store.
func (s *Store) Read(production logbook.ID, after logbook.Seq, atMost int) ([]logbook.Stored, error) {
	p, err := s.passOver(production)
	if err != nil || after >= p.head {
		return nil, err
	}
	out := make([]logbook.Stored, 0, min(int(p.head-after), atMost/usualEdit+1))
	size, at := 0, after
	wanted := func() bool { return at < p.head && (len(out) == 0 || size < atMost) }
	take := func(e logbook.Stored, ok bool) {
		if ok {
			out, size = append(out, e), size+len(e.Bytes)
		}
	}
	err = s.viewLog(production, func(log *bbolt.Bucket) error {
		c := log.Bucket(editsBucket).Cursor()
		for key, value := c.Seek(number(uint64(after) + 1)); wanted(); key, value = c.Next() {
			seq := p.head + 1
			if len(key) == 8 {
				seq = logbook.Seq(binary.BigEndian.Uint64(key))
			}
			for at++; at < min(seq, p.head+1); at++ {
				p.lacks(at, "nothing stands there")
			}
			if seq > p.head { // of what was added since, or a key that was hit
				return nil
			}
			take(p.edit(key, value))
		}
		return nil
	})
	if errors.Is(err, logbook.ErrDamaged) { // a page: what others hold can be read
		for err = nil; err == nil && wanted(); {
			at++
			var e logbook.Stored
			var ok bool
			e, ok, err = s.readOne(production, at, &p)
			take(e, ok)
		}
	}
	s.lose(production, p.met)
	return out, err
}

// A passing reads rows of a log and leaves out those that are not held.
type passing struct {
	head logbook.Seq
	over map[logbook.Seq]bool
	met  []lost // on the way, and not known before
}

func (s *Store) passOver(production logbook.ID) (p passing, err error) {
	err = s.lookUp(production, func(x *index) {
		p.head = x.head.Seq
		if len(x.lost) > 0 {
			p.over = make(map[logbook.Seq]bool, len(x.lost))
		}
		for seq := range x.lost {
			p.over[seq] = true
		}
	})
	return p, err
}

// lacks notes a row that turned out not to be what was stored.
func (p *passing) lacks(seq logbook.Seq, why string) {
	if !p.over[seq] {
		p.met = append(p.met, lost{Damage: logbook.Damage{Seq: seq, Why: why}})
	}
}

// edit copies an edit out, unless it is not held.
func (p *passing) edit(key, value []byte) (e logbook.Stored, ok bool) {
	seq := logbook.Seq(binary.BigEndian.Uint64(key))
	if p.over[seq] || isGone(value) {
		return e, false
	}
	e, err := decodeStored(key, value)
	if err != nil || logbook.HashOf(e.Bytes) != e.Hash {
		p.lacks(seq, notItsHash)
		return logbook.Stored{}, false
	}
	return e, true
}

// readOne reads one row where a page near it cannot be read.
func (s *Store) readOne(production logbook.ID, seq logbook.Seq, p *passing) (e logbook.Stored, ok bool, err error) {
	err = s.viewLog(production, func(log *bbolt.Bucket) error {
		key := number(uint64(seq))
		if value := log.Bucket(editsBucket).Get(key); value != nil {
			e, ok = p.edit(key, value)
		} else {
			p.lacks(seq, "nothing stands there")
		}
		return nil
	})
	if errors.Is(err, logbook.ErrDamaged) {
		err = nil
		if !p.over[seq] {
			p.met = append(p.met, lost{Damage: logbook.Damage{Seq: seq, Why: "its page cannot be read", Page: true}})
		}
	}
	return e, ok, err
}

// Get implements logbook.Store.
func (s *Store) Get(production logbook.ID, wanted []logbook.Dot) ([]logbook.Stored, error) {
	p, err := s.passOver(production)
	if err != nil {
		return nil, err
	}
	var found []logbook.Seq
	err = s.lookUp(production, func(x *index) {
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
	at := 0
	err = s.viewLog(production, func(log *bbolt.Bucket) error {
		edits := log.Bucket(editsBucket)
		for ; at < len(found); at++ {
			key := number(uint64(found[at]))
			if e, ok := p.edit(key, edits.Get(key)); ok {
				out = append(out, e)
			}
		}
		return nil
	})
	if errors.Is(err, logbook.ErrDamaged) {
		for err = nil; at < len(found) && err == nil; at++ {
			var e logbook.Stored
			var ok bool
			if e, ok, err = s.readOne(production, found[at], &p); ok {
				out = append(out, e)
			}
		}
	}
	s.lose(production, p.met)
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
		chain = chainOf(log.Bucket(editsBucket).Get(number(uint64(seq))))
		return nil
	})
	if errors.Is(err, logbook.ErrDamaged) {
		return logbook.Chain{}, true, nil
	}
	return chain, err == nil, err
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
	if x.fault != nil {
		return x.fault
	}
	f(x)
	return nil
}

// Clashes implements logbook.Store.
func (s *Store) Clashes(production logbook.ID) ([]logbook.Entry, error) {
	if _, err := s.Head(production); err != nil {
		return nil, err
	}
	var out []logbook.Entry
	err := s.viewLog(production, func(log *bbolt.Bucket) error {
		return log.Bucket(clashesBucket).ForEach(func(_, value []byte) error {
			if e, err := decodeClash(value); err == nil && e.Verify() == nil {
				out = append(out, e)
			}
			return nil
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
		out = keptUnder(tx, prefix)
		return nil
	})
	return out, err
}

func keptUnder(tx *bbolt.Tx, prefix string) (out []logbook.KeptValue) {
	c := tx.Bucket(keptBucket).Cursor()
	for key, value := c.Seek([]byte(prefix)); key != nil && bytes.HasPrefix(key, []byte(prefix)); key, value = c.Next() {
		out = append(out, logbook.KeptValue{Name: string(key), Value: append([]byte{}, value...)})
	}
	return out
}
