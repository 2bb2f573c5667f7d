package etcd

import (
	"context"
	"maps"
	"slices"
	"sync"
	"time"

	clientv3 "go.etcd.io/etcd/client/v3"
)

// brief are values that are kept for a time and wait to be written: nobody waits for that.
type brief struct {
	mu      sync.Mutex
	waiting map[string]briefValue
	wake    chan struct{}
}

type briefValue struct {
	value []byte
	life  time.Duration
}

// KeepFor implements logbook.Sharing.
func (s *Store) KeepFor(name string, value []byte, life time.Duration) {
	s.brief.mu.Lock()
	if s.brief.waiting == nil {
		s.brief.waiting = map[string]briefValue{}
	}
	s.brief.waiting[name] = briefValue{value, life}
	s.brief.mu.Unlock()
	select {
	case s.brief.wake <- struct{}{}:
	default:
	}
}

// mostBrief bounds what one step writes.
const mostBrief = 100

// keepBrief writes what waits. What cannot be written is dropped: it is worth little later.
func (s *Store) keepBrief() {
	for {
		select {
		case <-s.ctx.Done():
			return
		case <-s.brief.wake:
		}
		s.brief.mu.Lock()
		waiting := s.brief.waiting
		s.brief.waiting = nil
		s.brief.mu.Unlock()
		byLife := map[time.Duration][]clientv3.Op{}
		for _, name := range slices.Sorted(maps.Keys(waiting)) {
			life := waiting[name].life
			byLife[life] = append(byLife[life], s.keeping(name, waiting[name].value))
		}
		for life, ops := range byLife {
			for some := range slices.Chunk(ops, mostBrief) {
				s.putFor(life, some)
			}
		}
	}
}

func (s *Store) putFor(life time.Duration, ops []clientv3.Op) {
	_ = s.once(s.ctx, func(ctx context.Context) error {
		if life > 0 {
			lease, err := s.client.Grant(ctx, max(1, int64(life/time.Second)))
			if err != nil {
				return err
			}
			for i := range ops {
				clientv3.WithLease(lease.ID)(&ops[i])
			}
		}
		_, err := s.client.Txn(ctx).Then(ops...).Commit()
		return err
	})
}
