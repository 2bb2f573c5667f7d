package etcd

import (
	"context"
	"fmt"
	"slices"
	"sort"

	"evenwhite/logbook"

	clientv3 "go.etcd.io/etcd/client/v3"
)

// Read implements logbook.Store.
func (s *Store) Read(production logbook.ID, after logbook.Seq, atMost int) (out []logbook.Stored, err error) {
	if err := s.enter(); err != nil {
		return nil, err
	}
	defer s.begun.Done()
	size := 0
	for len(out) == 0 || size < atMost {
		some, err := s.pagesFrom(production, after+1, atMost-size)
		if err != nil || len(some) == 0 {
			return out, err
		}
		for i := range some {
			if len(out) > 0 && size >= atMost {
				return out, nil
			}
			e := some[i]
			e.Bytes = slices.Clone(e.Bytes)
			out, size, after = append(out, e), size+len(e.Bytes), e.Seq
		}
	}
	return out, nil
}

// pagesFrom are edits from a sequence on: the rest of its page, and others that are read at the same time.
func (s *Store) pagesFrom(production logbook.ID, from logbook.Seq, atMost int) (found []logbook.Stored, err error) {
	var wanted []page
	var folder string
	var cached []logbook.Stored
	err = s.lookUp(production, func(l *log) {
		if from > l.head.Seq || from == 0 {
			return
		}
		at := sort.Search(len(l.pages), func(i int) bool { return l.pages[i].first > from }) - 1
		if cached = s.pages.find(l, l.pages[at].first); cached != nil {
			cached = cached[from-l.pages[at].first:]
			return
		}
		folder = s.keys.log(l.id, l.head.Identity)
		for size := 0; at < len(l.pages) && len(wanted) < perRange && (len(wanted) == 0 || size < min(atMost, mostBytes)); at++ {
			wanted, size = append(wanted, l.pages[at]), size+l.pages[at].size
		}
	})
	if err != nil || cached != nil || len(wanted) == 0 {
		return cached, err
	}
	values, err := s.readPages(folder, wanted)
	if err != nil {
		return nil, err
	}
	for i, p := range wanted {
		entries, err := eachEntry(values[i])
		if err != nil {
			return nil, err
		}
		var stored []logbook.Stored
		err = s.lookUp(production, func(l *log) {
			for j, e := range entries {
				seq := p.first + logbook.Seq(j)
				if seq > l.head.Seq || l.rows[seq-1] != (row{e.Dot, e.Hash}) {
					stored = nil
					return
				}
				stored = append(stored, logbook.Stored{Entry: e, Seq: seq, Chain: l.chains[seq-1]})
			}
		})
		if err == nil && stored == nil {
			err = fmt.Errorf("%w: the edits from sequence %d on are not those of their dots", logbook.ErrDamaged, p.first)
		}
		if err != nil {
			return nil, err
		}
		found = append(found, stored...)
	}
	s.keepPage(production, wanted[len(wanted)-1], found)
	return found[from-wanted[0].first:], nil
}

// keepPage remembers the last of the pages that were read: others ask for it as well.
func (s *Store) keepPage(production logbook.ID, p page, found []logbook.Stored) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if l := s.logs[production]; l != nil && l.head.Seq >= p.first {
		s.pages.keep(l, found[p.first-found[0].Seq:], p.size)
	}
}

// readPages reads pages that run on. Any member may answer, for they never change; one that lags
// behind may lack some.
func (s *Store) readPages(folder string, wanted []page) (values [][]byte, err error) {
	from, to := numbered(folder+"edits/", uint64(wanted[0].first)), numbered(folder+"edits/", uint64(wanted[len(wanted)-1].first)+1)
	ctx, cancel := context.WithTimeout(s.ctx, firstTry)
	r, err := s.client.Get(ctx, from, clientv3.WithRange(to), clientv3.WithSerializable())
	cancel()
	if err != nil || len(r.Kvs) != len(wanted) {
		if r, err = s.newest(from, clientv3.WithRange(to)); err != nil {
			return nil, err
		}
	}
	if len(r.Kvs) != len(wanted) {
		return nil, fmt.Errorf("%w: of %d pages of edits %d are there", logbook.ErrDamaged, len(wanted), len(r.Kvs))
	}
	for _, kv := range r.Kvs {
		values = append(values, kv.Value)
	}
	return values, nil
}

