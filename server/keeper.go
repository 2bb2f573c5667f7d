package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/server/command"
)

// backupsName is the folder of automatic backups within a data folder.
const backupsName = "backups"

// A keeper backs the data up on a schedule.
type keeper struct {
	store interface {
		copier
		Changes() (uint64, error)
	}
	register *pairing.Register // of who was paired and revoked; nil: none goes with the backups

	making sync.Mutex // one backup at a time
	log    *slog.Logger
	now    func() time.Time
	every  time.Duration
	retry  time.Duration // after the next failure; doubled at each
	data   string
	own    *shelf
	other  *shelf // nil: no second folder

	readings readings // of backups that were read back since
}

// A shelf is a folder with backups.
type shelf struct {
	name, path string
	last       string // the last backup that was made by this process
	changes    uint64 // what of the store it holds
	elsewhere  bool   // it was seen on another disk than the data

	mu    sync.Mutex
	since time.Time // when backups began to fail; zero while they do not
}

func newKeeper(store servedStore, log *slog.Logger, o serveOptions) (*keeper, error) {
	k := &keeper{store: store, log: log, now: time.Now, every: o.backupEvery, data: o.folder,
		own: &shelf{name: "the backups folder", path: filepath.Join(o.folder, backupsName)}}
	if err := os.MkdirAll(k.own.path, 0o700); err != nil {
		return nil, command.Fail(err, "make room for the folder, or start with --backup-every 0")
	}
	if o.backupTo == "" {
		return k, nil
	}
	path, err := filepath.Abs(o.backupTo)
	if err != nil {
		return nil, err
	}
	k.other = &shelf{name: "the second folder", path: path}
	if same, err := onOneDisk(path, k.data); err == nil && same {
		log.Warn("the second folder for backups lies on the same disk as the data: when that disk fails, both are gone", "folder", path)
	}
	return k, nil
}

// folders are where backups go.
func (k *keeper) folders() (all []string) {
	for _, s := range []*shelf{k.own, k.other} {
		if s != nil {
			all = append(all, s.path)
		}
	}
	return all
}

// start makes backups until ctx ends or what it returns is called, which waits for
// the one in hand.
func (k *keeper) start(ctx context.Context) (stop func()) {
	if k == nil {
		return func() {}
	}
	ctx, cancel := context.WithCancel(ctx)
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		due := time.NewTimer(k.untilDue())
		defer due.Stop()
		for {
			select {
			case <-due.C:
				due.Reset(k.pause(k.once()))
				k.readBack()
			case <-ctx.Done():
				return
			}
		}
	}()
	return func() {
		cancel()
		<-ended
	}
}

// untilDue is how long the newest backup of an earlier start will do. One from the
// future does not: who knows what it holds.
func (k *keeper) untilDue() time.Duration {
	now := k.now()
	newest, ok, err := bolt.NewestBackup(k.own.path, now)
	if err != nil || !ok || newest.After(now) {
		return 0
	}
	return max(0, k.every-now.Sub(newest))
}

// firstRetry is how soon a backup that failed is tried again; each further time takes
// twice as long, until the usual time is reached.
const firstRetry = time.Minute

// pause is how long to wait for the next backup.
func (k *keeper) pause(made bool) time.Duration {
	if made {
		k.retry = firstRetry
		return k.every
	}
	wait := min(max(k.retry, firstRetry), k.every)
	k.retry = 2 * wait
	return wait
}

// once makes a backup in each folder, unless it holds what the store holds, and
// reports whether all are made. One that fails does not keep the other from being made.
func (k *keeper) once() (made bool) {
	k.making.Lock()
	defer k.making.Unlock()
	at := k.now()
	for exists(filepath.Join(k.own.path, bolt.BackupName(at))) { // two within a second
		at = at.Add(time.Second)
	}
	changes, err := k.store.Changes()
	if err != nil {
		k.log.Error("no backup could be made: the data cannot be read", "error", err)
		return false
	}
	made = k.shelve(k.own, at, changes, k.store.Backup)
	if k.other == nil {
		return made
	}
	there := k.shelve(k.other, at, changes, func(path string) error {
		if k.own.changes == changes && filepath.Base(k.own.last) == filepath.Base(path) {
			return bolt.Restore(k.own.last, path) // a slow card is not to hold the store's pages
		}
		return k.store.Backup(path)
	})
	return made && there
}

