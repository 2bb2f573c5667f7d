package logbook

import (
	"fmt"
	"reflect"
	"slices"
	"sort"
	"strings"
)

// compare holds a book to second statements of the rules.
func compare(b *Book, edits []*Edit) error {
	o := &oracled{heads: oracleBy(b.rules.Judge, edits), by: map[Dot]*Edit{}, fields: map[cellAt][]string{}}
	if got := headsOf(b); !reflect.DeepEqual(got, o.heads) {
		return fmt.Errorf("heads are %v, want %v", got, o.heads)
	}
	if got, want := waitingIn(b), oracleWaiting(b.rules.Judge, edits); !reflect.DeepEqual(got, want) {
		return fmt.Errorf("names that wait are %v, want %v", got, want)
	}
	for _, e := range edits {
		o.by[e.Dot] = e
		if b.rules.Judge(e) != nil {
			continue
		}
		at := cellAt{e.Kind, e.Record, ""}
		for _, c := range e.Set {
			if !slices.Contains(o.fields[at], c.Field) {
				o.fields[at] = append(o.fields[at], c.Field)
			}
		}
	}
	shown := map[cellAt]bool{}
	for _, kind := range kindsOf(b) {
		for _, v := range b.AllRecords(kind) {
			for _, id := range v.Members() {
				at := cellAt{kind, id, ""}
				if shown[at] {
					return fmt.Errorf("%s is shown twice", short(v))
				}
				shown[at] = true
			}
			if err := o.compareRecord(v); err != nil {
				return fmt.Errorf("%s: %w", short(v), err)
			}
		}
	}
	for at := range o.fields {
		if !shown[at] {
			return fmt.Errorf("%s %s is held and not shown", at.kind, at.record)
		}
	}
	return nil
}

// waits is a name that waits for its edit.
type waits struct {
	name Dot
	at   cellAt
}

func waitingIn(b *Book) map[waits]bool {
	found := map[waits]bool{}
	for d, places := range b.waiting {
		for _, p := range places {
			found[waits{d, cellAt{p.record.kind, p.record.id, p.field}}] = true
		}
	}
	return found
}

// oracleWaiting: a name waits until its edit is here and valid.
func oracleWaiting(judge func(*Edit) error, edits []*Edit) map[waits]bool {
	valid := map[Dot]bool{}
	for _, e := range edits {
		valid[e.Dot] = judge(e) == nil
	}
	found := map[waits]bool{}
	for _, e := range edits {
		for _, c := range e.Set {
			for _, d := range c.Over {
				if valid[e.Dot] && !valid[d] {
					found[waits{d, cellAt{e.Kind, e.Record, c.Field}}] = true
				}
			}
		}
	}
	return found
}

// oracled is what the oracle knows.
type oracled struct {
	heads  map[cellAt][]Dot
	by     map[Dot]*Edit
	fields map[cellAt][]string // by record, with no field
}

func (o *oracled) compareRecord(v View) error {
	members := o.joined(v.Kind, v.ID)
	if got := v.Members(); !slices.Equal(got, members) {
		return fmt.Errorf("it reads as %v, want %v", got, members)
	}
	var fields, changedThere []string
	for _, id := range members {
		fields = append(fields, o.fields[cellAt{v.Kind, id, ""}]...)
	}
	sort.Strings(fields)
	named, live := o.named(v.Kind, members)
	for _, field := range slices.Compact(fields) {
		var heads []Dot
		for _, id := range members {
			heads = append(heads, o.heads[cellAt{v.Kind, id, field}]...)
		}
		f := v.Field(field)
		if got, want := fmt.Sprintf("%s, conflict %v", f.Shown.Dot, f.Conflict), o.shown(heads, field); got != want {
			return fmt.Errorf("field %s: shown is %s, want %s", field, got, want)
		}
		for _, d := range heads {
			if live && field != DeletedField && !named[d] {
				changedThere = append(changedThere, field)
				break
			}
		}
	}
	if got := unseen(v); !slices.Equal(got, changedThere) {
		return fmt.Errorf("deletion conflicts are %v, want %v", got, changedThere)
	}
	return nil
}

// named states the rule of deletions a second time: what the deletions that stand
// have seen, and whether any stands.
func (o *oracled) named(kind Kind, members []ID) (named map[Dot]bool, live bool) {
	named = map[Dot]bool{}
	for _, id := range members {
		for _, d := range o.heads[cellAt{kind, id, DeletedField}] {
			if c, _ := o.by[d].Change(DeletedField); c.Value == "true" {
				live = true
				for _, name := range c.Over {
					named[name] = true
				}
			}
		}
	}
	return named, live
}

// joined states the rule of twins a second time: from a record on, along answers
// "one" between records that are not struck out, as far as they lead.
func (o *oracled) joined(kind Kind, id ID) []ID {
	members := []ID{id}
	for i := 0; i < len(members) && !o.struck(kind, id); i++ {
		for at := range o.fields {
			if at.kind == kind && !slices.Contains(members, at.record) && !o.struck(kind, at.record) && o.areOne(kind, members[i], at.record) {
				members = append(members, at.record)
			}
		}
	}
	slices.SortFunc(members, func(a, b ID) int { return strings.Compare(string(a[:]), string(b[:])) })
	return members
}

func (o *oracled) struck(kind Kind, id ID) bool {
	return o.value(cellAt{kind, id, DeletedField}) == "true"
}

func (o *oracled) areOne(kind Kind, a, b ID) bool {
	if b.Less(a) {
		a, b = b, a
	}
	return o.value(cellAt{kind, a, SamePrefix + b.String()}) == `"one"`
}

func (o *oracled) value(at cellAt) Value {
	e := o.latest(o.heads[at])
	if e == nil {
		return ""
	}
	c, _ := e.Change(at.field)
	return c.Value
}

// latest is the edit among some that is greatest by (corrected time, dot).
func (o *oracled) latest(dots []Dot) (best *Edit) {
	for _, d := range dots {
		e := o.by[d]
		if best == nil || e.At+e.Offset > best.At+best.Offset || e.At+e.Offset == best.At+best.Offset && best.Dot.Less(d) {
			best = e
		}
	}
	return best
}

// shown states a second time which head is shown, and when heads differ.
func (o *oracled) shown(heads []Dot, field string) string {
	values := map[string]bool{}
	for _, d := range heads {
		c, _ := o.by[d].Change(field)
		value := string(c.Value)
		if number, ok := c.Value.Float(); ok {
			value = fmt.Sprint(number)
		}
		values[value] = true
	}
	var best Dot
	if e := o.latest(heads); e != nil {
		best = e.Dot
	}
	return fmt.Sprintf("%s, conflict %v", best, len(values) > 1)
}
