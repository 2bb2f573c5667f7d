package api

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/labstack/echo/v4"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/review"
)

// How long, and how many of one device, keys are held.
const (
	repeatLife  = 24 * time.Hour
	mostRepeats = 2000
)

// A deed is what a request made: edits of a production's log, or else an invitation, which
// lives for minutes.
type deed struct {
	log     *exchange.Peer
	edits   []*logbook.Edit
	invited *pairing.Invitation
}

// repeats remembers what was made by requests that carried an Idempotency-Key, so that
// a phone that lost an answer may ask again, also of the next start: of edits the note
// is in the one commit with them. Answers are not kept; they are made anew of what the
// request made.
type repeats struct {
	mu      sync.Mutex
	known   map[string]*repeat
	order   []*repeat      // oldest first
	held    map[string]int // how many of each device
	running map[string]chan struct{}
}

// A repeat is the note about one key of one device.
type repeat struct {
	name       string // of the note in the store
	request    [16]byte
	at         logbook.Millis
	production logbook.ID  // zero where no edits were made
	first      logbook.Dot // of the edits, which run on in one line; its line: the mark of an invitation
	count      uint32
	code       string // of an invitation, while this process runs
}

const (
	repeatPrefix = "repeat/"
	repeatForm   = 1 // the first byte of a note
)

// openRepeats reads the notes of earlier starts, and follows those of other processes.
func openRepeats(store logbook.Store) (*repeats, error) {
	r := &repeats{known: map[string]*repeat{}, running: map[string]chan struct{}{}, held: map[string]int{}}
	if shared := logbook.SharingOf(store); shared != nil {
		return r, shared.Follow(repeatPrefix, r.hear)
	}
	kept, err := store.KeptUnder(repeatPrefix)
	if err != nil {
		return nil, err
	}
	for _, k := range kept {
		if note := readRepeat(k); note != nil {
			r.add(note)
		}
	}
	slices.SortFunc(r.order, func(a, b *repeat) int { return cmp.Compare(a.at, b.at) })
	return r, nil
}

// hear learns a note that another process wrote, or dropped.
func (r *repeats) hear(v logbook.KeptValue) {
	note := readRepeat(v)
	r.mu.Lock()
	_, known := r.known[v.Name]
	r.mu.Unlock()
	switch {
	case note != nil && !known:
		r.keep(note, nil)
	case v.Value == nil && known:
		r.mu.Lock()
		defer r.mu.Unlock()
		r.forget([]logbook.KeptValue{v})
	}
}

// add remembers a note. The caller holds the lock.
func (r *repeats) add(note *repeat) {
	r.known[note.name] = note
	r.order = append(r.order, note)
	r.held[note.device()]++
}

// repeatName is the name of a note: keys of different devices are different keys.
func repeatName(device logbook.ID, key string) string {
	hash := sha256.Sum256([]byte(key))
	return repeatPrefix + device.String() + "/" + hex.EncodeToString(hash[:16])
}

// device is what the names of all notes of its device begin with.
func (r *repeat) device() string { return r.name[:strings.LastIndexByte(r.name, '/')+1] }

// over reports whether the note is no longer held.
func (r *repeat) over(now logbook.Millis) bool {
	return now-r.at >= logbook.Millis(repeatLife/time.Millisecond)
}

func (r *repeat) note() logbook.KeptValue {
	b := append([]byte{repeatForm}, r.request[:]...)
	b = binary.BigEndian.AppendUint64(b, uint64(r.at))
	b = append(append(b, r.production[:]...), r.first.Line[:]...)
	b = binary.BigEndian.AppendUint64(b, r.first.N)
	return logbook.KeptValue{Name: r.name, Value: binary.BigEndian.AppendUint32(b, r.count)}
}

// readRepeat reads a note; nil where it is one of another version.
func readRepeat(k logbook.KeptValue) *repeat {
	if len(k.Value) != 1+16+8+16+8+8+4 || k.Value[0] != repeatForm {
		return nil
	}
	r := &repeat{name: k.Name, request: [16]byte(k.Value[1:17]), at: logbook.Millis(binary.BigEndian.Uint64(k.Value[17:])),
		production: logbook.ID(k.Value[25:41]), count: binary.BigEndian.Uint32(k.Value[57:])}
	r.first = logbook.Dot{Line: logbook.Line(k.Value[41:49]), N: binary.BigEndian.Uint64(k.Value[49:])}
	return r
}

