package etcd

import (
	"context"
	"strings"
	"time"

	"evenwhite/logbook"

	clientv3 "go.etcd.io/etcd/client/v3"
)

// wrote notes whether a write found room.
func (s *Store) wrote(err error) error {
	if err == nil {
		s.full.Store(false)
	} else if isFull(err) {
		s.full.Store(true)
	}
	return err
}

// write writes what may be written twice.
func (s *Store) write(ask func(context.Context) error) error { return s.wrote(s.patiently(ask)) }

func (s *Store) keeping(name string, value []byte) clientv3.Op {
	if value == nil {
		return clientv3.OpDelete(s.keys.kept(name))
	}
	return clientv3.OpPut(s.keys.kept(name), string(value))
}

// Keep implements logbook.Store.
func (s *Store) Keep(name string, value []byte) error {
	if err := s.enter(); err != nil {
		return err
	}
	defer s.begun.Done()
	if err := logbook.CheckKeptName(name); err != nil {
		return err
	}
	return s.write(func(ctx context.Context) error {
		_, err := s.client.Do(ctx, s.keeping(name, value))
		return err
	})
}

// Swap implements logbook.Sharing.
func (s *Store) Swap(name string, old, value []byte) (done bool, err error) {
	if err := s.enter(); err != nil {
		return false, err
	}
	defer s.begun.Done()
	if err := logbook.CheckKeptName(name); err != nil {
		return false, err
	}
	key := s.keys.kept(name)
	same := clientv3.Compare(clientv3.Value(key), "=", string(old))
	if old == nil {
		same = clientv3.Compare(clientv3.CreateRevision(key), "=", 0)
	}
	lost := false // an answer
	err = s.write(func(ctx context.Context) error {
		r, err := s.client.Txn(ctx).If(same).Then(s.keeping(name, value)).Else(clientv3.OpGet(key)).Commit()
		if err != nil {
			lost = true
			return err
		}
		if done = r.Succeeded; !done && lost {
			kvs := r.Responses[0].GetResponseRange().Kvs
			done = value == nil && len(kvs) == 0 || value != nil && len(kvs) == 1 && string(kvs[0].Value) == string(value)
		}
		return nil
	})
	return done, err
}

// Kept implements logbook.Store.
func (s *Store) Kept(name string) ([]byte, error) {
	if err := s.enter(); err != nil {
		return nil, err
	}
	defer s.begun.Done()
	r, err := s.get(s.keys.kept(name))
	if err != nil || len(r.Kvs) == 0 {
		return nil, err
	}
	return append([]byte{}, r.Kvs[0].Value...), nil
}

// KeptUnder implements logbook.Store.
func (s *Store) KeptUnder(prefix string) (out []logbook.KeptValue, err error) {
	if err := s.enter(); err != nil {
		return nil, err
	}
	defer s.begun.Done()
	r, err := s.get(s.keys.kept(prefix), clientv3.WithPrefix())
	if err != nil {
		return nil, err
	}
	for _, kv := range r.Kvs {
		out = append(out, logbook.KeptValue{Name: strings.TrimPrefix(string(kv.Key), s.keys.kept("")), Value: append([]byte{}, kv.Value...)})
	}
	return out, nil
}

// KeepFor implements logbook.Sharing.
func (s *Store) KeepFor(name string, value []byte, life time.Duration) error {
	if err := s.enter(); err != nil {
		return err
	}
	defer s.begun.Done()
	if err := logbook.CheckKeptName(name); err != nil {
		return err
	}
	return s.write(func(ctx context.Context) error {
		lease, err := s.client.Grant(ctx, max(1, int64(life/time.Second)))
		if err != nil {
			return err
		}
		_, err = s.client.Put(ctx, s.keys.kept(name), string(value), clientv3.WithLease(lease.ID))
		return err
	})
}
