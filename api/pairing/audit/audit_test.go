package audit

import (
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
)

var noon = time.Date(2031, 3, 4, 12, 0, 0, 0, time.UTC)

func openList(t *testing.T, keep Keeper) *List {
	t.Helper()
	l, err := Open(keep, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestTheListIsReadNewestFirstAndAgainAfterARestart(t *testing.T) {
	store := logbook.NewMemory()
	t.Cleanup(func() { _ = store.Close() })
	l := openList(t, store)
	for i := range 5 {
		l.Add(Entry{At: noon.Add(time.Duration(i) * time.Minute), What: Paired, By: "phone", About: fmt.Sprint(i)})
	}
	for _, l := range []*List{l, openList(t, store)} {
		var all []string
		for number, more := uint64(0), true; more; more = number != 0 {
			var page []Entry
			page, number = l.Before(number, 2)
			for _, e := range page {
				all = append(all, e.About)
			}
		}
		if got := strings.Join(all, " "); got != "4 3 2 1 0" {
			t.Errorf("got %s, want 4 3 2 1 0", got)
		}
	}
}

func TestTheListIsBounded(t *testing.T) {
	store := logbook.NewMemory()
	t.Cleanup(func() { _ = store.Close() })
	l := openList(t, store)
	for i := range mostEntries + 3 {
		l.Add(Entry{At: noon, What: Revoked, By: "desk", About: fmt.Sprint(i)})
	}
	for _, l := range []*List{l, openList(t, store)} {
		all, next := l.Before(0, 2*mostEntries)
		if len(all) != mostEntries || next != 0 || all[0].About != fmt.Sprint(mostEntries+2) || all[len(all)-1].About != "3" {
			t.Errorf("got %d from %s to %s, want the newest %d", len(all), all[0].About, all[len(all)-1].About, mostEntries)
		}
	}
	if kept, err := store.KeptUnder(prefix); err != nil || len(kept) != mostEntries {
		t.Errorf("%d are kept (%v), want %d", len(kept), err, mostEntries)
	}
}

func TestWhoPollsAColorLogIsListedOnceAnHour(t *testing.T) {
	store := logbook.NewMemory()
	t.Cleanup(func() { _ = store.Close() })
	l := openList(t, store)
	e := Entry{What: Exported, By: "report", About: "color-log.csv"}
	for i := range 120 {
		e.At = noon.Add(time.Duration(i) * time.Minute)
		l.Add(e)
	}
	e.By = "another"
	l.Add(e)
	if all, _ := l.Before(0, 10); len(all) != 3 {
		t.Errorf("got %v, want it at 12:00, at 13:00, and another's", all)
	}
}

type full struct{ Keeper }

func (full) Keep(string, []byte) error { return errors.New("full") }

func TestAFullDiskIsTold(t *testing.T) {
	store := logbook.NewMemory()
	t.Cleanup(func() { _ = store.Close() })
	var log strings.Builder
	l, err := Open(full{store}, slog.New(slog.NewTextHandler(&log, nil)))
	if err != nil {
		t.Fatal(err)
	}
	l.Add(Entry{At: noon, What: Paired, By: "phone"})
	if all, _ := l.Before(0, 10); len(all) != 0 || !strings.Contains(log.String(), "could not be written") {
		t.Errorf("got %v and the log %s", all, &log)
	}
}
