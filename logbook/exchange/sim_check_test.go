package exchange_test

import (
	"errors"
	"fmt"
	"sort"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

// compared is the state of a node that was last compared with the oracle: a book
// that took nothing in since shows the same.
type compared struct {
	book  *logbook.Book
	edits int
}

// check compares every node with the oracle over what it holds.
func (s *sim) check() error {
	if s.fault != nil {
		return s.fault
	}
	for i, p := range s.phones {
		err := lacks(p.must, func(d logbook.Dot) bool { return p.r.Book().Held(d) })
		if now := (compared{p.r.Book(), p.r.CountEdits()}); err == nil && now != p.seen {
			err = logtest.Compare(p.r.Book(), rulesOf(p.old).Judge, held(p.r.AllEdits()))
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
	held, err := srv.store.Ranges(logtest.Production)
	if err != nil {
		return err
	}
	if err := lacks(srv.must, held.Has); err != nil {
		return err
	}
	clashes, err := srv.store.Clashes(logtest.Production)
	if err != nil {
		return err
	}
	kept := map[string]bool{}
	for _, c := range clashes {
		kept[string(c.Bytes)] = true
	}
	for bytes := range srv.aside {
		if !kept[bytes] {
			return errors.New("an edit that it called a clash is not kept aside")
		}
	}
	if err := srv.keeps(); err != nil {
		return err
	}
	now := compared{srv.book(), dotsIn(held)}
	if now == srv.seen {
		return nil
	}
	srv.seen = now
	var edits []*logbook.Edit
	for _, st := range storedIn(srv) {
		e, err := logbook.DecodeEdit(st.Bytes)
		if err != nil {
			return err
		}
		if !held.Has(e.Dot) {
			return fmt.Errorf("%s is held and not listed", e.Dot)
		}
		edits = append(edits, e)
	}
	if len(edits) != now.edits {
		return fmt.Errorf("it lists %d edits and holds %d", now.edits, len(edits))
	}
	return logtest.Compare(srv.book(), rulesOf(srv.old).Judge, edits)
}

// lacks names the least edit that should be there and is not.
func lacks(must map[logbook.Dot]bool, has func(logbook.Dot) bool) error {
	var missing []logbook.Dot
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
func asWritten(b *logbook.Book, judge func(*logbook.Edit) error, edits []*logbook.Edit) error {
	for _, e := range edits {
		if judge(e) != nil {
			continue
		}
		alone, ok := b.Alone(e.Kind, e.Record)
		if !ok {
			return fmt.Errorf("the record of %s is not there", e.Dot)
		}
		for _, c := range e.Set {
			heads := alone.Field(c.Field).Heads
			if len(heads) != 1 || heads[0].Dot != e.Dot {
				return fmt.Errorf("%s wrote %s over all that it saw, and the heads are %v", e.Dot, c.Field, heads)
			}
			if left := logtest.ChangedThere(alone); c.Field == logbook.DeletedField && c.Value == "true" && len(left) > 0 {
				return fmt.Errorf("%s struck out all that it saw, and %v is shown as changed there", e.Dot, left)
			}
		}
	}
	return nil
}

func held(edits map[logbook.Dot]*logbook.Edit) []*logbook.Edit {
	out := make([]*logbook.Edit, 0, len(edits))
	for _, e := range edits {
		out = append(out, e)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Dot.Less(out[j].Dot) })
	return out
}

// converge lets all exchange until three rounds move nothing, has the owner take in what
// waits, and compares. What
// anybody alive had must be everywhere, under the newest rules.
func (s *sim) converge() error {
	living := map[logbook.Dot]bool{}
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
		for _, row := range asidesOf(s.servers[i]) {
			living[row.Dot] = true
		}
	}
	for quiet, round := 0, 0; quiet < 3; round++ {
		if round > 60 {
			return errors.New("the nodes do not come to rest")
		}
		before := s.holdings()
		for _, p := range s.phones {
			for i := range s.servers {
				if i != p.name%len(s.servers) && s.nextID%2 == 1 {
					continue // each phone knows one server, and the servers are linked
				}
				for n, more := 0, true; more; n++ {
					if _, more = s.exchange(p, i, exchanging{}); n > 500 {
						return errors.New("an exchange does not end")
					}
				}
			}
		}
		if err := s.linkAll(); err != nil {
			return err
		}
		if quiet++; before != s.holdings() || quiet == 3 && s.ownerTakesAll() {
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
		n += p.r.CountEdits()
	}
	for _, srv := range s.servers {
		n += len(storedIn(srv))
	}
	return n
}

func (s *sim) compareAll(living map[logbook.Dot]bool) error {
	var want string
	for i, b := range s.books() {
		name := fmt.Sprintf("phone %d", i)
		if i >= len(s.phones) {
			name = fmt.Sprintf("server %d", i-len(s.phones))
		}
		if err := lacks(living, b.Held); err != nil {
			return fmt.Errorf("at the end, %s: %w", name, err)
		}
		if n := holdings(b); n != len(living) {
			return fmt.Errorf("%s holds %d edits, want %d", name, n, len(living))
		}
		if got := everything(b); i == 0 {
			want = got
		} else if got != want && !s.clashes {
			return fmt.Errorf("%s shows\n%s\nphone 0 shows\n%s", name, got, want)
		}
	}
	return nil
}

// holdings counts what a book holds.
func holdings(b *logbook.Book) int {
	n := len(b.Refused())
	for range b.Applied() {
		n++
	}
	return n
}

func dotsIn(r logbook.Ranges) (n int) {
	for _, spans := range r {
		for _, span := range spans {
			n += int(span.To-span.From) + 1
		}
	}
	return n
}
