package bolt

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"time"
)

// backupForm names backups so that their names say when they were made, and sort
// by it. Colons are not allowed on memory cards.
const backupForm = "evenwhite-2006-01-02T150405Z.backup"

// BackupName is the name of a backup that is made at an instant.
func BackupName(at time.Time) string { return at.UTC().Format(backupForm) }

// How long Rotate keeps backups: all of the last two days, then the last of each
// day for thirty days, then the last of each month for ever.
const (
	keepAll   = 48 * time.Hour
	keepDaily = 30 * 24 * time.Hour
	// keepNewest are kept whatever their age.
	keepNewest = 24
	// longestPause bounds what the time from one backup to the next counts for.
	longestPause = 24 * time.Hour
	// staleAfter is when a file that did not get its name will not get it any more.
	staleAfter = 24 * time.Hour
)

// Rotate removes from a folder the backups that BackupName named and that are no
// longer due, and files that a process left unfinished when it was killed. Age is
// read from the name: memory cards and copies have times of their own. It is counted
// from backup to backup, a day at most for each step: a clock that jumps ahead by a
// year makes none of them old. The newest 24 stay, however old; those from the future
// stay; no other file is touched.
// It returns the names that it removed.
func Rotate(folder string, now time.Time) (removed []string, err error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return nil, err
	}
	var names []string
	for _, e := range entries {
		if stale(e, now) {
			names = append(names, e.Name())
		}
	}
	names = append(names, due(entries, now)...)
	for _, name := range names {
		if e := os.Remove(filepath.Join(folder, name)); e != nil {
			err = errors.Join(err, e)
			continue
		}
		removed = append(removed, name)
	}
	return removed, err
}

// stale reports whether an entry is a file that was never finished.
func stale(e os.DirEntry, now time.Time) bool {
	if !e.Type().IsRegular() || !Unfinished(e.Name()) {
		return false
	}
	info, err := e.Info()
	return err == nil && now.Sub(info.ModTime()) > staleAfter
}

// NewestBackup finds the backup in a folder whose name says the latest instant up to
// now; where all are from the future, the last of them: then it is the clock of now
// that is wrong. ok is false where there is none.
func NewestBackup(folder string, now time.Time) (at time.Time, ok bool, err error) {
	entries, err := os.ReadDir(folder)
	if err != nil {
		return time.Time{}, false, err
	}
	made := instants(entries)
	if len(made) == 0 {
		return time.Time{}, false, nil
	}
	for i := len(made) - 1; i >= 0; i-- {
		if !made[i].After(now) {
			return made[i], true, nil
		}
	}
	return made[len(made)-1], true, nil
}

// Backups lists when the backups in a folder were made, by their names, oldest first.
func Backups(folder string) ([]time.Time, error) {
	entries, err := os.ReadDir(folder)
	return instants(entries), err
}

// instants are when the backups among entries were made, oldest first.
func instants(entries []os.DirEntry) (made []time.Time) {
	for _, e := range entries {
		at, err := time.Parse(backupForm, e.Name())
		if err == nil && e.Type().IsRegular() {
			made = append(made, at)
		}
	}
	slices.SortFunc(made, time.Time.Compare)
	return made
}

// due are the names of the backups to remove.
func due(entries []os.DirEntry, now time.Time) (names []string) {
	made := instants(entries)
	past := len(made)
	for past > 0 && made[past-1].After(now) {
		past--
	}
	age, later := time.Duration(0), now
	for i := past - 1; i >= 0; i-- {
		at := made[i]
		age += min(later.Sub(at), longestPause)
		later = at
		if past-i <= keepNewest || age <= keepAll {
			continue
		}
		period := "2006-01"
		if age <= keepDaily {
			period = "2006-01-02"
		}
		if at.Format(period) == made[i+1].Format(period) {
			names = append(names, BackupName(at))
		}
	}
	return names
}
