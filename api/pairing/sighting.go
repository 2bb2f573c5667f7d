package pairing

import (
	"encoding/json"
	"fmt"
	"maps"
	"strconv"
	"strings"
	"sync"
	"time"
	"unicode"
	"unicode/utf8"

	"evenwhite/logbook"
)

// A Sighting is what is known of a device since it was seen last.
type Sighting struct {
	At time.Time `json:"at"` // zero: never since it was paired
	// Clock is how far the device's clock was ahead of the server's, to the second; nil
	// where it never said.
	Clock *time.Duration `json:"clock,omitempty"`
	// Unsent is how many edits the device said it holds that no server has; nil where it
	// never said.
	Unsent  *int   `json:"unsent,omitempty"`
	Program string `json:"program,omitempty"` // name and version, as the device says them

	kept time.Time // when it was written
}

// sightings are those of all devices.
type sightings struct {
	mu   sync.Mutex
	seen map[logbook.ID]Sighting
}

func (s *sightings) of(id logbook.ID) Sighting {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.seen[id]
}

// change changes a sighting, and reports what it is and whether it was not written lately.
func (s *sightings) change(id logbook.ID, now time.Time, how func(*Sighting)) (is Sighting, due bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	is = s.seen[id]
	how(&is)
	if due = now.Sub(is.kept) >= keepSeenEvery || now.Before(is.kept); due {
		is.kept = now
	}
	s.seen[id] = is
	return is, due
}

// keepSeenEvery is how often a device that is seen all the time costs a write.
const keepSeenEvery = 10 * time.Minute

// see notes that a device made a request.
func (a *Auth) see(id logbook.ID, clock time.Time) {
	now := a.now()
	is, due := a.sightings.change(id, now, func(s *Sighting) {
		if s.At = now.UTC(); !clock.IsZero() {
			off := clock.Sub(now).Round(time.Second)
			s.Clock = &off
		}
	})
	switch {
	case due && a.shared != nil: // which may have to be waited for
		go a.keepSighting(id, is)
	case due:
		a.keepSighting(id, is)
	}
}

// keepSighting writes one. It is worth no refusal: a disk that is full lets people read.
func (a *Auth) keepSighting(id logbook.ID, s Sighting) {
	b, err := json.Marshal(s)
	if err == nil {
		err = a.keep.Keep(keptSeen+id.String(), b)
	}
	if err != nil {
		a.log.Debug("when a device was seen could not be written", "device", id.String(), "error", err)
	}
}

func (a *Auth) readSightings() error {
	a.sightings.seen = map[logbook.ID]Sighting{}
	values, err := a.keep.KeptUnder(keptSeen)
	if err != nil {
		return err
	}
	for _, v := range values {
		id, err := logbook.ParseID(strings.TrimPrefix(v.Name, keptSeen))
		var s Sighting
		if err == nil {
			err = json.Unmarshal(v.Value, &s)
		}
		if err != nil {
			return fmt.Errorf("the kept value %s: %w", v.Name, err)
		}
		a.sightings.seen[id] = s
	}
	return nil
}

// A Report is what a device says of itself; nil: it does not say.
type Report struct {
	Label   *string
	Unsent  *int // 0 or more
	Program *string
}

// Tell notes what a device says of itself.
func (a *Auth) Tell(id logbook.ID, r Report) error {
	if r.Program != nil && !printable(*r.Program) {
		return refused("program", strconv.Quote(shortened(*r.Program)), printableWords)
	}
	if r.Unsent != nil && *r.Unsent < 0 {
		return refused("unsent", strconv.Itoa(*r.Unsent), "0 or more")
	}
	if r.Label != nil {
		label, err := checkLabel(*r.Label)
		if err != nil {
			return err
		}
		if err := a.change(id, func(d *Device) error { d.Label = label; return nil }); err != nil {
			return err
		}
	}
	if r.Unsent == nil && r.Program == nil {
		return nil
	}
	is, _ := a.sightings.change(id, a.now(), func(s *Sighting) {
		if r.Unsent != nil {
			s.Unsent = r.Unsent
		}
		if r.Program != nil {
			s.Program = *r.Program
		}
	})
	a.keepSighting(id, is)
	return nil
}

// Leave ends a device's admission by its own wish. It must say how many edits it holds that
// no server has, and lose says that they may go.
func (a *Auth) Leave(id logbook.ID, unsent *int, lose, lastToo bool) error {
	switch {
	case unsent == nil:
		return fmt.Errorf("%w, or it does not say: exchange, then leave with unsent=0; unsent says how many", ErrUnsent)
	case *unsent > 0 && !lose:
		return fmt.Errorf("%w: %d. Exchange first; repeat it with lose=true where they are to be lost", ErrUnsent, *unsent)
	}
	if err := a.Tell(id, Report{Unsent: unsent}); err != nil {
		return err
	}
	return a.Revoke(id, lastToo)
}

// printableWords says what printable lets through.
const printableWords = "at most 64 characters without control characters"

func printable(s string) bool {
	return utf8.ValidString(s) && utf8.RuneCountInString(s) <= labelLongest && !strings.ContainsFunc(s, unicode.IsControl)
}

// move has what is known of a device stand under its new id.
func (s *sightings) move(from, to logbook.ID) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.seen[to] = s.seen[from]
	maps.DeleteFunc(s.seen, func(id logbook.ID, _ Sighting) bool { return id == from })
}
