package api

import (
	"crypto/rand"
	"slices"
	"sync"

	"github.com/google/uuid"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

// Logs are the open logs of a store: one of each production, so that everybody who
// changes it meets the same book. All its methods may be called at once.
type Logs struct {
	store logbook.Store

	mu   sync.Mutex
	open map[logbook.ID]*exchange.Peer
}

// NewLogs makes the logs of a store; each is opened when it is first asked for.
func NewLogs(store logbook.Store) *Logs {
	return &Logs{store: store, open: map[logbook.ID]*exchange.Peer{}}
}

// Find returns the log of a production that is in the store, and
// logbook.ErrNoProduction for another.
func (l *Logs) Find(production logbook.ID) (*exchange.Peer, error) {
	l.mu.Lock()
	found, ok := l.open[production]
	l.mu.Unlock()
	if ok {
		return found, nil
	}
	ids, err := l.store.Productions()
	if err != nil {
		return nil, err
	}
	if !slices.Contains(ids, production) {
		return nil, logbook.ErrNoProduction
	}
	return l.Open(production)
}

// Open returns the log of a production, beginning it where it is new.
func (l *Logs) Open(production logbook.ID) (*exchange.Peer, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if found, ok := l.open[production]; ok {
		return found, nil
	}
	opened, err := logbook.OpenLog(l.store, production, kinds.Rules, drawLine)
	if err != nil {
		return nil, err
	}
	peer := exchange.NewPeer(opened)
	l.open[production] = peer
	return peer, nil
}

// Waiting counts the edits that wait for an owner, in all productions.
func (l *Logs) Waiting() (n int, err error) {
	ids, err := l.store.Productions()
	if err != nil {
		return 0, err
	}
	for _, id := range ids {
		l.mu.Lock()
		found := l.open[id]
		l.mu.Unlock()
		if found != nil {
			n += found.Waiting()
			continue
		}
		rows, err := l.store.Asides(id) // to be asked how it is opens no log
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
