package main

import (
	"bytes"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenwhite/api"
	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/logbook/kinds"
	"evenwhite/server/demo"
)

// watch is a keeper whose clock the test turns.
type watch struct {
	*testing.T
	*keeper
	store *bolt.Store
	at    time.Time
	log   bytes.Buffer
	edits int
}

func keepWatch(t *testing.T, other string) *watch {
	t.Helper()
	data := filepath.Join(t.TempDir(), "data")
	if err := makeFolder(data); err != nil {
		t.Fatal(err)
	}
	store, err := openStore(data)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = store.Close() })
	w := &watch{T: t, store: store, at: time.Date(2031, 3, 4, 6, 0, 0, 0, time.UTC)}
	w.keeper, err = newKeeper(store, slog.New(slog.NewTextHandler(&w.log, nil)),
		serveOptions{folder: data, backupEvery: time.Hour, backupTo: other})
	if err != nil {
		t.Fatal(err)
	}
	w.now = func() time.Time { return w.at }
	if err := store.Begin(demo.Production, drawLine()); err != nil {
		t.Fatal(err)
	}
	return w
}

// edit writes one edit into the store.
func (w *watch) edit() {
	w.Helper()
	l, err := logbook.OpenLog(w.store, demo.Production, kinds.Rules, drawLine)
	if err == nil {
		_, err = l.Change(logbook.Writer{Device: logbook.ID{1}, By: "DIT"}, func(*logbook.Book) ([]logbook.Draft, error) {
			return []logbook.Draft{{Kind: kinds.Gel, Record: logbook.ID{2}, Set: []logbook.Change{{Field: "name", Value: `"full green"`}}}}, nil
		})
	}
	if err != nil {
		w.Fatal(err)
	}
	w.edits++
}

// hour lets an hour pass and a backup come due.
func (w *watch) hour() {
	w.log.Reset()
	w.at = w.at.Add(time.Hour)
	w.once()
}

// holds looks at the newest backup in a folder and at how many there are.
func (w *watch) holds(folder string, backups int) {
	w.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "evenwhite-*"))
	if err != nil || len(files) != backups {
		w.Fatalf("%s holds %v (%v), want %d files", folder, files, err, backups)
	}
	if left, err := filepath.Glob(filepath.Join(folder, ".*")); err != nil || len(left) > 0 {
		w.Errorf("unfinished files are left: %v (%v)", left, err)
	}
	if backups == 0 {
		return
	}
	report, err := bolt.Check(files[len(files)-1])
	if err != nil || len(report.Problems) > 0 || report.Edits != w.edits {
		w.Errorf("the newest backup in %s holds %d edits (%v %v), want %d", folder, report.Edits, err, report.Problems, w.edits)
	}
}

func (w *watch) says(parts ...string) {
	w.Helper()
	for _, part := range parts {
		if !strings.Contains(w.log.String(), part) {
			w.Errorf("the log does not say %q: %s", part, w.log.String())
		}
	}
}

func TestBackupsAreMadeInBothFoldersWhileSomethingChanges(t *testing.T) {
	card := t.TempDir()
	w := keepWatch(t, card)
	w.says("lies on the same disk as the data")
	w.edit()
	w.hour()
	w.holds(w.own.path, 1)
	w.holds(card, 1)
	w.hour()
	w.says("no backup is needed: nothing changed")
	w.holds(w.own.path, 1)
	w.edit()
	w.hour()
	w.holds(w.own.path, 2)
	w.holds(card, 2)
	if got := w.Warnings(); len(got) != 0 {
		t.Errorf("got the warnings %q", got)
	}
	t.Run("one that somebody removed is made again", func(t *testing.T) {
		if err := os.Remove(w.own.last); err != nil {
			t.Fatal(err)
		}
		w.hour()
		w.holds(w.own.path, 2)
		w.holds(card, 2)
	})
	t.Run("old ones are removed by age", func(t *testing.T) {
		for range 100 {
			w.edit()
			w.hour()
		}
		// All of the last 48 hours, the last of each day before, of which there are two.
		w.holds(w.own.path, 49+2)
		w.holds(card, 49+2)
	})
}

func TestABackupThatFailsIsReportedAndTheOtherIsMade(t *testing.T) {
	card := filepath.Join(t.TempDir(), "card")
	w := keepWatch(t, card)
	w.edit()
	w.hour()
	w.holds(w.own.path, 1)
	w.says("A BACKUP FAILED", card, "no such file", "advice=")
	want := "since 2031-03-04T07:00:00Z no backup could be made in the second folder: the server's log says why"
	w.hour() // nothing changed, and the card is still to be written
	if got := w.Warnings(); len(got) != 1 || got[0] != want {
		t.Errorf("got the warnings %q, want %q", got, want)
	}
	if err := os.Mkdir(card, 0o700); err != nil {
		t.Fatal(err)
	}
	w.hour()
	w.says("backups are made again")
	w.holds(card, 1)
	if got := w.Warnings(); len(got) != 0 {
		t.Errorf("got the warnings %q after it was mended", got)
	}
	t.Run("the own folder fails and the second is written all the same", func(t *testing.T) {
		if err := os.RemoveAll(w.own.path); err != nil {
			t.Fatal(err)
		}
		w.edit()
		w.hour()
		w.says("A BACKUP FAILED", backupsName)
		w.holds(card, 2)
		if got := w.Warnings(); len(got) != 1 || !strings.Contains(got[0], "the backups folder") {
			t.Errorf("got the warnings %q", got)
		}
	})
}

