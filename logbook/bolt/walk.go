package bolt

import (
	"bytes"
	"fmt"
	"os"
	"runtime/debug"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
)

// probe reads a file page by page before bbolt does more with it. bbolt rebuilds
// its list of free pages in goroutines of its own, at opening and at checking;
// a damaged page makes those panic, which nobody can recover from. Here a page
// that is missing, empty or in the wrong place is an error. Damage inside a page
// that leaves keys and values readable can still end the process there; the file
// is not written then either.
func probe(path string) (err error) {
	info, err := os.Stat(path)
	if os.IsNotExist(err) || err == nil && info.Size() == 0 {
		return nil // bbolt makes a new store of it
	}
	if err != nil {
		return err
	}
	db, err := openBare(path, true)
	if err != nil {
		return err
	}
	defer db.Close()
	return walk(db, path)
}

// walk touches every page that holds a key or a value.
func walk(db *bbolt.DB, path string) (err error) {
	// A page beyond the end of a cut-off file is a memory fault, not a panic.
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if fault := recover(); fault != nil {
			err = damaged(path, fault)
		}
	}()
	w := walker{roots: map[uint64]bool{}}
	err = db.View(func(tx *bbolt.Tx) error {
		return tx.ForEach(func(_ []byte, b *bbolt.Bucket) error { return w.bucket(b, 0) })
	})
	if err != nil {
		return damaged(path, err)
	}
	return nil
}

type walker struct {
	roots   map[uint64]bool // first pages of buckets: none may be met twice
	touched byte
}

// bucket touches all keys and values. Keys that do not rise, buckets that stand
// in each other and buckets deeper than the layout has them would send bbolt's
// own walk in circles.
func (w *walker) bucket(b *bbolt.Bucket, depth int) error {
	root := uint64(b.Root())
	if depth > 2 || root != 0 && w.roots[root] {
		return fmt.Errorf("%w: buckets stand in each other", logbook.ErrDamaged)
	}
	w.roots[root] = true
	var last []byte
	return b.ForEach(func(key, value []byte) error {
		if last != nil && bytes.Compare(last, key) >= 0 {
			return fmt.Errorf("%w: keys stand out of order", logbook.ErrDamaged)
		}
		last = append(last[:0], key...)
		if value == nil {
			inner := b.Bucket(key)
			if inner == nil {
				return fmt.Errorf("%w: a bucket is missing", logbook.ErrDamaged)
			}
			return w.bucket(inner, depth+1)
		}
		if n := len(value); n > 0 {
			w.touched ^= value[0] ^ value[n-1]
		}
		return nil
	})
}
