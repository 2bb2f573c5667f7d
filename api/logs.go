package api

import (
	"crypto/rand"
	"errors"
	"fmt"
	"runtime/debug"
	"slices"
	"sync"

	"github.com/google/uuid"

	"evenwhite/api/removal"
	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/setup"
	"evenwhite/logbook/slate"
	"evenwhite/logbook/states"
)

// Logs are the open logs of a store: one of each production, so that everybody who
// changes it meets the same book. All its methods may be called at once.
type Logs struct {
	store logbook.Store

	mu   sync.Mutex
	open map[logbook.ID]*opening

	digests states.Digests
	pasts   turns // one book of an earlier state at a time
}

// An opening is a log that is read, or was: who asks for it meanwhile waits for it,
// and nobody for another's.
type opening struct {
	done chan struct{}
	peer *exchange.Peer
	err  error         // stays where the data is damaged: reading it again would find the same
	kept chan struct{} // closed once what is kept of all records is: pushes do not wait for that
}

// NewLogs makes the logs of a store; each is opened when it is first asked for.
func NewLogs(store logbook.Store) *Logs {
	return &Logs{store: store, open: map[logbook.ID]*opening{}}
}

// Find returns the log of a production that is in the store, *removal.Removed for one that
// was, and logbook.ErrNoProduction for another.
func (l *Logs) Find(production logbook.ID) (*exchange.Peer, error) {
	if found := l.begun(production); found != nil {
		<-found.done
		if found.peer == nil || !found.peer.Removed() {
			return found.peer, found.err
		}
		l.drop(production, found) // another process removed it
	}
	ids, err := l.store.Productions()
	if err != nil {
		return nil, err
	}
	if !slices.Contains(ids, production) {
		return nil, l.told(production, logbook.ErrNoProduction)
	}
	return l.Open(production)
}

// Open returns the log of a production, beginning it where it is new; *removal.Removed for
// one that was removed.
func (l *Logs) Open(production logbook.ID) (*exchange.Peer, error) {
	l.mu.Lock()
	found, ok := l.open[production]
	if !ok {
		found = &opening{done: make(chan struct{}), kept: make(chan struct{}), err: errUnopened}
		l.open[production] = found
	}
	l.mu.Unlock()
	if ok {
		<-found.done
		return found.peer, found.err
	}
	defer close(found.done)
	opened, err := logbook.OpenLog(l.store, production, kinds.Rules, drawLine)
	if found.err = err; err == nil {
		found.peer = exchange.NewPeer(opened)
		go found.prepare()
		return found.peer, nil
	}
	if !errors.Is(err, logbook.ErrDamaged) { // such as a full disk: it may succeed next time
		l.drop(production, found)
	}
	return nil, l.told(production, err)
}

// drop forgets an opening, unless there is another by now.
func (l *Logs) drop(production logbook.ID, found *opening) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.open[production] == found {
		delete(l.open, production)
	}
}

// prepare walks all records for what is kept of them. What filling the book of a long log left
// lying is given back to the system then: it may be as much as the book.
func (o *opening) prepare() {
	func() {
		defer close(o.kept)
		o.peer.Prepare(slate.KeepShots, amend.KeepTwins, amend.KeepConflicts, setup.KeepApart)
	}()
	if head, err := o.peer.Head(); err == nil && head.Seq > longLog {
		debug.FreeOSMemory()
	}
}

// longLog is of how many edits the garbage is worth a collection.
const longLog = 100_000

// told says of a production that is not here, or is going while somebody is served, that
// it was removed, and when.
func (l *Logs) told(production logbook.ID, err error) error {
	if !errors.Is(err, logbook.ErrNoProduction) && !errors.Is(err, logbook.ErrRemoved) {
		return err
	}
	mark, failed := removal.Find(l.store, production)
	if failed != nil {
		return failed
	}
	if mark == nil {
		return err
	}
	return &removal.Removed{Mark: *mark}
}