func TestAfterAStartTheNextBackupIsDueWhenTheNewestIsOld(t *testing.T) {
	w := keepWatch(t, "")
	if got := w.untilDue(); got != 0 {
		t.Errorf("without any: due in %s, want at once", got)
	}
	w.edit()
	w.hour()
	for _, c := range []struct {
		name      string
		age, want time.Duration
	}{
		{"twenty minutes old", 20 * time.Minute, 40 * time.Minute},
		{"three hours old", 3 * time.Hour, 0},
		{"from the future", -50 * time.Hour, 0}, // else one who starts anew each day never has a backup made
	} {
		made := w.at
		w.at = made.Add(c.age)
		if got := w.untilDue(); got != c.want {
			t.Errorf("the newest is %s: due in %s, want %s", c.name, got, c.want)
		}
		w.at = made
	}
}

func TestABackupByAClockThatWasAheadIsNotTakenForTheNewest(t *testing.T) {
	w := keepWatch(t, "")
	ahead := w.at.AddDate(9, 0, 0)
	right := w.at
	w.edit()
	w.at = ahead
	w.once()
	w.at = right
	w.edit()
	w.hour()
	made := filepath.Base(w.own.last)
	if newest, ok, err := bolt.NewestBackup(w.own.path, w.at.Add(time.Minute)); bolt.BackupName(newest) != made || !ok || err != nil {
		t.Errorf("the newest is %s (%v %v), want %s", bolt.BackupName(newest), ok, err, made)
	}
	w.at = w.at.Add(20 * time.Minute)
	if got := w.untilDue(); got != 40*time.Minute {
		t.Errorf("the next is due in %s, want 40 minutes: the one made under the right clock counts", got)
	}
	t.Run("where all are from the future, the last of them is", func(t *testing.T) {
		newest, ok, err := bolt.NewestBackup(w.own.path, time.Unix(0, 0))
		if bolt.BackupName(newest) != bolt.BackupName(ahead) || !ok || err != nil {
			t.Errorf("got %s (%v %v), want %s", bolt.BackupName(newest), ok, err, bolt.BackupName(ahead))
		}
	})
}

// A backup that failed is not left for a whole interval.
func TestAFailedBackupIsTriedAgainSooner(t *testing.T) {
	card := filepath.Join(t.TempDir(), "card")
	w := keepWatch(t, card) // the folder is not there
	w.edit()
	for _, minutes := range []time.Duration{1, 2, 4, 8, 16, 32, 60, 60} {
		if got, want := w.pause(w.once()), minutes*time.Minute; got != want {
			t.Errorf("it waits %s, want %s", got, want)
		}
		w.at = w.at.Add(time.Minute)
	}
	if err := os.Mkdir(card, 0o700); err != nil {
		t.Fatal(err)
	}
	if got := w.pause(w.once()); got != time.Hour {
		t.Errorf("after one that is made it waits %s, want the usual time", got)
	}
	if err := os.Remove(card + "/" + filepath.Base(w.other.last)); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(card); err != nil {
		t.Fatal(err)
	}
	w.edit()
	if got := w.pause(w.once()); got != time.Minute {
		t.Errorf("after the next failure it waits %s, want a minute", got)
	}
}

func TestABackupThatRotIsToldAndReplaced(t *testing.T) {
	w := keepWatch(t, "")
	w.edit()
	w.hour()
	checked := func() api.Backup {
		t.Helper()
		all, err := w.List()
		if err != nil || len(all) == 0 {
			t.Fatalf("it lists %v (%v)", all, err)
		}
		return all[len(all)-1] // the oldest
	}
	made := w.at
	w.at = made.Add(readAgain - time.Second)
	w.readBack()
	if b := checked(); !b.CheckedAt.Equal(made) || b.Broken {
		t.Errorf("after less than a day it is %+v", b)
	}
	w.at = made.Add(readAgain)
	w.readBack()
	if b := checked(); !b.CheckedAt.Equal(w.at) || b.Broken || len(w.Warnings()) > 0 {
		t.Errorf("read again it is %+v, and it warns of %q", b, w.Warnings())
	}

	path := filepath.Join(w.own.path, checked().Name)
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	at := bytes.Index(file, []byte("full green"))
	if at < 0 {
		t.Fatal("the backup does not hold what was logged")
	}
	file[at] ^= 1
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	w.at = w.at.Add(readAgain)
	w.readBack()
	if b := checked(); !b.Broken || len(w.Warnings()) != 1 || !strings.Contains(w.Warnings()[0], b.Name) ||
		!strings.Contains(w.log.String(), "A BACKUP IS NO LONGER WHOLE") {
		t.Errorf("a byte that was turned: it is %+v, it warns of %q, and the log says %s", b, w.Warnings(), &w.log)
	}
	w.hour() // nothing was logged since, and yet another is made
	w.holds(w.own.path, 2)
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	if len(w.Warnings()) > 0 {
		t.Errorf("it is gone, and it warns of %q", w.Warnings())
	}
}
