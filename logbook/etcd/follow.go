package etcd

import (
	"context"
	"errors"
	"maps"
	"slices"
	"strings"
	"sync"
	"time"

	"evenwhite/logbook"

	clientv3 "go.etcd.io/etcd/client/v3"
)

// How often heads are read although no watch says anything, and after which time a watch that broke
// is made again.
const (
	pollEvery  = time.Second
	pollTime   = 2 * time.Second // that it may take
	watchAgain = 200 * time.Millisecond
)

// following is who wants to know of what others write.
type following struct {
	mu   sync.Mutex
	subs map[string]*subscription
	poke chan struct{} // a head changed

	standing sync.Mutex
	since    time.Time // when etcd ceased to answer; zero while it does
	why      error     // what it said last instead
	asOf     time.Time // when it answered last
	rev      int64     // the newest that a watch told of, but for values that are brief
}

// A subscription is told of values one at a time.
type subscription struct {
	mu    sync.Mutex
	told  func(logbook.KeptValue)
	names map[string]struct{}
}

func (u *subscription) tell(v logbook.KeptValue) {
	u.mu.Lock()
	defer u.mu.Unlock()
	if v.Value == nil {
		delete(u.names, v.Name)
	} else {
		u.names[v.Name] = struct{}{}
	}
	u.told(v)
}

// Changed implements logbook.SharedStore.
func (s *Store) Changed(production logbook.ID) (next <-chan struct{}, asides uint64) {
	l := s.known(production)
	next = l.changed.Next()
	if s.ctx.Err() != nil {
		l.changed.Wake()
	}
	return next, l.asides.Load()
}

// Follow implements logbook.Sharing.
func (s *Store) Follow(prefix string, told func(logbook.KeptValue)) error {
	u := &subscription{told: told, names: map[string]struct{}{}}
	s.following.mu.Lock()
	s.following.subs[prefix] = u
	s.following.mu.Unlock()
	return s.tellAll(prefix, u)
}

// tellAll tells of all values under a prefix, and of those that are gone.
func (s *Store) tellAll(prefix string, u *subscription) error {
	values, err := s.KeptUnder(prefix)
	if err != nil {
		return err
	}
	u.mu.Lock()
	gone := maps.Clone(u.names)
	u.mu.Unlock()
	for _, v := range values {
		delete(gone, v.Name)
		u.tell(v)
	}
	for name := range gone {
		u.tell(logbook.KeptValue{Name: name})
	}
	return nil
}

// asksWentWell notes that etcd answers.
func (s *Store) asksWentWell() {
	f := &s.following
	f.standing.Lock()
	again := !f.since.IsZero()
	f.since, f.asOf = time.Time{}, time.Now()
	f.standing.Unlock()
	if !again {
		return
	}
	s.mu.RLock()
	defer s.mu.RUnlock()
	for _, l := range s.logs { // who could not read tries again
		l.changed.Wake()
	}
}

// AsOf is how new what can be read is, while etcd does not answer; zero while it does.
func (s *Store) AsOf() time.Time {
	s.following.standing.Lock()
	defer s.following.standing.Unlock()
	if s.following.since.IsZero() {
		return time.Time{}
	}
	return s.following.asOf
}

// pollHeads reads the heads whenever a watch says so, and each second.
func (s *Store) pollHeads() {
	tick := time.NewTicker(pollEvery)
	defer tick.Stop()
	for {
		select {
		case <-s.ctx.Done():
			return
		case <-tick.C:
		case <-s.following.poke:
		}
		begun := time.Now()
		if _, err := s.readHeads(); errors.Is(err, logbook.ErrAway) {
			s.away(begun, err)
		}
	}
}

// watch waits for what others write.
func (s *Store) watch() {
	for s.ctx.Err() == nil {
		if rev, err := s.readHeads(); err == nil && s.tellSubscribers() == nil {
			s.watchFrom(rev + 1)
		}
		select {
		case <-time.After(watchAgain):
		case <-s.ctx.Done():
		}
	}
}

func (s *Store) tellSubscribers() (err error) {
	s.following.mu.Lock()
	subs := maps.Clone(s.following.subs)
	s.following.mu.Unlock()
	for prefix, u := range subs {
		err = errors.Join(err, s.tellAll(prefix, u))
	}
	return err
}

// watchFrom tells what comes from a revision on, until the watch breaks.
func (s *Store) watchFrom(rev int64) {
	ctx, cancel := context.WithCancel(clientv3.WithRequireLeader(s.ctx))
	defer cancel()
	for r := range s.client.Watch(ctx, string(s.keys), clientv3.WithPrefix(), clientv3.WithRev(rev)) {
		if r.Err() != nil { // compacted, or no leader
			return
		}
		for _, e := range r.Events {
			s.heard(e)
		}
	}
}

// heard looks at one event of a watch.
func (s *Store) heard(e *clientv3.Event) {
	name := strings.TrimPrefix(string(e.Kv.Key), string(s.keys))
	under, rest, _ := strings.Cut(name, "/")
	if !strings.HasPrefix(rest, logbook.BriefUnder) {
		s.following.standing.Lock()
		s.following.rev = e.Kv.ModRevision
		s.following.standing.Unlock()
	}
	switch under + "/" {
	case headsUnder:
		select {
		case s.following.poke <- struct{}{}:
		default:
		}
	case logsUnder:
		if id, rest, ok := strings.Cut(rest, "/"); ok && strings.Contains(rest, "/"+asideFolder) {
			if production, err := logbook.ParseID(id); err == nil {
				s.known(production).asidesChanged()
			}
		}
	case keptUnder:
		v := logbook.KeptValue{Name: rest}
		if e.Type == clientv3.EventTypePut {
			v.Value = append([]byte{}, e.Kv.Value...)
		}
		for _, u := range s.subscribers(rest) {
			u.tell(v)
		}
	}
}

func (s *Store) subscribers(name string) (to []*subscription) {
	s.following.mu.Lock()
	defer s.following.mu.Unlock()
	for _, prefix := range slices.Sorted(maps.Keys(s.following.subs)) {
		if strings.HasPrefix(name, prefix) {
			to = append(to, s.following.subs[prefix])
		}
	}
	return to
}
