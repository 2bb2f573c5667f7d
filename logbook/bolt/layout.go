package bolt

import (
	"encoding/binary"
	"errors"
	"fmt"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
)

var (
	metaBucket    = []byte("meta")
	keptBucket    = []byte("kept")
	logsBucket    = []byte("logs")
	editsBucket   = []byte("edits")
	dotsBucket    = []byte("dots")
	clashesBucket = []byte("clashes")
	layoutKey     = []byte("layout")
	identityKey   = []byte("identity")
)

// layout is the number of the layout that this version writes.
const layout = 1

// ErrLayout is wrapped by errors about a file of another layout.
var ErrLayout = errors.New("the file has another layout")

// migrations[n] turns layout n into n+1, inside one transaction.
var migrations = map[uint64]func(*bbolt.Tx) error{
	0: func(tx *bbolt.Tx) error { // an empty file
		for _, name := range [][]byte{metaBucket, keptBucket, logsBucket} {
			if _, err := tx.CreateBucketIfNotExists(name); err != nil {
				return err
			}
		}
		return nil
	},
}

// migrate brings a file to the layout of this version.
func migrate(db *bbolt.DB, to uint64, steps map[uint64]func(*bbolt.Tx) error) error {
	return db.Update(func(tx *bbolt.Tx) error {
		at, err := layoutOf(tx)
		if err != nil {
			return err
		}
		if at > to {
			return fmt.Errorf("%w: it has layout %d, this version knows up to %d: use the version that wrote it, or a newer one", ErrLayout, at, to)
		}
		if at == to {
			return nil
		}
		for ; at < to; at++ {
			step, ok := steps[at]
			if !ok {
				return fmt.Errorf("%w: nothing leads from layout %d to %d", ErrLayout, at, at+1)
			}
			if err := step(tx); err != nil {
				return fmt.Errorf("bringing the file from layout %d to %d: %w", at, at+1, err)
			}
		}
		return tx.Bucket(metaBucket).Put(layoutKey, number(to))
	})
}

func layoutOf(tx *bbolt.Tx) (uint64, error) {
	meta := tx.Bucket(metaBucket)
	if meta == nil {
		if name, _ := tx.Cursor().First(); name != nil {
			return 0, fmt.Errorf("%w: it is a bbolt file of another program", ErrLayout)
		}
		return 0, nil
	}
	value := meta.Get(layoutKey)
	if len(value) != 8 {
		return 0, fmt.Errorf("%w: it does not say which", ErrLayout)
	}
	return binary.BigEndian.Uint64(value), nil
}

func number(n uint64) []byte { return binary.BigEndian.AppendUint64(nil, n) }

func dotKey(d logbook.Dot) []byte {
	return binary.BigEndian.AppendUint64(append(make([]byte, 0, 16), d.Line[:]...), d.N)
}

func dotOf(key []byte) logbook.Dot {
	return logbook.Dot{Line: logbook.Line(key[:8]), N: binary.BigEndian.Uint64(key[8:16])}
}

// editHead is the length of what stands before an edit's bytes.
const editHead = 8 + 16 + 16 + 8

func encodeStored(e logbook.Entry, chain logbook.Chain) []byte {
	b := make([]byte, 0, editHead+len(e.Bytes))
	b = binary.BigEndian.AppendUint64(b, uint64(e.Received))
	b = append(b, e.Via[:]...)
	b = append(b, e.Hash[:]...)
	b = append(b, chain[:]...)
	return append(b, e.Bytes...)
}

// decodeStored copies an edit out of its value. The dot is found in its bytes.
func decodeStored(key, value []byte) (logbook.Stored, error) {
	if len(key) != 8 || len(value) < editHead {
		return logbook.Stored{}, fmt.Errorf("%w: an edit's row is too short", logbook.ErrDamaged)
	}
	s := logbook.Stored{Seq: logbook.Seq(binary.BigEndian.Uint64(key))}
	s.Received = logbook.Millis(binary.BigEndian.Uint64(value))
	copy(s.Via[:], value[8:])
	copy(s.Hash[:], value[24:])
	copy(s.Chain[:], value[40:])
	s.Bytes = append([]byte(nil), value[editHead:]...)
	dot, err := logbook.DotOf(s.Bytes)
	if err != nil {
		return logbook.Stored{}, fmt.Errorf("edit at sequence %d: %w", s.Seq, err)
	}
	s.Dot = dot
	return s, nil
}

func encodeClash(e logbook.Entry) []byte {
	b := dotKey(e.Dot)
	b = binary.BigEndian.AppendUint64(b, uint64(e.Received))
	b = append(b, e.Via[:]...)
	b = append(b, e.Hash[:]...)
	return append(b, e.Bytes...)
}

func decodeClash(value []byte) (logbook.Entry, error) {
	const head = 16 + 8 + 16 + 16
	if len(value) < head {
		return logbook.Entry{}, fmt.Errorf("%w: a clash's row is too short", logbook.ErrDamaged)
	}
	e := logbook.Entry{Dot: dotOf(value), Received: logbook.Millis(binary.BigEndian.Uint64(value[16:]))}
	copy(e.Via[:], value[24:])
	copy(e.Hash[:], value[40:])
	e.Bytes = append([]byte(nil), value[head:]...)
	return e, nil
}
