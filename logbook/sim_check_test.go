package logbook

import (
	"errors"
	"fmt"
	"sort"
)

// compared is the state of a node that was last compared with the oracle: a book
// that took nothing in since shows the same.
type compared struct {
	book  *Book
	edits int
}

// check compares every node with the oracle over what it holds.
func (s *sim) check() error {
	if s.fault != nil {
		return s.fault
	}
	for i, p := range s.phones {
		err := lacks(p.must, func(d Dot) bool { return p.r.edits[d] != nil })
		if now := (compared{p.r.book, len(p.r.edits)}); err == nil && now != p.seen {
			err = compare(p.r.book, held(p.r.edits))
			p.seen = now
		}
		if err != nil {
			return fmt.Errorf("phone %d: %w", i, err)
		}
	}
	for i, srv := range s.servers {
		if err := s.checkServer(i, srv); err != nil {
			return fmt.Errorf("server %d: %w", i, err)
		}
	}
	return nil
}

func (s *sim) checkServer(i int, srv *simServer) error {
	all := srv.store.logs[testID(1)] // as it lies there, with no copies
	if err := lacks(srv.must, func(d Dot) bool { _, ok := all.at[d]; return ok }); err != nil {
		return err
	}
	kept := map[string]bool{}
	for _, c := range all.clashes {
		kept[string(c.Bytes)] = true
	}
	for bytes := range srv.aside {
		if !kept[bytes] {
			return errors.New("an edit that it called a clash is not kept aside")
		}
	}
	now := compared{srv.log.book, len(all.edits)}
	if now == srv.seen {
		return nil
	}
	srv.seen = now
	var edits []*Edit
	for _, st := range all.edits {
		e, err := DecodeEdit(st.Bytes)
		if err != nil {
			return err
		}
		edits = append(edits, e)
	}
	return compare(srv.log.book, edits)
}

// lacks names the least edit that should be there and is not.
func lacks(must map[Dot]bool, has func(Dot) bool) error {
	var missing []Dot
	for d := range must {
		if !has(d) {
			missing = append(missing, d)
		}
	}
	if len(missing) == 0 {
		return nil
	}
	sort.Slice(missing, func(i, j int) bool { return missing[i].Less(missing[j]) })
	return fmt.Errorf("%d edits that it had are gone, such as %s", len(missing), missing[0])
}

// asWritten compares what whoever made some edits sees next with what they did.
func asWritten(b *Book, edits []*Edit) error {
	for _, e := range edits {
		if b.rules.Judge(e) != nil {
			continue
		}
		r := b.find(e.Record, e.Kind)
		if r == nil {
			return fmt.Errorf("the record of %s is not there", e.Dot)
		}
		for _, c := range e.Set {
			heads := r.heads(c.Field)
			if len(heads) != 1 || heads[0].edit.Dot != e.Dot {
				return fmt.Errorf("%s wrote %s over all that it saw, and the heads are %v", e.Dot, c.Field, stateOf(c.Field, heads).Heads)
			}
			alone := View{ID: r.id, Kind: r.kind, book: b, members: r.alone}
			if left := unseen(alone); c.Field == DeletedField && c.Value == "true" && len(left) > 0 {
				return fmt.Errorf("%s struck out all that it saw, and %v is shown as changed there", e.Dot, left)
			}
		}
	}
	return nil
}

func held(edits map[Dot]*Edit) []*Edit {
	out := make([]*Edit, 0, len(edits))
	for _, e := range edits {
		out = append(out, e)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Dot.Less(out[j].Dot) })
	return out
}

func unseen(v View) []string {
	var names []string
	for _, f := range v.DeletionConflicts() {
		names = append(names, f.Name)
	}
	return names
}

// converge lets all exchange until three rounds move nothing, and compares. What
// anybody alive had must be everywhere, under the newest rules.
func (s *sim) converge() error {
	living := map[Dot]bool{}
	for _, p := range s.phones {
		if p.old {
			p.old, p.r = false, s.rebuilt(p, false)
		}
		for d := range p.must {
			living[d] = true
		}
	}
	for i, srv := range s.servers {
		if srv.old {
			s.startServer(i, false)
		}
		for d := range srv.must {
			living[d] = true
		}
	}
	for quiet, round := 0, 0; quiet < 3 && len(s.phones) > 0; round++ {
		if round > 60 {
			return errors.New("the nodes do not come to rest")
		}
		before := s.holdings()
		for _, p := range s.phones {
			for i := range s.servers {
				for n, more := 0, true; more; n++ {
					if _, more = s.exchange(p, i, exchanging{}); n > 500 {
						return errors.New("an exchange does not end")
					}
				}
			}
		}
		if quiet++; before != s.holdings() {
			quiet = 0
		}
	}
	if err := s.compareAll(living); err != nil {
		return err
	}
	return s.check()
}

// holdings counts what all nodes hold together.
func (s *sim) holdings() (n int) {
	for _, p := range s.phones {
		n += len(p.r.edits)
	}
	for _, srv := range s.servers {
		n += len(srv.store.logs[testID(1)].edits)
	}
	return n
}

func (s *sim) compareAll(living map[Dot]bool) error {
	if len(s.phones) == 0 {
		return nil // servers speak to each other through phones
	}
	var want string
	for i, b := range s.books() {
		name := fmt.Sprintf("phone %d", i)
		if i >= len(s.phones) {
			name = fmt.Sprintf("server %d", i-len(s.phones))
		}
		if err := lacks(living, b.Held); err != nil {
			return fmt.Errorf("at the end, %s: %w", name, err)
		}
		if n := dotsIn(b.held); n != len(living) {
			return fmt.Errorf("%s holds %d edits, want %d", name, n, len(living))
		}
		if got := describe(b); i == 0 {
			want = got
		} else if got != want && !s.clashes {
			return fmt.Errorf("%s shows\n%s\nphone 0 shows\n%s", name, got, want)
		}
	}
	return nil
}

func dotsIn(r Ranges) (n int) {
	for _, spans := range r {
		for _, span := range spans {
			n += int(span.To-span.From) + 1
		}
	}
	return n
}
