package etcd

import (
	"context"
	"strings"

	"evenwhite/logbook"

	clientv3 "go.etcd.io/etcd/client/v3"
)

// Remove implements logbook.Store. One transaction takes the head away and keeps the mark; the rest,
// which nothing leads to any more, is deleted after it.
func (s *Store) Remove(production logbook.ID, at logbook.Head, mark []byte) error {
	l, err := s.log(production)
	if err != nil {
		return err
	}
	if err := s.enter(); err != nil {
		return err
	}
	defer s.begun.Done()
	l.working.Lock()
	defer l.working.Unlock()
	if err := s.refresh(l); err != nil {
		return err
	}
	switch {
	case l.head.rev == 0:
		return logbook.ErrNoProduction
	case l.head.Head != at:
		return logbook.ErrWentOn
	}
	key, gone := s.keys.head(production), s.keys.gone(production, at.Identity)
	done, lost := false, false
	err = s.write(func(ctx context.Context) error {
		r, err := s.client.Txn(ctx).If(clientv3.Compare(clientv3.ModRevision(key), "=", l.head.rev)).
			Then(clientv3.OpDelete(key), clientv3.OpPut(gone, ""), s.keeping(logbook.RemovedName(production), mark)).
			Else(clientv3.OpGet(gone)).Commit()
		if err != nil {
			lost = true
			return err
		}
		done = r.Succeeded || lost && r.Responses[0].GetResponseRange().Count == 1
		return nil
	})
	if err == nil && !done {
		err = logbook.ErrWentOn
	}
	if err != nil {
		return err
	}
	_ = s.finishRemovals() // else whoever opens the store next does
	return s.follow(l, head{})
}

// perDelete is how many keys one step deletes: members apply a step in one go.
const perDelete = 1000

// finishRemovals deletes what is left of logs that were removed.
func (s *Store) finishRemovals() error {
	r, err := s.get(string(s.keys)+goneUnder, clientv3.WithPrefix(), clientv3.WithKeysOnly())
	if err != nil {
		return err
	}
	for _, kv := range r.Kvs {
		folder := string(s.keys) + logsUnder + strings.TrimPrefix(string(kv.Key), string(s.keys)+goneUnder)
		for {
			some, err := s.newest(folder, clientv3.WithPrefix(), clientv3.WithKeysOnly(), clientv3.WithLimit(perDelete))
			if err != nil {
				return err
			}
			if len(some.Kvs) == 0 {
				break
			}
			last := string(some.Kvs[len(some.Kvs)-1].Key) + "\x00"
			if err := s.patiently(func(ctx context.Context) error {
				_, err := s.client.Delete(ctx, folder, clientv3.WithRange(last))
				return err
			}); err != nil {
				return err
			}
		}
		if err := s.patiently(func(ctx context.Context) error {
			_, err := s.client.Delete(ctx, string(kv.Key))
			return err
		}); err != nil {
			return err
		}
	}
	return nil
}
