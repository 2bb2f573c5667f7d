package bolt

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
)

// Backup writes the whole store, as it is at this moment, into a new file, and
// checks what was written before it gets its name. The store stays open and in
// use. The folder should be on a fast disk: while the copy is written, the pages
// that it reads cannot be used again and the store grows. A backup can be copied
// on to a slow disk by Restore.
func (s *Store) Backup(path string) error {
	return writeFile(path, func(to *os.File) error {
		return s.view(func(tx *bbolt.Tx) error {
			_, err := tx.WriteTo(to)
			return err
		})
	}, s.explains)
}

// explains is an error unless everything that is damaged in a copy is so in the store.
func (s *Store) explains(copied Report) error {
	for _, d := range copied.Damaged {
		known := func() bool {
			x := s.index(d.Production)
			if x == nil {
				return false
			}
			_, lost := x.lost[d.Seq]
			return lost || slices.Contains(x.other, d.Damage)
		}
		if !known() && d.Seq > 0 { // a row that nobody has read since it was damaged
			_, _ = s.Read(d.Production, d.Seq-1, 1)
		}
		if !known() {
			return fmt.Errorf("%w: %s", logbook.ErrDamaged, d)
		}
	}
	return nil
}

// Restore puts a backup into a new store file. It refuses a backup that does not
// pass the check, and a place where something is already.
func Restore(backup, into string) error {
	was, err := passes(backup)
	if err != nil {
		return err
	}
	return writeFile(into, func(to *os.File) error {
		from, err := os.Open(backup)
		if err != nil {
			return err
		}
		_, err = io.Copy(to, from)
		return errors.Join(err, from.Close())
	}, func(copied Report) error { return sameDamage(was, copied) })
}

// sameDamage is an error unless a copy is damaged where the file was, and only there.
func sameDamage(was, copied Report) error {
	if !slices.Equal(was.Damaged, copied.Damaged) {
		return fmt.Errorf("%w: it is not what was copied", logbook.ErrDamaged)
	}
	return nil
}

// passes is an error unless a file can be served, without some rows perhaps.
func passes(path string) (Report, error) {
	report, err := Check(path)
	if err == nil && len(report.Problems) > 0 {
		err = fmt.Errorf("%s: %w: %s", path, logbook.ErrDamaged, strings.Join(report.Problems, "; "))
	}
	return report, err
}

// unfinished is how files begin that have not got their names yet.
const unfinished = ".evenwhite-"

// Unfinished reports whether a name is that of a file that a process writes, or left
// when it was killed.
func Unfinished(name string) bool { return strings.HasPrefix(name, unfinished) }

// writeFile writes a store file under a name that is free, durably and all or
// nothing. right says whether a check of what was written found what it may find.
func writeFile(path string, write func(*os.File) error, right func(Report) error) error {
	if err := mustBeFree(path); err != nil {
		return err
	}
	folder := filepath.Dir(path)
	f, err := os.CreateTemp(folder, unfinished+"*")
	if err != nil {
		return fullError(err)
	}
	defer os.Remove(f.Name())
	if err := errors.Join(write(f), f.Sync(), f.Close()); err != nil {
		return fullError(err)
	}
	report, err := passes(f.Name())
	if err == nil {
		err = right(report)
	}
	if err != nil {
		return fmt.Errorf("%s, as it was written: %w", path, err)
	}
	if err := name(f.Name(), path); err != nil {
		return err
	}
	return syncFolder(folder)
}

// name gives a finished file its name. A link, unlike a rename, never replaces a
// file that came in between; memory cards have file systems without links.
func name(file, path string) error {
	err := os.Link(file, path)
	if err == nil || errors.Is(err, os.ErrExist) {
		return err
	}
	if err := mustBeFree(path); err != nil {
		return err
	}
	return os.Rename(file, path)
}

func mustBeFree(path string) error {
	_, err := os.Lstat(path)
	if err == nil {
		return fmt.Errorf("%s: %w: choose another name", path, os.ErrExist)
	}
	if !errors.Is(err, os.ErrNotExist) {
		return err
	}
	return nil
}

// syncFolder makes a new name in a folder durable, where its file system can: some
// shares and cards answer that a folder cannot be synced.
func syncFolder(folder string) error {
	f, err := os.Open(folder)
	if err != nil {
		return err
	}
	if err = f.Sync(); errors.Is(err, syscall.EINVAL) || errors.Is(err, errors.ErrUnsupported) {
		err = nil
	}
	return errors.Join(err, f.Close())
}
