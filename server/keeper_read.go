package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"

	"evenwhite/api"
	"evenwhite/logbook/bolt"
)

// readAgain is after which time a backup is read back once more: cards rot in drawers.
const readAgain = 24 * time.Hour

// A reading says how a backup was when it was read back last.
type reading struct {
	at    time.Time
	whole bool
}

// readings are those of this process, by path.
type readings struct {
	mu  sync.Mutex
	all map[string]reading
}

func (r *readings) of(path string) (one reading, ok bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	one, ok = r.all[path]
	return one, ok
}

func (r *readings) set(path string, one reading) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.all == nil {
		r.all = map[string]reading{}
	}
	r.all[path] = one
}

// broken are the names of those that were not whole, and are there.
func (r *readings) broken() (names []string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	for path, one := range r.all {
		if !one.whole && exists(path) {
			names = append(names, filepath.Base(path))
		}
	}
	slices.Sort(names)
	return names
}

func (k *keeper) pathOf(b api.Backup) string {
	if b.Second {
		return filepath.Join(k.other.path, b.Name)
	}
	return filepath.Join(k.own.path, b.Name)
}

// readBack reads one backup and checks it: the one that was read longest ago, if that is long ago.
func (k *keeper) readBack() {
	all, err := k.List()
	if err != nil || len(all) == 0 {
		return
	}
	oldest := slices.MinFunc(all, func(a, b api.Backup) int { return a.CheckedAt.Compare(b.CheckedAt) })
	now := k.now()
	if oldest.Unread || now.Sub(oldest.CheckedAt) < readAgain {
		return
	}
	path := k.pathOf(oldest)
	report, err := bolt.Check(path)
	if errors.Is(err, os.ErrNotExist) {
		return // it was removed meanwhile
	}
	whole := err == nil && len(report.Problems)+len(report.Damaged) == 0
	if k.readings.set(path, reading{now, whole}); !whole {
		k.log.Error("A BACKUP IS NO LONGER WHOLE", "file", path, "error", err, "problems", fmt.Sprint(report.Problems),
			"damaged", len(report.Damaged), "advice", "make one now, and look at its disk or card; what is logged is not touched by that")
	}
}