// enter waits until no other request under the name runs.
func (r *repeats) enter(ctx context.Context, name string) (leave func(), err error) {
	for {
		r.mu.Lock()
		other, ok := r.running[name]
		if !ok {
			mine := make(chan struct{})
			r.running[name] = mine
			r.mu.Unlock()
			return func() {
				r.mu.Lock()
				defer r.mu.Unlock()
				delete(r.running, name)
				close(mine)
			}, nil
		}
		r.mu.Unlock()
		select {
		case <-other:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
	}
}

func (r *repeats) find(name string, now logbook.Millis) (*repeat, bool) {
	r.mu.Lock()
	defer r.mu.Unlock()
	found, ok := r.known[name]
	return found, ok && !found.over(now)
}

// notes are what is written beside the edits of a request: its own note, and the
// removal of some that are over, or that are the oldest of a device that has too many.
func (r *repeats) notes(own *repeat, now logbook.Millis) []logbook.KeptValue {
	const most = 8 // in one commit; one comes with each
	r.mu.Lock()
	defer r.mu.Unlock()
	tooMany := r.held[own.device()] + 1 - mostRepeats
	out := []logbook.KeptValue{own.note()}
	for _, old := range r.order {
		if len(out) > most || !old.over(now) && tooMany <= 0 {
			break
		}
		mine := old.device() == own.device()
		if old.name == own.name || !old.over(now) && !mine {
			continue
		}
		out = append(out, logbook.KeptValue{Name: old.name})
		if mine {
			tooMany--
		}
	}
	return out
}

// keep remembers what was written: a note, and what went with it.
func (r *repeats) keep(own *repeat, written []logbook.KeptValue) {
	r.mu.Lock()
	defer r.mu.Unlock()
	r.forget(append(written[:len(written):len(written)], logbook.KeptValue{Name: own.name}))
	r.add(own)
}

// forget drops notes. The caller holds the lock.
func (r *repeats) forget(written []logbook.KeptValue) {
	known := len(r.known)
	for _, k := range written {
		if old, ok := r.known[k.Name]; ok {
			delete(r.known, k.Name)
			r.held[old.device()]--
		}
	}
	if len(r.known) < known {
		r.order = slices.DeleteFunc(r.order, func(old *repeat) bool { return r.known[old.name] != old })
	}
}

// once does what a request asks for and tells it. Under a key that is held it tells what
// the earlier request made, as that reads by now. Of one key one request runs at a time;
// its answer goes out after that, so that nobody waits for a client that reads slowly. A
// request that failed made nothing, and its key is free.
func (s *service) once(c echo.Context, key *string, do func(logbook.Writer) (deed, error), tell func(deed) error) error {
	made, err := s.doOnce(c, key, do)
	if err != nil {
		return err
	}
	return tell(made)
}

func (s *service) doOnce(c echo.Context, key *string, do func(logbook.Writer) (deed, error)) (deed, error) {
	w := s.writer(c)
	if key == nil {
		made, err := do(w)
		s.settled(c, made.edits)
		return made, err
	}
	r := c.Request()
	hash := sha256.Sum256([]byte(r.Method + " " + pathAndQuery(r.URL) + "\n" + string(bodyOf(c))))
	own := &repeat{name: repeatName(w.Via, *key), request: [16]byte(hash[:16]), at: w.Now}
	leave, err := s.repeats.enter(r.Context(), own.name)
	if err != nil {
		return deed{}, err
	}
	defer leave()
	if known, ok := s.repeats.find(own.name, w.Now); ok {
		return s.doneBefore(known, own.request)
	}
	var written []logbook.KeptValue
	w.Notes = func(edits []*logbook.Edit) ([]logbook.KeptValue, error) {
		if err := s.madeElsewhere(own.name, w.Now); err != nil {
			return nil, err
		}
		own.production, own.first, own.count = edits[0].Production, edits[0].Dot, uint32(len(edits))
		written = s.repeats.notes(own, w.Now)
		return written, nil
	}
	made, err := do(w)
	var elsewhere *madeBefore
	switch {
	case errors.As(err, &elsewhere):
		return s.doneBefore(elsewhere.note, own.request)
	case err != nil:
		return deed{}, err
	case len(made.edits) == 0 && made.invited == nil:
		return made, nil // there was nothing to do, and there will be nothing
	case len(made.edits) == 0:
		own.code, own.first.Line = made.invited.Code, made.invited.Mark()
		written = []logbook.KeptValue{own.note()}
		if err := s.noteFirst(own, w.Now); err != nil {
			if err := s.Auth.Withdraw(made.invited.Code); err != nil {
				s.Log.Warn("an invitation that nobody was told may be good until its time is up", "error", err)
			}
			if errors.As(err, &elsewhere) {
				return s.doneBefore(elsewhere.note, own.request)
			}
			return deed{}, err
		}
	}
	s.repeats.keep(own, written)
	s.settled(c, made.edits)
	return made, nil
}

// madeBefore says that another process has done what a request asks for.
type madeBefore struct{ note *repeat }

func (*madeBefore) Error() string { return "another process has done it" }

// madeElsewhere asks a store that other processes write whether one of them has done it: what it tells
// is as new as the head that a change is compared with.
func (s *service) madeElsewhere(name string, now logbook.Millis) error {
	if logbook.SharingOf(s.Store) == nil {
		return nil
	}
	_, err := s.noted(name, now)
	return err
}

// noted is the note of a name as it is kept, of something that is long over, or says that it is held.
func (s *service) noted(name string, now logbook.Millis) (old []byte, err error) {
	old, err = s.Store.Kept(name)
	if err != nil {
		return nil, err
	}
	if note := readRepeat(logbook.KeptValue{Name: name, Value: old}); note != nil && !note.over(now) {
		return nil, &madeBefore{note}
	}
	return old, nil
}

// noteFirst keeps a note, unless another process was first.
func (s *service) noteFirst(own *repeat, now logbook.Millis) error {
	shared := logbook.SharingOf(s.Store)
	if shared == nil {
		return s.Store.Keep(own.name, own.note().Value)
	}
	for {
		old, err := s.noted(own.name, now)
		if err != nil {
			return err
		}
		if done, err := shared.Swap(own.name, old, own.note().Value); err != nil || done {
			return err
		}
	}
}

// pathAndQuery is the path of a request, with its query where it has one.
func pathAndQuery(u *url.URL) string {
	if u.RawQuery == "" {
		return u.Path
	}
	return u.Path + "?" + u.RawQuery
}

// invited is the invitation that a note is about, while it is open: one of this process, or of another at
// the same store.
func (s *service) invited(known *repeat) (inv pairing.Invitation, open bool, err error) {
	if known.code == "" {
		return s.Auth.Marked(known.first.Line)
	}
	for _, inv := range s.Auth.Invitations() {
		if inv.Code == known.code {
			return inv, true, nil
		}
	}
	return inv, false, nil
}

// doneBefore is what was made by the request that a note is about.
func (s *service) doneBefore(known *repeat, request [16]byte) (made deed, err error) {
	if known.request != request {
		return deed{}, ErrKeyReused
	}
	if known.production.IsZero() {
		inv, open, err := s.invited(known)
		if err == nil && !open {
			err = ErrKeySpent
		}
		return deed{invited: &inv}, err
	}
	if made.log, err = s.Logs.Find(known.production); err != nil {
		return deed{}, err
	}
	if err := made.log.CatchUp(); err != nil { // the note may be of another process
		return deed{}, err
	}
	dots := make([]logbook.Dot, known.count)
	for i := range dots {
		dots[i] = logbook.Dot{Line: known.first.Line, N: known.first.N + uint64(i)}
	}
	stored, err := made.log.Get(dots)
	if err != nil {
		return deed{}, err
	}
	for i := range stored {
		e, err := logbook.DecodeEdit(stored[i].Bytes)
		if err != nil {
			return deed{}, fmt.Errorf("%w: edit %s at sequence %d: %w", logbook.ErrDamaged, stored[i].Dot, stored[i].Seq, err)
		}
		made.edits = append(made.edits, e)
	}
	if len(made.edits) == 0 {
		return deed{}, review.NotHere("what was made under this Idempotency-Key")
	}
	return made, nil
}