// Remove writes the files of a production, and takes it off this server.
func (l *Logs) Remove(production logbook.ID, o removal.Order) (removal.Mark, error) {
	peer, err := l.Find(production)
	if err != nil {
		return removal.Mark{}, err
	}
	mark, err := removal.Take(peer, o)
	if err == nil {
		l.drop(production, l.begun(production))
		debug.FreeOSMemory() // of a long log its book is most of the process
	}
	return mark, l.told(production, err)
}

// Readmit lets a production that was removed begin again, from whatever is brought next.
func (l *Logs) Readmit(production logbook.ID) error {
	mark, err := removal.Find(l.store, production)
	if err == nil && mark == nil {
		err = fmt.Errorf("%w: %s", removal.ErrNotRemoved, production)
	}
	if err != nil {
		return err
	}
	return l.store.Keep(logbook.RemovedName(production), nil)
}

// errUnopened stays where opening panics.
var errUnopened = fmt.Errorf("%w: its log could not be opened", logbook.ErrDamaged)

// Keeping finds a log like Find, for who asks about what is kept of all its records: it
// waits until that was walked once since the start.
func (l *Logs) Keeping(production logbook.ID) (*exchange.Peer, error) {
	peer, err := l.Find(production)
	if err != nil {
		return nil, err
	}
	if begun := l.begun(production); begun != nil { // else it was removed meanwhile
		<-begun.kept
	}
	return peer, nil
}

// begun is the opening of a log that somebody asked for; nil of one that nobody did.
func (l *Logs) begun(production logbook.ID) *opening {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.open[production]
}

// opened is a log that is open, or why it cannot be opened; neither of one that was not
// asked for yet, or is being read.
func (l *Logs) opened(production logbook.ID) (*exchange.Peer, error) {
	found := l.begun(production)
	if found == nil {
		return nil, nil
	}
	select {
	case <-found.done:
		return found.peer, found.err
	default:
		return nil, nil
	}
}

// Damage is what a production is served without, and why it cannot be served at all.
type Damage struct {
	Production logbook.ID
	Rows       []logbook.Damage
	Fault      error
}

// Damaged lists the productions that are damaged, as far as is known: whatever has
// been opened is.
func (l *Logs) Damaged() (all []Damage, err error) {
	ids, err := l.store.Productions()
	if err != nil {
		return nil, err
	}
	for _, id := range ids {
		d := Damage{Production: id}
		peer, err := l.opened(id)
		switch {
		case peer != nil:
			d.Rows, d.Fault = peer.Damaged()
		case err != nil:
			d.Fault = err
		default:
			d.Rows, d.Fault = l.store.Damaged(id)
		}
		if errors.Is(d.Fault, logbook.ErrNoProduction) { // it was removed meanwhile
			continue
		}
		if len(d.Rows) > 0 || d.Fault != nil {
			all = append(all, d)
		}
	}
	return all, nil
}

// Waiting counts the edits that wait for an owner, in all productions.
func (l *Logs) Waiting() (n int, err error) {
	ids, err := l.store.Productions()
	if err != nil {
		return 0, err
	}
	for _, id := range ids {
		if peer, _ := l.opened(id); peer != nil {
			n += peer.Waiting()
			continue
		}
		rows, err := l.store.Asides(id) // to be asked how it is opens no log
		if errors.Is(err, logbook.ErrDamaged) || errors.Is(err, logbook.ErrNoProduction) {
			continue
		}
		if err != nil {
			return 0, err
		}
		for _, row := range rows {
			if !row.Left {
				n++
			}
		}
	}
	return n, nil
}

// Chance. crypto/rand never fails: it ends the program where the system has none.

func drawLine() (l logbook.Line) {
	_, _ = rand.Read(l[:])
	return l
}

func drawID() logbook.ID { return logbook.ID(uuid.Must(uuid.NewV7())) }
