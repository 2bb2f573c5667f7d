// Package audit keeps the list of what was done that an owner may have to answer for: who
// was let in and put out, and what left the house. It is bounded: the oldest goes.
package audit

import (
	"cmp"
	"encoding/json"
	"fmt"
	"log/slog"
	"slices"
	"sync"
	"time"

	"evenwhite/logbook"
)

// Keeper is the part of a logbook.Store that keeps small values.
type Keeper interface {
	Keep(name string, value []byte) error
	Kept(name string) ([]byte, error)
	KeptUnder(prefix string) ([]logbook.KeptValue, error)
}

// What was done.
const (
	Paired   = "paired"   // a device came in, or took one more role
	Keyed    = "keyed"    // a device is known by its key from now on
	Claimed  = "claimed"  // a device has the id that it claimed
	Token    = "token"    // a script was given a token
	Shared   = "shared"   // a link was made for a guest
	Revoked  = "revoked"  // a device was put out, or lost a role; or a link was ended
	Left     = "left"     // a device went by itself
	Exported = "exported" // a colour log or a bundle left the server
	Settled  = "settled"  // somebody decided between several values or twins, or an owner answered what was kept aside
	Restored = "restored" // the data was made from a backup

	Removed    = "removed"    // a production was taken off the server
	Readmitted = "readmitted" // a removed production may be brought again
)

// An Entry says what was done.
type Entry struct {
	Number uint64     `json:"number"` // from 1 on, without gaps
	At     time.Time  `json:"at"`
	What   string     `json:"what"`
	Device logbook.ID `json:"device,omitzero"` // who did it; zero: somebody at the machine, or with a link
	By     string     `json:"by"`
	From   string     `json:"from,omitempty"` // the address; "": the machine itself
	About  string     `json:"about"`
}

const (
	prefix = "audit/"
	// mostEntries are some years of a set.
	mostEntries = 2000
	// repeatTime is how long the same export is not listed again: some poll.
	repeatTime = time.Hour
)

// A List is the list of one store. All its methods may be called at once.
type List struct {
	keep Keeper
	log  *slog.Logger

	mu      sync.Mutex
	entries []Entry // oldest first
}

// Open reads the list of a store.
func Open(keep Keeper, log *slog.Logger) (*List, error) {
	values, err := keep.KeptUnder(prefix)
	if err != nil {
		return nil, err
	}
	l := &List{keep: keep, log: log, entries: make([]Entry, 0, len(values))}
	from := 0
	for i, v := range values {
		var e Entry
		if err := json.Unmarshal(v.Value, &e); err != nil {
			return nil, fmt.Errorf("the kept value %s: %w", v.Name, err)
		}
		if i > 0 && e.Number < l.entries[i-1].Number {
			from = i // names go round: here lies the oldest
		}
		l.entries = append(l.entries, e)
	}
	l.entries = append(l.entries[from:], l.entries[:from]...)
	if shared := logbook.SharingOf(keep); shared != nil {
		return l, shared.Follow(prefix, l.hear)
	}
	return l, nil
}

// hear learns an entry of another process.
func (l *List) hear(v logbook.KeptValue) {
	var e Entry
	if v.Value == nil || json.Unmarshal(v.Value, &e) != nil {
		return
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.insert(e)
}

// insert puts an entry at its place, unless it is there. The caller holds the lock.
func (l *List) insert(e Entry) {
	at, known := slices.BinarySearchFunc(l.entries, e.Number, func(e Entry, n uint64) int { return cmp.Compare(e.Number, n) })
	if !known {
		l.entries = slices.Insert(l.entries, at, e)
		l.entries = l.entries[max(0, len(l.entries)-mostEntries):]
	}
}

// Add lists what was done. It was done: where the list cannot be written that is told in
// the log, and undoes nothing.
func (l *List) Add(e Entry) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if e.What == Exported && l.hasLately(e) {
		return
	}
	e.Number, e.At = 1, e.At.UTC()
	if n := len(l.entries); n > 0 {
		e.Number = l.entries[n-1].Number + 1
	}
	e, err := l.write(e)
	if err != nil {
		l.log.Warn("what was done could not be written into the list that owners read",
			"what", e.What, "by", e.By, "about", e.About, "error", err)
		return
	}
	l.insert(e)
}

// write keeps an entry under its number, or under the next that no other process has taken.
func (l *List) write(e Entry) (Entry, error) {
	shared := logbook.SharingOf(l.keep)
	for {
		name := fmt.Sprintf("%s%04d", prefix, e.Number%mostEntries)
		b, err := json.Marshal(e)
		if err != nil {
			return e, err
		}
		if shared == nil {
			return e, l.keep.Keep(name, b)
		}
		old, err := l.keep.Kept(name)
		if err != nil {
			return e, err
		}
		var other Entry
		if old != nil && json.Unmarshal(old, &other) == nil && other.Number >= e.Number {
			e.Number = other.Number + 1
			continue
		}
		if done, err := shared.Swap(name, old, b); err != nil || done {
			return e, err
		}
	}
}

func (l *List) hasLately(e Entry) bool {
	for i := len(l.entries) - 1; i >= 0; i-- {
		old := l.entries[i]
		if age := e.At.Sub(old.At); age >= repeatTime || age < 0 {
			return false
		}
		if old.What == e.What && old.Device == e.Device && old.By == e.By && old.About == e.About {
			return true
		}
	}
	return false
}

// Before lists at most limit entries, newest first, that stand before a number; 0: the
// newest of all. next is the number before which the next page stands, or 0.
func (l *List) Before(number uint64, limit int) (page []Entry, next uint64) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for i := len(l.entries) - 1; i >= 0; i-- {
		e := l.entries[i]
		if number != 0 && e.Number >= number {
			continue
		}
		if len(page) == limit {
			return page, page[limit-1].Number
		}
		page = append(page, e)
	}
	return page, 0
}
