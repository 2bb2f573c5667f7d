package api

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"evenwhite/api/quota"
	"evenwhite/logbook"
)

// errOthersFirst is wrapped where as many wait for something as may.
var errOthersFirst = fmt.Errorf("%w: others are being served", quota.ErrBusy)

// turns serve one asker per production at a time. A few wait, for a while; more are
// sent away.
type turns struct {
	mu   sync.Mutex
	open map[logbook.ID]*turn
}

// turn is a place, and how many have or want it.
type turn struct {
	place chan struct{}
	here  int
}

const (
	mostHere = 4                // who is served, and who waits
	longWait = 10 * time.Second // also when to ask again
)

// enter waits for the place of a production; leave gives it back.
func (t *turns) enter(production logbook.ID, ctx context.Context) (leave func(), err error) {
	p, err := t.join(production)
	if err != nil {
		return nil, err
	}
	ctx, cancel := context.WithTimeout(ctx, longWait)
	defer cancel()
	select {
	case p.place <- struct{}{}:
		return func() { <-p.place; t.part(production, p) }, nil
	case <-ctx.Done():
		t.part(production, p)
		return nil, errors.Join(errOthersFirst, ctx.Err())
	}
}

func (t *turns) join(production logbook.ID) (*turn, error) {
	t.mu.Lock()
	defer t.mu.Unlock()
	p := t.open[production]
	if p == nil {
		p = &turn{place: make(chan struct{}, 1)}
		if t.open == nil {
			t.open = map[logbook.ID]*turn{}
		}
		t.open[production] = p
	}
	if p.here == mostHere {
		return nil, errOthersFirst
	}
	p.here++
	return p, nil
}

func (t *turns) part(production logbook.ID, p *turn) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if p.here--; p.here == 0 {
		delete(t.open, production)
	}
}
