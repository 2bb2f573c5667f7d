package bolt

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"sync"
	"syscall"
	"time"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
	bolterrors "go.etcd.io/bbolt/errors"
)

// ErrInUse is wrapped where another process holds the file.
var ErrInUse = errors.New("another process has the file open")

// Store keeps logs in one bbolt file. It implements logbook.Store.
type Store struct {
	db    *bbolt.DB
	path  string
	queue queue
	begun sync.WaitGroup

	mu     sync.RWMutex
	logs   map[logbook.ID]*index
	closed bool
	broken error // why nothing more is written; changed by the one that commits alone
	full   bool  // the last commit found no room

	locked bool // bbolt panicked and may hold its lock; of the one that commits
}

var _ logbook.Store = (*Store)(nil)

// options are bbolt's settings: the list of free pages is rebuilt at open instead
// of written at each commit, and the map is large enough not to be made again
// while phones push.
func options(readOnly bool) *bbolt.Options {
	o := &bbolt.Options{Timeout: time.Second, NoFreelistSync: true, FreelistType: bbolt.FreelistMapType, ReadOnly: readOnly}
	if strconv.IntSize == 64 && !readOnly {
		o.InitialMmapSize = 1 << 30
	}
	return o
}

// Open opens the store in a file, making it where there is none. It never writes
// over a file that it cannot read: such a file is logbook.ErrDamaged, one of a
// newer version ErrLayout, and one that another process has open ErrInUse.
func Open(path string) (*Store, error) {
	db, err := openStore(path)
	if err != nil {
		return nil, err
	}
	s := &Store{db: db, path: path, logs: map[logbook.ID]*index{}}
	if err := s.prepare(); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return s, nil
}

// openStore opens a file for writing after all its pages were read. Compact may
// put another file under the name while this process waits for the old one's
// lock, so that the name is looked up again once the lock is held.
func openStore(path string) (*bbolt.DB, error) {
	if _, err := os.Stat(path); errors.Is(err, os.ErrNotExist) {
		if err := create(path); err != nil {
			return nil, err
		}
	}
	for {
		before, err := os.Stat(path)
		if err != nil {
			return nil, err
		}
		whole, _, err := openWhole(path)
		if err != nil {
			return nil, err
		}
		if err := whole.Close(); err != nil {
			return nil, err
		}
		db, err := openBare(path, false)
		if err != nil {
			return nil, err
		}
		after, err := os.Stat(path)
		if err == nil && os.SameFile(before, after) {
			return db, nil
		}
		if err := errors.Join(err, db.Close()); err != nil {
			return nil, err
		}
	}
}

// create makes an empty store. It gets its name when it is whole: a process that
// is killed here, or a full disk, leaves no half of a store under the name.
func create(path string) error {
	f, err := os.CreateTemp(filepath.Dir(path), unfinished+"*")
	if err != nil {
		return fullError(err)
	}
	defer os.Remove(f.Name())
	if err := f.Close(); err != nil {
		return err
	}
	db, err := openBare(f.Name(), false)
	if err != nil {
		return err
	}
	err = migrate(db, layout, migrations)
	if err := errors.Join(err, db.Close()); err != nil {
		return fullError(err)
	}
	if err := name(f.Name(), path); err != nil && !errors.Is(err, os.ErrExist) {
		return err
	}
	return syncFolder(filepath.Dir(path)) // else power loss takes the name, and the store with it
}

// openWhole opens a file for reading after all its pages were read. torn: see
// verifyPages.
func openWhole(path string) (db *bbolt.DB, torn bool, err error) {
	if info, err := os.Stat(path); err != nil {
		return nil, false, err
	} else if info.Size() == 0 {
		return nil, false, damaged(path, "it is empty")
	}
	if db, err = openBare(path, true); err != nil { // which also keeps writers away
		return nil, false, err
	}
	if torn, err = verifyPages(path); err != nil {
		return nil, torn, errors.Join(damaged(path, err), db.Close())
	}
	return db, torn, nil
}

// openBare turns what bbolt says, and its panics, into errors that say what to do.
func openBare(path string, readOnly bool) (db *bbolt.DB, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = damaged(path, fault)
		}
	}()
	db, err = bbolt.Open(path, 0o600, options(readOnly))
	var system syscall.Errno
	switch err = fullError(err); {
	case err == nil:
		return db, nil
	case errors.Is(err, bolterrors.ErrTimeout):
		return nil, fmt.Errorf("%s: %w: stop it first; two processes cannot share one data folder", path, ErrInUse)
	case errors.Is(err, logbook.ErrFull) || errors.As(err, &system):
		return nil, err
	}
	return nil, damaged(path, err) // what bbolt says of a file's content
}

// prepare brings the layout up to date and makes the indexes.
func (s *Store) prepare() (err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = damaged(s.path, fault)
		}
	}()
	if err := migrate(s.db, layout, migrations); err != nil {
		return fmt.Errorf("%s: %w", s.path, fullError(err))
	}
	err = s.db.View(func(tx *bbolt.Tx) error {
		logs := tx.Bucket(logsBucket)
		return logs.ForEachBucket(func(name []byte) error {
			if len(name) == len(logbook.ID{}) { // another name is damaged: the check lists it
				s.logs[logbook.ID(name)] = readIndex(name, logs.Bucket(name))
			}
			return nil
		})
	})
	if err != nil {
		return damaged(s.path, err)
	}
	return nil
}

// Close implements logbook.Store.
func (s *Store) Close() error {
	s.mu.Lock()
	if s.closed {
		s.mu.Unlock()
		return logbook.ErrClosed
	}
	s.closed = true
	s.mu.Unlock()
	s.begun.Wait()
	if s.locked {
		return s.broken
	}
	return s.db.Close()
}

// Changes is a number that rises with every commit to the file.
func (s *Store) Changes() (n uint64, err error) {
	err = s.view(func(tx *bbolt.Tx) error { n = uint64(tx.ID()); return nil })
	return n, err
}

// Writable is nil, or an error that wraps logbook.ErrBroken once nothing more is
// written.
func (s *Store) Writable() error {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return s.broken
}

// Full reports whether the last change found no room on the disk.
func (s *Store) Full() bool {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return s.full
}

// enter notes a running call, unless the store is closed.
func (s *Store) enter() error {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if s.closed {
		return logbook.ErrClosed
	}
	s.begun.Add(1)
	return nil
}

// view runs f in a transaction that ends before view returns. A page that was
// damaged since Open makes bbolt panic, or the memory that it is mapped to fault:
// that ends the call, not the process.
func (s *Store) view(f func(*bbolt.Tx) error) (err error) {
	if err := s.enter(); err != nil {
		return err
	}
	defer s.begun.Done()
	defer debug.SetPanicOnFault(debug.SetPanicOnFault(true))
	defer func() {
		if fault := recover(); fault != nil {
			err = damaged(s.path, fault)
		}
	}()
	return s.db.View(f)
}

// viewLog runs f on one production's bucket.
func (s *Store) viewLog(production logbook.ID, f func(*bbolt.Bucket) error) error {
	return s.view(func(tx *bbolt.Tx) error {
		log := tx.Bucket(logsBucket).Bucket(production[:])
		if log == nil {
			return logbook.ErrNoProduction
		}
		return f(log)
	})
}
