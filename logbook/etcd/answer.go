package etcd

import (
	"context"
	"errors"
	"fmt"
	"time"

	"evenwhite/logbook"

	"go.etcd.io/etcd/api/v3/v3rpc/rpctypes"
	clientv3 "go.etcd.io/etcd/client/v3"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
)

// How long etcd may take. Members elect another leader within one or two seconds: a call waits for
// that, and asks another member where one gives no answer.
const (
	oneTry   = 1500 * time.Millisecond
	patience = 6 * time.Second
	pause    = 50 * time.Millisecond
)

// once asks one member, which must know a leader.
func (s *Store) once(ctx context.Context, ask func(context.Context) error) error {
	ctx, cancel := context.WithTimeout(clientv3.WithRequireLeader(ctx), oneTry)
	defer cancel()
	return s.told(ask(ctx))
}

// told turns what etcd says into what a store says.
func (s *Store) told(err error) error {
	switch {
	case err == nil:
		return nil
	case errors.Is(s.ctx.Err(), context.Canceled):
		return logbook.ErrClosed
	case errors.Is(err, rpctypes.ErrNoSpace):
		return fmt.Errorf("%w (etcd has reached its quota)", logbook.ErrFull)
	case away(err):
		return fmt.Errorf("%w (%w)", logbook.ErrAway, err)
	}
	return err
}

// away reports whether another try, or another member, may do.
func away(err error) bool {
	if errors.Is(err, context.DeadlineExceeded) || errors.Is(err, rpctypes.ErrNoLeader) || errors.Is(err, logbook.ErrAway) {
		return true
	}
	var known rpctypes.EtcdError
	code := status.Code(err)
	if errors.As(err, &known) {
		code = known.Code()
	}
	switch code {
	case codes.Unavailable, codes.DeadlineExceeded, codes.Canceled:
		return true
	case codes.Unauthenticated: // a token that a member does not know since it was started: another is got
		return errors.Is(err, rpctypes.ErrInvalidAuthToken) || errors.Is(err, rpctypes.ErrAuthOldRevision)
	}
	return false
}

// patiently asks until there is an answer, or for as long as callers wait.
func (s *Store) patiently(ask func(context.Context) error) error {
	until := time.Now().Add(s.patience)
	for {
		err := s.once(s.ctx, ask)
		if !errors.Is(err, logbook.ErrAway) || !s.rest(until) {
			return err
		}
	}
}

// rest waits a little before another try, unless callers have waited long enough.
func (s *Store) rest(until time.Time) bool {
	if time.Now().Add(pause).After(until) {
		return false
	}
	select {
	case <-time.After(pause):
		return true
	case <-s.ctx.Done():
		return false
	}
}

// get reads what stands now. Where no leader is known a member says what it has: old is then true.
func (s *Store) get(key string, more ...clientv3.OpOption) (r *clientv3.GetResponse, old bool, err error) {
	ask := func(ctx context.Context) (err error) {
		r, err = s.client.Get(ctx, key, more...)
		return err
	}
	if s.awaySince().IsZero() {
		if err = s.patiently(ask); !errors.Is(err, logbook.ErrAway) {
			return r, false, err
		}
	}
	more = append(more, clientv3.WithSerializable())
	ctx, cancel := context.WithTimeout(s.ctx, oneTry)
	defer cancel()
	return r, true, s.told(ask(ctx))
}

func isFull(err error) bool { return errors.Is(err, logbook.ErrFull) }
