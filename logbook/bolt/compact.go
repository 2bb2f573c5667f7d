package bolt

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
)

// compactBytes is how much Compact writes in one transaction.
const compactBytes = 1 << 20

// Compact writes a store file that no process has open anew, without the pages
// that are free in it, and puts it in the place of the old one once it is whole
// and holds the same. It returns the file's size before and after. Room for both
// is needed meanwhile. Where anything fails the old file stays.
func Compact(path string) (before, after int64, err error) {
	from, _, err := openWhole(path) // which keeps writers away until the end
	if err != nil {
		return 0, 0, err
	}
	defer func() { err = errors.Join(err, from.Close()) }()
	was, err := passes(path)
	if err != nil {
		return 0, 0, err
	}
	old, err := os.Stat(path)
	if err != nil {
		return 0, 0, err
	}
	f, err := os.CreateTemp(filepath.Dir(path), unfinished+"*")
	if err != nil {
		return 0, 0, fullError(err)
	}
	defer os.Remove(f.Name())
	defer f.Close()
	if after, err = compactInto(f, from); err != nil {
		return 0, 0, fullError(err)
	}
	if err := holdsSame(f.Name(), from, was); err != nil {
		return 0, 0, err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return 0, 0, err
	}
	return old.Size(), after, syncFolder(filepath.Dir(path))
}

// compactInto writes into an empty file what another holds, and cuts off what
// bbolt keeps ahead.
func compactInto(f *os.File, from *bbolt.DB) (size int64, err error) {
	o := options(false)
	o.InitialMmapSize = 0
	to, err := bbolt.Open(f.Name(), 0o600, o)
	if err != nil {
		return 0, err
	}
	err = bbolt.Compact(to, from, compactBytes)
	if err == nil {
		err = to.View(func(tx *bbolt.Tx) error { size = tx.Size(); return nil })
	}
	if err := errors.Join(err, to.Close()); err != nil {
		return 0, err
	}
	return size, errors.Join(f.Truncate(size), f.Sync())
}

// holdsSame is an error unless a file passes the check and has the same buckets,
// keys and values as another.
func holdsSame(path string, as *bbolt.DB, was Report) (err error) {
	report, err := passes(path)
	if err == nil {
		err = sameDamage(was, report)
	}
	if err != nil {
		return err
	}
	db, _, err := openWhole(path)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	return db.View(func(tx *bbolt.Tx) error {
		return as.View(func(other *bbolt.Tx) error {
			if !same(tx.Cursor(), other.Cursor(), tx.Bucket, other.Bucket) {
				return fmt.Errorf("%s: %w: what was written anew is not the same", path, logbook.ErrDamaged)
			}
			return nil
		})
	})
}

func same(a, b *bbolt.Cursor, inA, inB func([]byte) *bbolt.Bucket) bool {
	keyA, valueA := a.First()
	keyB, valueB := b.First()
	for keyA != nil && bytes.Equal(keyA, keyB) && bytes.Equal(valueA, valueB) && (valueA == nil) == (valueB == nil) {
		if valueA == nil {
			x, y := inA(keyA), inB(keyB)
			if x.Sequence() != y.Sequence() || !same(x.Cursor(), y.Cursor(), x.Bucket, y.Bucket) {
				return false
			}
		}
		keyA, valueA = a.Next()
		keyB, valueB = b.Next()
	}
	return keyA == nil && keyB == nil
}