// shelve makes one backup, logs it, and removes those that are no longer due.
func (k *keeper) shelve(s *shelf, at time.Time, changes uint64, write func(path string) error) (made bool) {
	if s.last != "" && s.changes == changes && exists(s.last) && !slices.Contains(k.readings.broken(), filepath.Base(s.last)) {
		k.log.Info("no backup is needed: nothing changed since the last", "folder", s.path, "last", filepath.Base(s.last))
		s.succeeded()
		return true
	}
	path := filepath.Join(s.path, bolt.BackupName(at))
	if err := k.there(s); err != nil {
		k.failed(s, at, err)
		return false
	}
	if k.register != nil { // before: what lies beside a backup tells of all up to it
		if err := k.register.CopyTo(s.path); err != nil {
			k.failed(s, at, err)
			return
		}
	}
	if err := write(path); err != nil {
		k.failed(s, at, err)
		return false
	}
	s.last, s.changes = path, changes
	if lost := k.store.Lost(); lost > 0 {
		k.log.Warn("A BACKUP IS WRITTEN WITHOUT EDITS THAT ARE DAMAGED: everything else is in it", "file", path, "damaged", lost,
			"advice", "let every device exchange; evenwhite check lists what is damaged")
	} else {
		k.log.Info("a backup is written and whole", "file", path)
	}
	if s.succeeded() {
		k.log.Info("backups are made again", "folder", s.path)
	}
	if removed, err := bolt.Rotate(s.path, at); err != nil {
		k.log.Error("old backups could not be removed", "folder", s.path, "error", err)
	} else if len(removed) > 0 {
		k.log.Info("backups that are no longer due were removed", "folder", s.path, "files", removed)
	}
	return true
}

// there is an error unless a backup would lie where it is meant to: under the name of
// a card that was taken out there is often an empty folder on the disk of the data.
func (k *keeper) there(s *shelf) error {
	info, err := os.Stat(s.path)
	if err != nil {
		return err
	}
	if !info.IsDir() {
		return fmt.Errorf("%s is no folder", s.path)
	}
	if s == k.own {
		return nil
	}
	same, err := onOneDisk(s.path, k.data)
	if err != nil {
		return err
	}
	if same && s.elsewhere {
		return fmt.Errorf("%s lies on the disk of the data, where it was on another before: was the card taken out?", s.path)
	}
	s.elsewhere = s.elsewhere || !same
	return nil
}

func (k *keeper) failed(s *shelf, at time.Time, err error) {
	s.mu.Lock()
	if s.since.IsZero() {
		s.since = at
	}
	since := s.since
	s.mu.Unlock()
	advice := "look whether the folder is there and can be written to"
	switch {
	case errors.Is(err, logbook.ErrFull):
		advice = "make room there"
	case errors.Is(err, logbook.ErrDamaged):
		advice = "run evenwhite check: the data or the disk of the backup is damaged"
	}
	k.log.Error("A BACKUP FAILED", "folder", s.path, "since", since.UTC().Format(time.RFC3339), "error", err, "advice", advice)
}

// succeeded ends a time of failing, and reports whether there was one.
func (s *shelf) succeeded() bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	failed := !s.since.IsZero()
	s.since = time.Time{}
	return failed
}

// Warnings say what keeps backups from being made. They are for anybody: they name no path.
func (k *keeper) Warnings() (all []string) {
	if k == nil {
		return nil
	}
	for _, s := range []*shelf{k.own, k.other} {
		if s == nil {
			continue
		}
		s.mu.Lock()
		if !s.since.IsZero() {
			all = append(all, fmt.Sprintf("since %s no backup could be made in %s: the server's log says why",
				s.since.UTC().Format(time.RFC3339), s.name))
		}
		s.mu.Unlock()
	}
	for _, name := range k.readings.broken() {
		all = append(all, fmt.Sprintf("the backup %s is no longer whole: make one now, and look at its disk or card", name))
	}
	return all
}

// describe says where backups go.
func (k *keeper) describe(w io.Writer) {
	if k == nil {
		fmt.Fprintln(w, "It makes no backups by itself.")
		return
	}
	to := k.own.path
	if k.other != nil {
		to += " and " + k.other.path
	}
	fmt.Fprintf(w, "It makes a backup every %s in %s\n", k.every, to)
}

// wayBack says how to go on where a folder's data cannot be used.
func wayBack(folder string) string {
	backups := filepath.Join(folder, backupsName)
	newest, ok, err := bolt.NewestBackup(backups, time.Now())
	if err != nil || !ok {
		return "evenwhite help restore says how to go on from a backup"
	}
	return fmt.Sprintf("To go on from the newest backup, in a folder that is new: evenwhite restore --data NEW %s",
		filepath.Join(backups, bolt.BackupName(newest)))
}
