package bolt

import (
	"encoding/binary"
	"fmt"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
)

// asideBucket holds the edits that are kept outside a log. It is made with the first.
var asideBucket = []byte("aside")

// The key and the head of a row, before the edit's bytes.
const (
	asideKeyLength = 8 + 8 + 16
	asideHead      = 1 + 8 + 16
)

func asideKey(k logbook.AsideKey) []byte {
	b := append(make([]byte, 0, asideKeyLength), k.Dot.Line[:]...)
	return append(binary.BigEndian.AppendUint64(b, k.Dot.N), k.Hash[:]...)
}

func encodeAside(a logbook.Aside) []byte {
	b := make([]byte, 1, asideHead+len(a.Bytes))
	if a.Left {
		b[0] = 1
	}
	b = binary.BigEndian.AppendUint64(b, uint64(a.Received))
	return append(append(b, a.Via[:]...), a.Bytes...)
}

func decodeAside(key, value []byte) (a logbook.Aside, err error) {
	if len(key) != asideKeyLength || len(value) < asideHead || value[0] > 1 {
		return a, fmt.Errorf("%w: the row %x of what is kept aside is none", logbook.ErrDamaged, key)
	}
	copy(a.Dot.Line[:], key)
	a.Dot.N = binary.BigEndian.Uint64(key[8:])
	copy(a.Hash[:], key[16:])
	a.Left = value[0] == 1
	a.Received = logbook.Millis(binary.BigEndian.Uint64(value[1:]))
	copy(a.Via[:], value[9:])
	a.Bytes = append([]byte(nil), value[asideHead:]...)
	return a, nil
}

// SetAside implements logbook.Store.
func (s *Store) SetAside(production logbook.ID, rows []logbook.Aside) error {
	if err := s.lookUp(production, func(*index) {}); err != nil {
		return err
	}
	for i := range rows {
		if err := rows[i].Verify(); err != nil {
			return err
		}
	}
	return s.do(func(c *change) error {
		log := c.tx.Bucket(logsBucket).Bucket(production[:])
		if log == nil {
			return logbook.ErrNoProduction
		}
		bucket, err := log.CreateBucketIfNotExists(asideBucket)
		if err != nil {
			return err
		}
		for _, row := range rows {
			key := asideKey(row.Key())
			if known, err := decodeAside(key, bucket.Get(key)); err == nil && known.Verify() == nil {
				row.Entry = known.Entry
			}
			if err := bucket.Put(key, encodeAside(row)); err != nil {
				return err
			}
		}
		return nil
	})
}

// DropAside implements logbook.Store.
func (s *Store) DropAside(production logbook.ID, keys []logbook.AsideKey) error {
	if err := s.lookUp(production, func(*index) {}); err != nil {
		return err
	}
	return s.do(func(c *change) error {
		log := c.tx.Bucket(logsBucket).Bucket(production[:])
		if log == nil {
			return logbook.ErrNoProduction
		}
		bucket := log.Bucket(asideBucket)
		if bucket == nil {
			return nil
		}
		for _, k := range keys {
			if err := bucket.Delete(asideKey(k)); err != nil {
				return err
			}
		}
		return nil
	})
}

// Asides implements logbook.Store. A row that was damaged is left out: the device that
// brought it offers it again, and mends it.
func (s *Store) Asides(production logbook.ID) (rows []logbook.Aside, err error) {
	err = s.viewLog(production, func(log *bbolt.Bucket) error {
		rows = nil
		return eachAside(log, func(a logbook.Aside, damaged error) {
			if damaged == nil {
				rows = append(rows, a)
			}
		})
	})
	return rows, err
}

// eachAside hands out every row, with what is wrong with it.
func eachAside(log *bbolt.Bucket, do func(a logbook.Aside, damaged error)) error {
	bucket := log.Bucket(asideBucket)
	if bucket == nil {
		return nil
	}
	return bucket.ForEach(func(key, value []byte) error {
		a, err := decodeAside(key, value)
		if err == nil {
			err = a.Verify()
		}
		do(a, err)
		return nil
	})
}
