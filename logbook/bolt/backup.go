package bolt

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
)

// Backup writes the whole store, as it is at this moment, into a new file beside
// which nothing else is left, and checks what was written before it gets its
// name. The store stays open and in use.
func (s *Store) Backup(path string) error {
	return writeFile(path, func(to io.Writer) error {
		return s.view(func(tx *bbolt.Tx) error {
			_, err := tx.WriteTo(to)
			return err
		})
	})
}

// Restore puts a backup into a new store file. It refuses a backup that does not
// pass the check, and a place where something is already.
func Restore(backup, into string) error {
	report, err := Check(backup)
	if err != nil {
		return err
	}
	if len(report.Problems) > 0 {
		return fmt.Errorf("%s: %w: %s", backup, logbook.ErrDamaged, report.Problems[0])
	}
	return writeFile(into, func(to io.Writer) error {
		from, err := os.Open(backup)
		if err != nil {
			return err
		}
		_, err = io.Copy(to, from)
		return errors.Join(err, from.Close())
	})
}

// writeFile writes a store file under a name that is free, durably and all or
// nothing.
func writeFile(path string, write func(io.Writer) error) error {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("%s: %w: choose another name", path, os.ErrExist)
	}
	folder := filepath.Dir(path)
	f, err := os.CreateTemp(folder, ".evenwhite-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	if err := errors.Join(write(f), f.Sync(), f.Close()); err != nil {
		return fullError(err)
	}
	report, err := Check(f.Name())
	if err != nil {
		return err
	}
	if len(report.Problems) > 0 {
		return fmt.Errorf("%s: %w as it was written: %s", path, logbook.ErrDamaged, report.Problems[0])
	}
	// A link, unlike a rename, never replaces a file that came in between.
	if err := os.Link(f.Name(), path); err != nil {
		return err
	}
	return syncFolder(folder)
}
