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
// that, and asks another member, for longer, where one gives no answer.
const (
	firstTry = 800 * time.Millisecond
	patience = 4 * time.Second
	pause    = 50 * time.Millisecond
)

// bounded is how long a try may take that must not last longer than callers wait.
func bounded(try time.Duration, until time.Time) time.Duration {
	return min(try, max(firstTry, time.Until(until)))
}

// once asks one member, which must know a leader.
func (s *Store) once(time time.Duration, ask func(context.Context) error) error {
	ctx, cancel := context.WithTimeout(clientv3.WithRequireLeader(s.ctx), time)
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
	case errors.Is(err, logbook.ErrAway): // told already
	case refuses(err):
		return fmt.Errorf("%w (%w)", logbook.ErrAway, &Refused{err})
	case isAway(err):
		return fmt.Errorf("%w (%w)", logbook.ErrAway, err)
	}
	return err
}

// codeOf is what kind of error a member told.
func codeOf(err error) codes.Code {
	var known rpctypes.EtcdError
	if errors.As(err, &known) {
		return known.Code()
	}
	return status.Code(err)
}

// isAway reports whether another try, or another member, may do.
func isAway(err error) bool {
	if errors.Is(err, context.DeadlineExceeded) || errors.Is(err, rpctypes.ErrNoLeader) {
		return true
	}
	switch codeOf(err) {
	case codes.Unavailable, codes.DeadlineExceeded, codes.Canceled:
		return true
	case codes.Unknown: // which a member says whose own time ran out
		_, told := status.FromError(err)
		return told
	case codes.Unauthenticated: // a token that a member does not know since it was started: another is got
		return errors.Is(err, rpctypes.ErrInvalidAuthToken) || errors.Is(err, rpctypes.ErrAuthOldRevision)
	}
	return false
}

// mayYet reports whether an answer that did not come may come at another try.
func mayYet(err error) bool {
	var refused *Refused
	return errors.Is(err, logbook.ErrAway) && !errors.As(err, &refused)
}

// until is how long a call that begins now waits. Where etcd is away, all wait for it from when that
// began.
func (s *Store) until() time.Time {
	s.following.standing.Lock()
	defer s.following.standing.Unlock()
	since := s.following.since
	if since.IsZero() {
		since = time.Now()
	}
	return since.Add(s.patience)
}

// givenUp is the answer of an etcd that is away for longer than an election takes: nobody asks it any more,
// one behind the other, but the one who looks each second whether it is there.
func (s *Store) givenUp() error {
	s.following.standing.Lock()
	defer s.following.standing.Unlock()
	if since := s.following.since; since.IsZero() || time.Since(since) <= s.patience {
		return nil
	}
	return s.following.why
}

// away notes that etcd has not answered since a time.
func (s *Store) away(since time.Time, why error) {
	s.following.standing.Lock()
	defer s.following.standing.Unlock()
	if f := &s.following; f.since.IsZero() || since.Before(f.since) {
		f.since = since
	}
	s.following.why = why
}

// inVain notes it where somebody waited for as long as anybody does.
func (s *Store) inVain(begun time.Time, err error) {
	if mayYet(err) && time.Since(begun) >= s.patience {
		s.away(begun, err)
	}
}

// patiently asks until there is an answer, or for as long as callers wait.
func (s *Store) patiently(ask func(context.Context) error) error { return s.askUntil(s.until(), ask) }

func (s *Store) askUntil(until time.Time, ask func(context.Context) error) error {
	if err := s.givenUp(); err != nil {
		return err
	}
	begun := time.Now()
	for try := firstTry; ; try *= 2 {
		err := s.once(bounded(try, until), ask)
		if !mayYet(err) || !s.rest(until) {
			s.inVain(begun, err)
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

// newest reads what stands now.
func (s *Store) newest(key string, more ...clientv3.OpOption) (r *clientv3.GetResponse, err error) {
	return s.newestUntil(s.until(), key, more...)
}

func (s *Store) newestUntil(until time.Time, key string, more ...clientv3.OpOption) (r *clientv3.GetResponse, err error) {
	err = s.askUntil(until, func(ctx context.Context) (err error) {
		r, err = s.client.Get(ctx, key, more...)
		return err
	})
	return r, err
}

// get reads what stands now, or, where no leader is known, what a member has.
func (s *Store) get(key string, more ...clientv3.OpOption) (r *clientv3.GetResponse, err error) {
	if s.AsOf().IsZero() {
		if r, err = s.newest(key, more...); !errors.Is(err, logbook.ErrAway) {
			return r, err
		}
	}
	ctx, cancel := context.WithTimeout(s.ctx, firstTry)
	defer cancel()
	r, err = s.client.Get(ctx, key, append(more, clientv3.WithSerializable())...)
	return r, s.told(err)
}

func isFull(err error) bool { return errors.Is(err, logbook.ErrFull) }
