package bolt

import (
	"bytes"
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
	dotsBucket    = []byte("dots") // of layout 1
	clashesBucket = []byte("clashes")
	layoutKey     = []byte("layout")
	identityKey   = []byte("identity")
)

// layout is the number of the layout that this version writes; oldest, of the
// oldest one whose edits and clashes it reads without a migration.
const (
	layout = 2
	oldest = 1
)

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
	1: func(tx *bbolt.Tx) error { // the index from dots to sequences
		logs := tx.Bucket(logsBucket)
		return logs.ForEachBucket(func(name []byte) error {
			return logs.Bucket(name).DeleteBucket(dotsBucket)
		})
	},
}

// migrate brings a file to the layout of this version. A file that has it is not
// written: a full disk does not keep a store from opening.
func migrate(db *bbolt.DB, to uint64, steps map[uint64]func(*bbolt.Tx) error) error {
	var at uint64
	err := db.View(func(tx *bbolt.Tx) (err error) {
		at, err = layoutOf(tx)
		return err
	})
	if err != nil || at == to {
		return err
	}
	if at > to {
		return fmt.Errorf("%w: it has layout %d, this version knows up to %d: use the version that wrote it, or a newer one", ErrLayout, at, to)
	}
	return db.Update(func(tx *bbolt.Tx) error {
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

// A row is an edit's value taken apart; nothing in it is a copy.
type row struct {
	received logbook.Millis
	via      []byte
	hash     []byte
	chain    []byte
	bytes    []byte
}

// viaFollows says that the device that brought an edit is not in its bytes.
const viaFollows = 0xff

// encodeStored makes a row. The device that brought an edit is nearly always its
// author and stands in its bytes: the row says where.
func encodeStored(e logbook.Entry, chain logbook.Chain) []byte {
	b := make([]byte, 0, 1+8+16+8+16+len(e.Bytes))
	at := bytes.Index(e.Bytes, e.Via[:])
	if at < 1 || at >= viaFollows {
		at = viaFollows
	}
	b = append(b, byte(at))
	b = binary.BigEndian.AppendUint64(b, uint64(e.Received))
	b = append(append(b, e.Hash[:]...), chain[:]...)
	if at == viaFollows {
		b = append(b, e.Via[:]...)
	}
	return append(b, e.Bytes...)
}

// rowOf takes an edit's value apart. A row of layout 1 begins with 0, for its
// time, in eight bytes, stood first.
func rowOf(value []byte) (r row, err error) {
	rest, short := value, false
	take := func(n int) []byte {
		if len(rest) < n {
			short = true
			return make([]byte, n)
		}
		part := rest[:n]
		rest = rest[n:]
		return part
	}
	if len(value) > 0 && value[0] == 0 {
		r.received = logbook.Millis(binary.BigEndian.Uint64(take(8)))
		r.via, r.hash, r.chain, r.bytes = take(16), take(16), take(8), rest
	} else {
		at := int(take(1)[0])
		r.received = logbook.Millis(binary.BigEndian.Uint64(take(8)))
		r.hash, r.chain = take(16), take(8)
		if at == viaFollows {
			r.via = take(16)
		}
		if r.bytes = rest; r.via == nil && len(rest) >= at+16 {
			r.via = rest[at : at+16]
		}
	}
	if short || r.via == nil {
		return row{}, fmt.Errorf("%w: an edit's row is missing or too short", logbook.ErrDamaged)
	}
	return r, nil
}

// wholeRow takes an edit's value apart, unless its bytes are not those that were
// stored.
func wholeRow(value []byte) (row, error) {
	r, err := rowOf(value)
	if err == nil && logbook.HashOf(r.bytes) != logbook.Hash(r.hash) {
		err = fmt.Errorf("%w: its bytes do not give its hash", logbook.ErrDamaged)
	}
	return r, err
}

// gone is the length of a row that was damaged and whose edit stands elsewhere:
// viaFollows, the chain as it was read there, and the sequence of the edit now.
const gone = 1 + 8 + 8

func encodeGone(chain logbook.Chain, now logbook.Seq) []byte {
	return binary.BigEndian.AppendUint64(append([]byte{viaFollows}, chain[:]...), uint64(now))
}

func isGone(value []byte) bool { return len(value) == gone && value[0] == viaFollows }

// chainOf is the chain at a row. Where it cannot be read it is zero, always, so that
// a cursor that stands there goes on.
func chainOf(value []byte) (chain logbook.Chain) {
	if isGone(value) {
		copy(chain[:], value[1:])
	} else if r, err := rowOf(value); err == nil {
		copy(chain[:], r.chain)
	}
	return chain
}

// decodeStored copies an edit out of its row.
func decodeStored(key, value []byte) (s logbook.Stored, err error) {
	r, err := rowOf(value)
	if err != nil || len(key) != 8 {
		return logbook.Stored{}, errors.Join(err, fmt.Errorf("%w: at key %x", logbook.ErrDamaged, key))
	}
	s.Seq = logbook.Seq(binary.BigEndian.Uint64(key))
	if s.Dot, err = logbook.DotOf(r.bytes); err != nil {
		return logbook.Stored{}, fmt.Errorf("%w: sequence %d: %w", logbook.ErrDamaged, s.Seq, err)
	}
	s.Received, s.Via, s.Hash, s.Chain = r.received, logbook.ID(r.via), logbook.Hash(r.hash), logbook.Chain(r.chain)
	s.Bytes = append([]byte(nil), r.bytes...)
	return s, nil
}

// clashHead is the length of what stands before the bytes of a clash.
const clashHead = 16 + 8 + 16 + 16

func encodeClash(e logbook.Entry) []byte {
	b := make([]byte, 0, clashHead+len(e.Bytes))
	b = binary.BigEndian.AppendUint64(append(b, e.Dot.Line[:]...), e.Dot.N)
	b = binary.BigEndian.AppendUint64(b, uint64(e.Received))
	b = append(b, e.Via[:]...)
	b = append(b, e.Hash[:]...)
	return append(b, e.Bytes...)
}

func decodeClash(value []byte) (logbook.Entry, error) {
	if len(value) < clashHead {
		return logbook.Entry{}, fmt.Errorf("%w: a clash's row is too short", logbook.ErrDamaged)
	}
	e := logbook.Entry{Received: logbook.Millis(binary.BigEndian.Uint64(value[16:]))}
	copy(e.Dot.Line[:], value)
	e.Dot.N = binary.BigEndian.Uint64(value[8:])
	copy(e.Via[:], value[24:])
	copy(e.Hash[:], value[40:])
	e.Bytes = append([]byte(nil), value[clashHead:]...)
	return e, nil
}
