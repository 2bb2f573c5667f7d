package logbook

import (
	"encoding/hex"
	"errors"
	"fmt"
	"strings"
	"sync"
)

// An Aside is an edit that was brought by a device that may not put it into the log. It
// is kept beside the log, outside of its ranges, its chain and the book, until somebody
// who may takes it in.
type Aside struct {
	Entry
	Left bool // it was answered, and stays outside
}

// An AsideKey names such an edit: several may claim one dot.
type AsideKey struct {
	Dot  Dot
	Hash Hash
}

// Key names the edit.
func (a *Aside) Key() AsideKey { return AsideKey{a.Dot, a.Hash} }

// String is the dot and the hash: 00c0ffee00c0ffee.1.00112233445566778899aabbccddeeff.
func (k AsideKey) String() string { return k.Dot.String() + "." + hex.EncodeToString(k.Hash[:]) }

// Less orders keys by dot, then by hash.
func (k AsideKey) Less(other AsideKey) bool {
	if k.Dot != other.Dot {
		return k.Dot.Less(other.Dot)
	}
	return string(k.Hash[:]) < string(other.Hash[:])
}

// ParseAsideKey reads what String writes, and nothing else.
func ParseAsideKey(s string) (k AsideKey, err error) {
	at := max(0, strings.LastIndexByte(s, '.'))
	hash, err := hex.DecodeString(strings.TrimPrefix(s[at:], "."))
	if err == nil {
		k.Dot, err = ParseDot(s[:at])
	}
	if copy(k.Hash[:], hash); err != nil || k.String() != s {
		return AsideKey{}, fmt.Errorf("%w: %s names no edit that is kept aside", ErrRequest, Shorten(s))
	}
	return k, nil
}

// ErrNoAside is wrapped by errors about an edit that is not kept aside.
var ErrNoAside = errors.New("no such edit is kept aside")

// A Guard says of an edit that the device that brings it may not put it into the log.
// A role is asked there, at the door, and never in the merge. Nil lets everything in.
type Guard func(*Edit) bool

// How much one device may have kept aside: more than a production's settings change in
// a year, and too little to fill a disk.
const (
	mostAside      = 1000
	mostAsideBytes = 1 << 20
)

// The reasons that an edit which was kept aside is answered with.
const (
	asideWaits = "kept aside until an owner takes it in"
	asideStays = "an owner left it aside"
	// AsideFull is why an edit is answered later that would be kept aside.
	AsideFull = "as much as one device may bring is kept aside already: an owner must answer that first"
)

// asides knows what a log's store keeps aside.
type asides struct {
	mu    sync.Mutex
	known map[AsideKey]asideNote
}

type asideNote struct {
	via  ID
	size int
	left bool
}

func (n *asides) add(rows []Aside) {
	for i := range rows {
		n.known[rows[i].Key()] = asideNote{rows[i].Via, len(rows[i].Bytes), rows[i].Left}
	}
}

// openAsides learns what the store keeps aside. A process that was killed between taking
// an edit in and dropping it here leaves it in both places.
func (l *Log) openAsides() error {
	if err := l.readAsides(); err != nil {
		return err
	}
	rows, err := l.store.Asides(l.production)
	if err != nil {
		return err
	}
	var came []AsideKey
	for i := range rows {
		if held, err := l.store.Get(l.production, []Dot{rows[i].Dot}); err != nil {
			return err
		} else if len(held) == 1 && held[0].Hash == rows[i].Hash {
			came = append(came, rows[i].Key())
		}
	}
	return l.dropAsides(came)
}

// readAsides learns what the store keeps aside.
func (l *Log) readAsides() error {
	l.aside.mu.Lock()
	defer l.aside.mu.Unlock()
	rows, err := l.store.Asides(l.production)
	if err != nil {
		return err
	}
	l.aside.known = map[AsideKey]asideNote{}
	l.aside.add(rows)
	l.changed.Wake()
	return nil
}

// dropAsides forgets edits that are in the log now.
func (l *Log) dropAsides(keys []AsideKey) error {
	l.aside.mu.Lock()
	defer l.aside.mu.Unlock()
	if len(l.aside.known) == 0 {
		return nil
	}
	var dropped []AsideKey
	for _, k := range keys {
		if _, ok := l.aside.known[k]; ok {
			dropped = append(dropped, k)
		}
	}
	if len(dropped) == 0 {
		return nil
	}
	if err := l.store.DropAside(l.production, dropped); err != nil {
		return err
	}
	for _, k := range dropped {
		delete(l.aside.known, k)
	}
	l.changed.Wake()
	return nil
}

// PushGuarded is Push for a device that may not put every edit into the log: those that
// are new and that guard names are kept aside. An edit that is held already is none of
// the device's doing, and is answered as ever.
func (l *Log) PushGuarded(edits []*Edit, guard Guard, via ID, now Millis) ([]Answer, error) {
	if err := l.enter(); err != nil {
		return nil, err
	}
	defer l.leaving.RUnlock()
	entries, err := l.entriesOf(edits, via, now)
	if err != nil {
		return nil, err
	}
	var freed, stopped []int
	for i, e := range edits {
		if guard != nil && guard(e) && !l.holds(e.Dot) {
			stopped = append(stopped, i)
		} else {
			freed = append(freed, i)
		}
	}
	if len(stopped) == 0 {
		return l.push(edits, entries)
	}
	answers := make([]Answer, len(edits))
	aside, err := l.keepAside(pick(entries, stopped))
	if err != nil {
		return nil, err
	}
	for n, i := range stopped {
		answers[i] = aside[n]
	}
	pushed, err := l.push(pick(edits, freed), pick(entries, freed))
	if err != nil {
		return nil, err
	}
	for n, i := range freed {
		answers[i] = pushed[n]
	}
	return answers, nil
}

