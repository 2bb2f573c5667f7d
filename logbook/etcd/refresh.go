package etcd

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"evenwhite/logbook"

	"go.etcd.io/etcd/api/v3/mvccpb"
	clientv3 "go.etcd.io/etcd/client/v3"
)

// Newest implements logbook.SharedStore.
func (s *Store) Newest(production logbook.ID) (changes uint64, err error) {
	l, err := s.log(production)
	if err != nil {
		return 0, err
	}
	if err := s.enter(); err != nil {
		return 0, err
	}
	defer s.begun.Done()
	until := s.until()
	l.working.Lock()
	defer l.working.Unlock()
	if err := s.refreshUntil(l, until); err != nil {
		return 0, err
	}
	if l.head.rev == 0 {
		return 0, logbook.ErrNoProduction
	}
	return l.head.changes, nil
}

// refresh learns what others wrote. The caller works on the log.
func (s *Store) refresh(l *log) error { return s.refreshUntil(l, s.until()) }

func (s *Store) refreshUntil(l *log, until time.Time) error {
	r, err := s.newestUntil(until, s.keys.head(l.id))
	if err != nil {
		return err
	}
	var is head
	for _, kv := range r.Kvs {
		if is, err = decodeHead(kv.Value, kv.ModRevision); err != nil {
			return err
		}
	}
	return s.follow(l, is)
}

// follow brings an index up to a head. The caller works on the log.
func (s *Store) follow(l *log, is head) error {
	if is.rev == l.head.rev {
		return nil
	}
	if is.rev == 0 || is.Identity != l.head.Identity {
		s.mu.Lock()
		l.forget()
		s.mu.Unlock()
		defer l.changed.Wake()
	}
	if is.rev == 0 {
		return nil
	}
	folder := s.keys.log(l.id, is.Identity)
	n := &news{head: is}
	var rows []row
	var pages []page
	err := s.eachUnder(s.newest, folder+"dots/", uint64(l.head.Seq)+1, func(first uint64, value []byte) (more bool, err error) {
		if first > uint64(is.Seq) {
			return false, nil
		}
		some, size, err := decodeDots(value)
		if err == nil && logbook.Seq(first) != l.head.Seq+logbook.Seq(len(rows))+1 {
			err = fmt.Errorf("%w: a page of dots begins at %d", logbook.ErrDamaged, first)
		}
		pages, rows = append(pages, page{logbook.Seq(first), size}), append(rows, some...)
		return true, err
	})
	if err != nil {
		return err
	}
	err = s.eachUnder(s.newest, folder+"clashes/", l.head.clashes+1, func(number uint64, value []byte) (more bool, err error) {
		if number > is.clashes {
			return false, nil
		}
		some, err := eachEntry(value)
		n.clashes = append(n.clashes, some...)
		return true, err
	})
	if err != nil {
		return err
	}
	chain, chains := l.head.Chain, make([]logbook.Chain, len(rows))
	for i, r := range rows {
		chain = chain.Next(r.hash)
		chains[i] = chain
	}
	if l.head.Seq+logbook.Seq(len(rows)) != is.Seq || chain != is.Chain {
		return fmt.Errorf("%w: the dots of production %s do not lead to its head", logbook.ErrDamaged, l.id)
	}
	s.mu.Lock()
	for i, r := range rows {
		l.add(r, chains[i])
	}
	l.pages = append(l.pages, pages...)
	l.addClashes(n.clashes)
	l.head = is
	s.mu.Unlock()
	l.changed.Wake()
	return nil
}

// perRange is how many keys are read at a time.
const perRange = 200

// A reader is newest, or get, which a member may answer that lags behind.
type reader func(key string, more ...clientv3.OpOption) (*clientv3.GetResponse, error)

// eachUnder reads what stands under numbers of a folder, from one on.
func (s *Store) eachUnder(read reader, folder string, from uint64, do func(number uint64, value []byte) (more bool, err error)) error {
	for {
		r, err := read(numbered(folder, from), clientv3.WithRange(clientv3.GetPrefixRangeEnd(folder)), clientv3.WithLimit(perRange))
		if err != nil {
			return err
		}
		for _, kv := range r.Kvs {
			number, err := numberIn(kv, folder)
			if err != nil {
				return err
			}
			if more, err := do(number, kv.Value); err != nil || !more {
				return err
			}
			from = number + 1
		}
		if !r.More {
			return nil
		}
	}
}

func numberIn(kv *mvccpb.KeyValue, folder string) (n uint64, err error) {
	if _, err := fmt.Sscanf(strings.TrimPrefix(string(kv.Key), folder), "%016x", &n); err != nil {
		return 0, fmt.Errorf("%w: the key %q", logbook.ErrDamaged, kv.Key)
	}
	return n, nil
}

// readHeads learns what others wrote to any log, and which are new or gone. It returns the revision
// at which it read.
func (s *Store) readHeads() (rev int64, err error) {
	folder := string(s.keys) + headsUnder
	var r *clientv3.GetResponse
	err = s.once(pollTime, func(ctx context.Context) (err error) {
		r, err = s.client.Get(ctx, folder, clientv3.WithPrefix())
		return err
	})
	if err != nil {
		return 0, err
	}
	s.asksWentWell()
	heads := map[logbook.ID]head{}
	for _, kv := range r.Kvs {
		id, err := logbook.ParseID(strings.TrimPrefix(string(kv.Key), folder))
		if err != nil {
			return 0, fmt.Errorf("%w: the key %q", logbook.ErrDamaged, kv.Key)
		}
		if heads[id], err = decodeHead(kv.Value, kv.ModRevision); err != nil {
			return 0, err
		}
		s.known(id)
	}
	s.mu.RLock()
	all := slices.Collect(maps.Values(s.logs))
	s.mu.RUnlock()
	for _, l := range all {
		if err := s.behind(l, heads[l.id], r.Header.Revision); err != nil {
			return 0, err
		}
	}
	return r.Header.Revision, nil
}

// behind brings an index up to a head that was read at a revision, unless it went on since.
func (s *Store) behind(l *log, is head, read int64) error {
	s.mu.RLock()
	same := l.head.rev == is.rev
	s.mu.RUnlock()
	if same {
		return nil
	}
	l.working.Lock()
	defer l.working.Unlock()
	if l.head.rev > read {
		return nil
	}
	if l.head.rev != 0 && is.rev < l.head.rev { // gone, or begun anew: as it is now
		return s.refresh(l)
	}
	return s.follow(l, is)
}
