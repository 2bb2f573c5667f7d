package bolt

import (
	"errors"
	"fmt"
	"os"
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
	work  chan *request
	done  chan struct{} // the writer has ended
	begun sync.WaitGroup

	mu     sync.RWMutex
	ranges map[logbook.ID]logbook.Ranges
	closed bool
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
// over a file that it cannot read.
func Open(path string) (*Store, error) {
	db, err := openFile(path, false)
	if err != nil {
		return nil, err
	}
	s := &Store{db: db, work: make(chan *request, 256), done: make(chan struct{}), ranges: map[logbook.ID]logbook.Ranges{}}
	if err := s.prepare(); err != nil {
		return nil, errors.Join(fmt.Errorf("%s: %w", path, err), db.Close())
	}
	go s.write()
	return s, nil
}

// openFile opens a file whose pages can all be read.
func openFile(path string, readOnly bool) (*bbolt.DB, error) {
	if err := probe(path); err != nil {
		return nil, err
	}
	return openBare(path, readOnly)
}

// openBare turns what bbolt says, and its panics, into errors that say what to do.
func openBare(path string, readOnly bool) (db *bbolt.DB, err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = damaged(path, fault)
		}
	}()
	db, err = bbolt.Open(path, 0o600, options(readOnly))
	switch {
	case err == nil:
		return db, nil
	case errors.Is(err, bolterrors.ErrTimeout):
		return nil, fmt.Errorf("%s: %w: stop it first; two processes cannot share one data folder", path, ErrInUse)
	case errors.Is(err, bolterrors.ErrInvalid), errors.Is(err, bolterrors.ErrChecksum), errors.Is(err, bolterrors.ErrVersionMismatch):
		return nil, damaged(path, err)
	case errors.Is(err, syscall.ENOSPC):
		return nil, fmt.Errorf("%s: %w", path, logbook.ErrFull)
	}
	return nil, err
}

func damaged(path string, fault any) error {
	return fmt.Errorf("%s: %w (%v): it was left as it is; keep it, restore the latest backup into another folder, and let the phones bring what came after", path, logbook.ErrDamaged, fault)
}

// prepare brings the layout up to date and reads which edits are held.
func (s *Store) prepare() (err error) {
	defer func() {
		if fault := recover(); fault != nil {
			err = fmt.Errorf("%w: %v", logbook.ErrDamaged, fault)
		}
	}()
	if err := migrate(s.db, layout, migrations); err != nil {
		return err
	}
	return s.db.View(func(tx *bbolt.Tx) error {
		logs := tx.Bucket(logsBucket)
		return logs.ForEachBucket(func(name []byte) error {
			held := logbook.Ranges{}
			err := logs.Bucket(name).Bucket(dotsBucket).ForEach(func(key, _ []byte) error {
				held.Add(dotOf(key))
				return nil
			})
			s.ranges[logbook.ID(name)] = held
			return err
		})
	})
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
	close(s.work)
	<-s.done
	return s.db.Close()
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

// view runs f in a transaction that ends before view returns.
func (s *Store) view(f func(*bbolt.Tx) error) error {
	if err := s.enter(); err != nil {
		return err
	}
	defer s.begun.Done()
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

// syncFolder makes a new name in a folder durable.
func syncFolder(folder string) error {
	f, err := os.Open(folder)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}
