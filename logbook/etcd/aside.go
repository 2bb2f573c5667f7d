package etcd

import (
	"context"
	"slices"

	"evenwhite/logbook"

	clientv3 "go.etcd.io/etcd/client/v3"
)

// asideRows are the rows of one device, and the revision of their key.
type asideRows struct {
	rows []logbook.Aside
	rev  int64
}

// readAsides reads what is kept aside of a log, by key: few rows, seldom asked for.
func (s *Store) readAsides(folder string) (all map[string]*asideRows, err error) {
	r, err := s.get(folder, clientv3.WithPrefix())
	if err != nil {
		return nil, err
	}
	all = map[string]*asideRows{}
	for _, kv := range r.Kvs {
		rows, err := decodeAsides(kv.Value)
		if err != nil {
			return nil, err
		}
		all[string(kv.Key)] = &asideRows{rows, kv.ModRevision}
	}
	return all, nil
}

// changeAsides writes what how makes of the rows; it returns the keys that it touched.
func (s *Store) changeAsides(production logbook.ID, how func(folder string, all map[string]*asideRows) (touched []string)) error {
	if err := s.enter(); err != nil {
		return err
	}
	defer s.begun.Done()
	for {
		l, err := s.log(production)
		if err != nil {
			return err
		}
		s.mu.RLock()
		folder := s.keys.log(l.id, l.head.Identity) + asideFolder
		s.mu.RUnlock()
		all, err := s.readAsides(folder)
		if err != nil {
			return err
		}
		// Of a log that was removed nothing is kept: its head is there, whatever it says.
		same := []clientv3.Cmp{clientv3.Compare(clientv3.CreateRevision(s.keys.head(production)), ">", 0)}
		var ops []clientv3.Op
		for _, key := range how(folder, all) {
			same = append(same, clientv3.Compare(clientv3.ModRevision(key), "=", all[key].rev))
			op := clientv3.OpPut(key, encodeAsides(all[key].rows))
			if len(all[key].rows) == 0 {
				op = clientv3.OpDelete(key)
			}
			ops = append(ops, op)
		}
		if len(ops) == 0 {
			return nil
		}
		done := false
		err = s.write(func(ctx context.Context) error { // twice does what once does, or is refused
			r, err := s.client.Txn(ctx).If(same...).Then(ops...).Commit()
			done = err == nil && r.Succeeded
			return err
		})
		if err != nil || done {
			if err == nil {
				l.asidesChanged()
			}
			return err
		}
		if _, err := s.Newest(production); err != nil { // of a log that is gone
			return err
		}
	}
}

// SetAside implements logbook.Store.
func (s *Store) SetAside(production logbook.ID, rows []logbook.Aside) error {
	if _, err := s.log(production); err != nil {
		return err
	}
	for i := range rows {
		if err := rows[i].Verify(); err != nil {
			return err
		}
	}
	return s.changeAsides(production, func(folder string, all map[string]*asideRows) (touched []string) {
		for _, row := range rows {
			row.Notes = nil
			key := folder + row.Via.String()
			at := -1
			for k, of := range all {
				if i := slices.IndexFunc(of.rows, func(a logbook.Aside) bool { return a.Key() == row.Key() }); i >= 0 {
					key, at = k, i
				}
			}
			if all[key] == nil {
				all[key] = &asideRows{}
			}
			if at >= 0 {
				all[key].rows[at].Left = row.Left
			} else {
				all[key].rows = append(all[key].rows, row)
			}
			if !slices.Contains(touched, key) {
				touched = append(touched, key)
			}
		}
		return touched
	})
}

// DropAside implements logbook.Store.
func (s *Store) DropAside(production logbook.ID, keys []logbook.AsideKey) error {
	return s.changeAsides(production, func(_ string, all map[string]*asideRows) (touched []string) {
		for key, of := range all {
			left := slices.DeleteFunc(slices.Clone(of.rows), func(a logbook.Aside) bool { return slices.Contains(keys, a.Key()) })
			if len(left) < len(of.rows) {
				of.rows, touched = left, append(touched, key)
			}
		}
		return touched
	})
}

// Asides implements logbook.Store.
func (s *Store) Asides(production logbook.ID) (rows []logbook.Aside, err error) {
	if err := s.enter(); err != nil {
		return nil, err
	}
	defer s.begun.Done()
	var folder string
	if err := s.lookUp(production, func(l *log) { folder = s.keys.log(l.id, l.head.Identity) + asideFolder }); err != nil {
		return nil, err
	}
	all, err := s.readAsides(folder)
	for _, of := range all {
		rows = append(rows, of.rows...)
	}
	slices.SortFunc(rows, func(a, b logbook.Aside) int {
		if a.Key().Less(b.Key()) {
			return -1
		}
		return 1
	})
	return rows, err
}
