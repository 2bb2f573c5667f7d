// Package yardstick is a bare bbolt file: what the figures of stores and servers
// are held against on the machine where they were measured.
package yardstick

import (
	"encoding/binary"
	"time"

	"go.etcd.io/bbolt"
)

// A File is a bbolt file with one bucket to which values are added.
type File struct {
	db *bbolt.DB
	n  uint64
}

// Open makes a file, with the settings of the store that is measured.
func Open(path string) (*File, error) {
	db, err := bbolt.Open(path, 0o600, &bbolt.Options{
		Timeout: time.Second, NoFreelistSync: true, FreelistType: bbolt.FreelistMapType, InitialMmapSize: 1 << 30,
	})
	return &File{db: db}, err
}

// Close closes the file.
func (f *File) Close() error { return f.db.Close() }

// Put adds values in one transaction and returns when it is durable.
func (f *File) Put(values ...[]byte) error {
	return f.db.Update(func(tx *bbolt.Tx) error {
		bucket, err := tx.CreateBucketIfNotExists([]byte("edits"))
		if err != nil {
			return err
		}
		for _, value := range values {
			f.n++
			if err := bucket.Put(binary.BigEndian.AppendUint64(nil, f.n), value); err != nil {
				return err
			}
		}
		return nil
	})
}