// Get implements logbook.Store.
func (s *Store) Get(production logbook.ID, dots []logbook.Dot) (out []logbook.Stored, err error) {
	var at []logbook.Seq
	err = s.lookUp(production, func(l *log) {
		for _, d := range dots {
			if seq := l.at[d]; seq > 0 {
				at = append(at, seq)
			}
		}
	})
	for _, seq := range at {
		one, err := s.Read(production, seq-1, 1)
		if err != nil {
			return nil, err
		}
		out = append(out, one...)
	}
	return out, err
}

// Head implements logbook.Store.
func (s *Store) Head(production logbook.ID) (at logbook.Head, err error) {
	err = s.lookUp(production, func(l *log) { at = l.head.Head })
	return at, err
}

// ChainAt implements logbook.Store. Who comes from another process may stand further on than this one.
func (s *Store) ChainAt(production logbook.ID, seq logbook.Seq) (chain logbook.Chain, ok bool, err error) {
	look := func(l *log) {
		if ok = seq <= l.head.Seq; ok && seq > 0 {
			chain = l.chains[seq-1]
		}
	}
	if err = s.lookUp(production, look); err != nil || ok {
		return chain, ok, err
	}
	if _, err = s.Newest(production); err == nil {
		err = s.lookUp(production, look)
	}
	return chain, ok, err
}

// Ranges implements logbook.Store.
func (s *Store) Ranges(production logbook.ID) (held logbook.Ranges, err error) {
	err = s.lookUp(production, func(l *log) { held = l.held.Ranges() })
	return held, err
}

// RangesBehind implements logbook.Store.
func (s *Store) RangesBehind(production logbook.ID, behind logbook.Dot, atMost int) (held logbook.Ranges, to logbook.Dot, err error) {
	err = s.lookUp(production, func(l *log) { held, to = l.held.Part(behind, atMost) })
	return held, to, err
}

// Damaged implements logbook.Store. Members check what they hold by themselves; a page that is not
// what was stored is an error of whoever reads it.
func (s *Store) Damaged(production logbook.ID) ([]logbook.Damage, error) {
	return nil, s.lookUp(production, func(*log) {})
}

// Clashes implements logbook.Store.
func (s *Store) Clashes(production logbook.ID) (out []logbook.Entry, err error) {
	var folder string
	var pages uint64
	err = s.lookUp(production, func(l *log) { folder, pages = s.keys.log(l.id, l.head.Identity), l.head.clashes })
	if err != nil {
		return nil, err
	}
	err = s.eachUnder(s.get, folder+"clashes/", 1, func(number uint64, value []byte) (bool, error) {
		if number > pages {
			return false, nil
		}
		some, err := eachEntry(value)
		out = append(out, some...)
		return true, err
	})
	return out, err
}

// pages remembers edits that were written or read lately: whoever follows asks for just those. It is
// changed and read under the lock of the store, or with its own.
type pages struct {
	of    map[pageName][]logbook.Stored
	order []pageName // oldest first
	sizes []int
	bytes int
}

type pageName struct {
	production logbook.ID
	identity   logbook.Line
	first      logbook.Seq
}

// mostPages bounds the bytes of what is remembered.
const mostPages = 16 << 20

func (p *pages) find(l *log, first logbook.Seq) []logbook.Stored {
	return p.of[pageName{l.id, l.head.Identity, first}]
}

func (p *pages) keep(l *log, edits []logbook.Stored, size int) {
	name := pageName{l.id, l.head.Identity, edits[0].Seq}
	if p.of == nil {
		p.of = map[pageName][]logbook.Stored{}
	}
	if _, known := p.of[name]; known {
		return
	}
	p.of[name] = edits
	p.order, p.sizes, p.bytes = append(p.order, name), append(p.sizes, size), p.bytes+size
	for p.bytes > mostPages && len(p.order) > 1 {
		delete(p.of, p.order[0])
		p.bytes -= p.sizes[0]
		p.order, p.sizes = p.order[1:], p.sizes[1:]
	}
}
