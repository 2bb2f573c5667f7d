package logbook

import (
	"errors"
	"fmt"
	"sort"
	"strconv"
)

// check compares every node with the oracle over what it holds.
func (s *sim) check() error {
	if s.fault != nil {
		return s.fault
	}
	for i, p := range s.phones {
		if err := lacks(p.must, func(d Dot) bool { return p.r.edits[d] != nil }); err != nil {
			return fmt.Errorf("phone %d: %w", i, err)
		}
		if err := compare(p.r.book, held(p.r.edits)); err != nil {
			return fmt.Errorf("phone %d: %w", i, err)
		}
	}
	for i, srv := range s.servers {
		var edits []*Edit
		stored := map[Dot]bool{}
		for _, st := range s.stored(i) {
			e, err := DecodeEdit(st.Bytes)
			if err != nil {
				return err
			}
			edits, stored[st.Dot] = append(edits, e), true
		}
		err := lacks(srv.must, func(d Dot) bool { return stored[d] })
		if err == nil {
			srv.log.Read(func(b *Book) { err = compare(b, edits) })
		}
		if err != nil {
			return fmt.Errorf("server %d: %w", i, err)
		}
	}
	return nil
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

// asWritten compares what whoever made an edit sees next with what they did.
func asWritten(b *Book, e *Edit) error {
	if b.judge(e) != nil {
		return nil
	}
	v, ok := b.RecordOf(e.Kind, e.Record)
	if !ok {
		return fmt.Errorf("the record of %s is not there", e.Dot)
	}
	for _, c := range e.Set {
		if f := v.Field(c.Field); len(f.Heads) != 1 || f.Heads[0].Dot != e.Dot {
			return fmt.Errorf("%s wrote %s over all that it saw, and the heads are %v", e.Dot, c.Field, f.Heads)
		}
		if c.Field == DeletedField && c.Value == "true" && len(v.DeletionConflicts()) > 0 {
			return fmt.Errorf("%s struck out all that it saw, and %v is shown as changed there", e.Dot, unseen(v))
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

func compare(b *Book, edits []*Edit) error {
	heads := oracleBy(b.judge, edits)
	if got, want := fmt.Sprint(headsOf(b)), fmt.Sprint(heads); got != want {
		return fmt.Errorf("heads are %s, want %s", got, want)
	}
	for d, places := range b.waiting {
		if _, refused := b.refused[d]; b.held.Has(d) && !refused && len(places) > 0 {
			return fmt.Errorf("a name waits for %s, which is here", d)
		}
	}
	by := map[Dot]*Edit{}
	for _, e := range edits {
		by[e.Dot] = e
	}
	for _, v := range b.AllRecords(KindClip) {
		if got, want := fmt.Sprint(unseen(v)), fmt.Sprint(oracleUnseen(heads, by, v.ID)); got != want {
			return fmt.Errorf("record %s: deletion conflicts are %s, want %s", v.ID, got, want)
		}
		for _, field := range append(simFields, DeletedField) {
			f := v.Field(field)
			got := fmt.Sprintf("%s, conflict %v", f.Shown.Dot, f.Conflict)
			if want := oracleShown(heads[simKey(v.ID, field)], by, field); got != want {
				return fmt.Errorf("record %s, field %s: shown is %s, want %s", v.ID, field, got, want)
			}
		}
	}
	return nil
}

// simFields are the fields that schedules write, but for deleted.
var simFields = []string{"card", "filters", "kelvin", "lens", "sensorRate", "setUp"}

func simKey(record ID, field string) string { return fmt.Sprintf("%s %s %s", KindClip, record, field) }

func unseen(v View) []string {
	var names []string
	for _, f := range v.DeletionConflicts() {
		names = append(names, f.Name)
	}
	return names
}

// oracleUnseen states the rule of deletions a second time.
func oracleUnseen(heads map[string][]Dot, by map[Dot]*Edit, record ID) []string {
	named, live := map[Dot]bool{}, false
	for _, d := range heads[simKey(record, DeletedField)] {
		if c, ok := by[d].Change(DeletedField); ok && c.Value == "true" {
			live = true
			for _, name := range c.Over {
				named[name] = true
			}
		}
	}
	var out []string
	for _, field := range simFields {
		for _, d := range heads[simKey(record, field)] {
			if live && !named[d] {
				out = append(out, field)
				break
			}
		}
	}
	return out
}

// oracleShown states a second time which head is shown, and when heads differ.
func oracleShown(heads []Dot, by map[Dot]*Edit, field string) string {
	var best Dot
	var bestAt Millis
	values := map[string]bool{}
	for _, d := range heads {
		e := by[d]
		if at := e.At + e.Offset; best.IsZero() || at > bestAt || at == bestAt && best.Less(d) {
			best, bestAt = d, at
		}
		c, _ := e.Change(field)
		value := string(c.Value)
		if number, err := strconv.ParseFloat(value, 64); err == nil {
			value = fmt.Sprint(number)
		}
		values[value] = true
	}
	return fmt.Sprintf("%s, conflict %v", best, len(values) > 1)
}

// converge lets all exchange until three rounds move nothing, and compares.
func (s *sim) converge() error {
	living := map[Dot]bool{}
	for _, p := range s.phones {
		p.old = false
		p.r = s.rebuilt(p.r, p.r.device, false)
		for d := range p.must {
			living[d] = true
		}
	}
	for _, srv := range s.servers {
		for d := range srv.must {
			living[d] = true
		}
	}
	for quiet, round := 0, 0; quiet < 3; round++ {
		if round > 60 {
			return errors.New("the nodes do not come to rest")
		}
		moved := false
		for _, p := range s.phones {
			for i := range s.servers {
				before := len(p.r.edits) + len(s.stored(i))
				for n := 0; s.exchange(p, i, exchangeWell); n++ {
					if n > 500 {
						return errors.New("an exchange does not end")
					}
				}
				moved = moved || before != len(p.r.edits)+len(s.stored(i))
			}
		}
		if quiet++; moved {
			quiet = 0
		}
	}
	return s.compareAll(living)
}

func (s *sim) compareAll(living map[Dot]bool) error {
	var want string
	s.servers[0].log.Read(func(b *Book) { want = describe(b) })
	for i, srv := range s.servers {
		var got string
		srv.log.Read(func(b *Book) { got = describe(b) })
		if got != want {
			return fmt.Errorf("server %d shows\n%s\nserver 0 shows\n%s", i, got, want)
		}
		if n := len(s.stored(i)); n != len(living) {
			return fmt.Errorf("server %d holds %d edits, want %d", i, n, len(living))
		}
	}
	for i, p := range s.phones {
		if got := describe(p.r.book); got != want {
			return fmt.Errorf("phone %d shows\n%s\nserver 0 shows\n%s", i, got, want)
		}
		for d := range living {
			if p.r.edits[d] == nil {
				return fmt.Errorf("phone %d lacks %s", i, d)
			}
		}
	}
	return s.check()
}
