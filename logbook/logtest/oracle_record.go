package logtest

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"evenwhite/logbook"
)

// oracled is what the oracle knows.
type oracled struct {
	heads  map[logbook.FieldRef][]logbook.Dot
	by     map[logbook.Dot]*logbook.Edit
	fields map[logbook.RecordRef][]string
}

func (o *oracled) headsOf(kind logbook.Kind, record logbook.ID, field string) []logbook.Dot {
	return o.heads[logbook.FieldRef{RecordRef: logbook.RecordRef{Kind: kind, Record: record}, Field: field}]
}

func (o *oracled) compareRecord(v logbook.View) error {
	members := o.joined(v.Kind, v.ID)
	if got := v.Members(); !slices.Equal(got, members) {
		return fmt.Errorf("it reads as %v, want %v", got, members)
	}
	var fields, changedThere []string
	for _, id := range members {
		fields = append(fields, o.fields[logbook.RecordRef{Kind: v.Kind, Record: id}]...)
	}
	sort.Strings(fields)
	named, live := o.named(v.Kind, members)
	for _, field := range slices.Compact(fields) {
		var heads []logbook.Dot
		for _, id := range members {
			heads = append(heads, o.headsOf(v.Kind, id, field)...)
		}
		f := v.Field(field)
		if got, want := fmt.Sprintf("%s, conflict %v", f.Shown.Dot, f.Conflict), o.shown(heads, field); got != want {
			return fmt.Errorf("field %s: shown is %s, want %s", field, got, want)
		}
		for _, d := range heads {
			if live && field != logbook.DeletedField && !named[d] {
				changedThere = append(changedThere, field)
				break
			}
		}
	}
	if got := ChangedThere(v); !slices.Equal(got, changedThere) {
		return fmt.Errorf("deletion conflicts are %v, want %v", got, changedThere)
	}
	return nil
}

// named states the rule of deletions a second time: what the deletions that stand
// have seen, and whether any stands.
func (o *oracled) named(kind logbook.Kind, members []logbook.ID) (named map[logbook.Dot]bool, live bool) {
	named = map[logbook.Dot]bool{}
	for _, id := range members {
		for _, d := range o.headsOf(kind, id, logbook.DeletedField) {
			if c, _ := o.by[d].Change(logbook.DeletedField); c.Value == "true" {
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
func (o *oracled) joined(kind logbook.Kind, id logbook.ID) []logbook.ID {
	members := []logbook.ID{id}
	for i := 0; i < len(members) && !o.struck(kind, id); i++ {
		for at := range o.fields {
			if at.Kind == kind && !slices.Contains(members, at.Record) && !o.struck(kind, at.Record) && o.areOne(kind, members[i], at.Record) {
				members = append(members, at.Record)
			}
		}
	}
	slices.SortFunc(members, func(a, b logbook.ID) int { return strings.Compare(string(a[:]), string(b[:])) })
	return members
}

func (o *oracled) struck(kind logbook.Kind, id logbook.ID) bool {
	return o.value(kind, id, logbook.DeletedField) == "true"
}

func (o *oracled) areOne(kind logbook.Kind, a, b logbook.ID) bool {
	if b.Less(a) {
		a, b = b, a
	}
	return o.value(kind, a, logbook.SamePrefix+b.String()) == `"one"`
}

func (o *oracled) value(kind logbook.Kind, record logbook.ID, field string) logbook.Value {
	e := o.latest(o.headsOf(kind, record, field))
	if e == nil {
		return ""
	}
	c, _ := e.Change(field)
	return c.Value
}

// latest is the edit among some that is greatest by (corrected time, dot).
func (o *oracled) latest(dots []logbook.Dot) (best *logbook.Edit) {
	for _, d := range dots {
		e := o.by[d]
		if best == nil || e.At+e.Offset > best.At+best.Offset || e.At+e.Offset == best.At+best.Offset && best.Dot.Less(d) {
			best = e
		}
	}
	return best
}

// shown states a second time which head is shown, and when heads differ.
func (o *oracled) shown(heads []logbook.Dot, field string) string {
	values := map[string]bool{}
	for _, d := range heads {
		c, _ := o.by[d].Change(field)
		value := string(c.Value)
		if number, ok := c.Value.Float(); ok {
			value = fmt.Sprint(number)
		}
		values[value] = true
	}
	var best logbook.Dot
	if e := o.latest(heads); e != nil {
		best = e.Dot
	}
	return fmt.Sprintf("%s, conflict %v", best, len(values) > 1)
}