func pick[T any](all []T, at []int) []T {
	out := make([]T, len(at))
	for n, i := range at {
		out[n] = all[i]
	}
	return out
}

func (l *Log) holds(d Dot) (held bool) {
	l.Read(func(b *Book) { held = b.Held(d) })
	return held
}

// keepAside keeps entries of one device aside, as far as it may, and answers each.
func (l *Log) keepAside(entries []Entry) ([]Answer, error) {
	l.aside.mu.Lock()
	defer l.aside.mu.Unlock()
	count, bytes := 0, 0
	for _, note := range l.aside.known {
		if note.via == entries[0].Via {
			count, bytes = count+1, bytes+note.size
		}
	}
	answers := make([]Answer, len(entries))
	var rows []Aside
	coming := map[AsideKey]bool{}
	for i, e := range entries {
		row := Aside{Entry: e}
		answers[i] = Answer{Dot: e.Dot, Outcome: AnswerAside, Reason: asideWaits}
		known, ok := l.aside.known[row.Key()]
		switch {
		case ok && known.left:
			answers[i].Reason = asideStays
		case ok || coming[row.Key()]:
		case count >= mostAside || bytes+len(e.Bytes) > mostAsideBytes:
			answers[i].Outcome, answers[i].Reason = AnswerLater, AsideFull
		default:
			coming[row.Key()] = true
			rows, count, bytes = append(rows, row), count+1, bytes+len(e.Bytes)
		}
	}
	if len(rows) == 0 {
		return answers, nil
	}
	err := l.store.SetAside(l.production, rows)
	if errors.Is(err, ErrFull) {
		for i := range answers {
			if coming[AsideKey{entries[i].Dot, entries[i].Hash}] {
				answers[i].Outcome, answers[i].Reason = AnswerLater, err.Error()
			}
		}
		return answers, nil
	}
	if err != nil {
		return nil, err
	}
	l.aside.add(rows)
	l.changed.Wake()
	return answers, nil
}

// Asides lists what is kept aside, by dot.
func (l *Log) Asides() ([]Aside, error) { return l.store.Asides(l.production) }

// Waiting counts the edits that are kept aside and not answered.
func (l *Log) Waiting() (n int) {
	l.aside.mu.Lock()
	defer l.aside.mu.Unlock()
	for _, note := range l.aside.known {
		if !note.left {
			n++
		}
	}
	return n
}

// asidesNamed are the rows of keys, in their order.
func (l *Log) asidesNamed(keys []AsideKey) ([]Aside, error) {
	all, err := l.Asides()
	if err != nil {
		return nil, err
	}
	at := make(map[AsideKey]*Aside, len(all))
	for i := range all {
		at[all[i].Key()] = &all[i]
	}
	rows := make([]Aside, len(keys))
	for i, k := range keys {
		if at[k] == nil {
			return nil, fmt.Errorf("%w: %s", ErrNoAside, k)
		}
		rows[i] = *at[k]
	}
	return rows, nil
}

// TakeAside puts edits that are kept aside into the log, also those that were left
// there, and answers each. They keep who brought them.
func (l *Log) TakeAside(keys []AsideKey, now Millis) ([]Answer, error) {
	if err := l.enter(); err != nil {
		return nil, err
	}
	defer l.leaving.RUnlock()
	rows, err := l.asidesNamed(keys)
	if err != nil {
		return nil, err
	}
	edits, entries := make([]*Edit, len(rows)), make([]Entry, len(rows))
	for i, row := range rows {
		if edits[i], err = DecodeEdit(row.Bytes); err != nil {
			return nil, err
		}
		entries[i] = row.Entry
		entries[i].Received = now
	}
	answers, err := l.push(edits, entries)
	if err != nil {
		return nil, err
	}
	var clashed []AsideKey // kept as clashes, as if they had been brought now
	for i, a := range answers {
		if a.Outcome == AnswerClash && a.Reason != clashLeft {
			clashed = append(clashed, keys[i])
		}
	}
	return answers, l.dropAsides(clashed)
}

// LeaveAside leaves edits where they are kept, and asks about them no more.
func (l *Log) LeaveAside(keys []AsideKey) error {
	if err := l.enter(); err != nil {
		return err
	}
	defer l.leaving.RUnlock()
	rows, err := l.asidesNamed(keys)
	if err != nil || len(rows) == 0 {
		return err
	}
	for i := range rows {
		rows[i].Left = true
	}
	l.aside.mu.Lock()
	defer l.aside.mu.Unlock()
	if err := l.store.SetAside(l.production, rows); err != nil {
		return err
	}
	l.aside.add(rows)
	l.changed.Wake()
	return nil
}
