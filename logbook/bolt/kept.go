package bolt

import (
	"errors"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
)

// KeptIn reads the server's own small values out of a store file that no process has
// open, and changes nothing.
func KeptIn(path string) (values []logbook.KeptValue, err error) {
	db, _, err := openWhole(path)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	err = db.View(func(tx *bbolt.Tx) error {
		kept := tx.Bucket(keptBucket)
		if kept == nil {
			return nil
		}
		return kept.ForEach(func(name, value []byte) error {
			values = append(values, logbook.KeptValue{Name: string(name), Value: append([]byte{}, value...)})
			return nil
		})
	})
	return values, err
}
