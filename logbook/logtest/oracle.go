package logtest

import (
	"fmt"
	"reflect"
	"slices"
	"sort"
	"strings"

	"evenwhite/logbook"
)

// Oracle is the merge rule written down a second time, with no cleverness: a
// version is a head unless a valid edit names it for that field.
func Oracle(judge func(*logbook.Edit) error, edits []*logbook.Edit) map[logbook.FieldRef][]logbook.Dot {
	type name struct {
		logbook.FieldRef
		logbook.Dot
	}
	named := map[name]bool{}
	var valid []*logbook.Edit
	for _, e := range edits {
		if judge(e) != nil {
			continue
		}
		valid = append(valid, e)
		for _, c := range e.Set {
			for _, d := range c.Over {
				named[name{fieldOf(e, c), d}] = true
			}
		}
	}
	heads := map[logbook.FieldRef][]logbook.Dot{}
	for _, e := range valid {
		for _, c := range e.Set {
			if at := fieldOf(e, c); !named[name{at, e.Dot}] {
				heads[at] = append(heads[at], e.Dot)
			}
		}
	}
	return sortedHeads(heads)
}

func fieldOf(e *logbook.Edit, c logbook.Change) logbook.FieldRef {
	return logbook.FieldRef{RecordRef: recordOf(e), Field: c.Field}
}

func recordOf(e *logbook.Edit) logbook.RecordRef {
	return logbook.RecordRef{Kind: e.Kind, Record: e.Record}
}

// Heads are those of a book.
func Heads(b *logbook.Book) map[logbook.FieldRef][]logbook.Dot {
	heads := map[logbook.FieldRef][]logbook.Dot{}
	for _, kind := range b.Kinds() {
		for _, v := range b.Apart(kind) {
			for _, f := range v.Fields() {
				for _, h := range f.Heads {
					at := logbook.FieldRef{RecordRef: logbook.RecordRef{Kind: kind, Record: v.ID}, Field: f.Name}
					heads[at] = append(heads[at], h.Dot)
				}
			}
		}
	}
	return sortedHeads(heads)
}

func sortedHeads(heads map[logbook.FieldRef][]logbook.Dot) map[logbook.FieldRef][]logbook.Dot {
	for _, dots := range heads {
		sort.Slice(dots, func(i, j int) bool { return dots[i].Less(dots[j]) })
	}
	return heads
}

// waits is a name that waits for its edit.
type waits struct {
	name logbook.Dot
	at   logbook.FieldRef
}

func waitingIn(b *logbook.Book) map[waits]bool {
	found := map[waits]bool{}
	for d, at := range b.Waiting() {
		found[waits{d, at}] = true
	}
	return found
}

// oracleWaiting: a name waits until its edit is here and valid.
func oracleWaiting(judge func(*logbook.Edit) error, edits []*logbook.Edit) map[waits]bool {
	valid := map[logbook.Dot]bool{}
	for _, e := range edits {
		valid[e.Dot] = judge(e) == nil
	}
	found := map[waits]bool{}
	for _, e := range edits {
		for _, c := range e.Set {
			for _, d := range c.Over {
				if valid[e.Dot] && !valid[d] {
					found[waits{d, fieldOf(e, c)}] = true
				}
			}
		}
	}
	return found
}

// Compare holds a book to second statements of the rules: the edits that it should
// have merged, each by itself, and what they make.
func Compare(b *logbook.Book, judge func(*logbook.Edit) error, edits []*logbook.Edit) error {
	o := &oracled{heads: Oracle(judge, edits), by: map[logbook.Dot]*logbook.Edit{}, fields: map[logbook.RecordRef][]string{}}
	if got := Heads(b); !reflect.DeepEqual(got, o.heads) {
		return fmt.Errorf("heads are %v, want %v", got, o.heads)
	}
	if got, want := waitingIn(b), oracleWaiting(judge, edits); !reflect.DeepEqual(got, want) {
		return fmt.Errorf("names that wait are %v, want %v", got, want)
	}
	for _, e := range edits {
		o.by[e.Dot] = e
		if judge(e) != nil {
			continue
		}
		at := recordOf(e)
		for _, c := range e.Set {
			if !slices.Contains(o.fields[at], c.Field) {
				o.fields[at] = append(o.fields[at], c.Field)
			}
		}
	}
	shown := map[logbook.RecordRef]bool{}
	for _, kind := range b.Kinds() {
		for _, v := range b.AllRecords(kind) {
			for _, id := range v.Members() {
				at := logbook.RecordRef{Kind: kind, Record: id}
				if shown[at] {
					return fmt.Errorf("%s %s is shown twice", kind, id)
				}
				shown[at] = true
			}
			if err := o.compareRecord(v); err != nil {
				return fmt.Errorf("%s %s: %w", v.Kind, v.ID, err)
			}
		}
	}
	for at := range o.fields {
		if !shown[at] {
			return fmt.Errorf("%s %s is held and not shown", at.Kind, at.Record)
		}
	}
	return nil
}

// ChangedThere names the fields that were changed elsewhere while the record was
// struck out here.
func ChangedThere(v logbook.View) []string {
	var names []string
	for _, f := range v.DeletionConflicts() {
		names = append(names, f.Name)
	}
	return names
}

// Records writes down all that a book shows of the records of some kinds.
func Records(b *logbook.Book, kinds []logbook.Kind) string {
	var s strings.Builder
	for _, kind := range kinds {
		for _, v := range b.AllRecords(kind) {
			fmt.Fprintf(&s, "%s %s %s deleted=%v members=%v\n", kind, v.ID, v.ETag(), v.Deleted(), v.Members())
			for _, f := range v.Fields() {
				fmt.Fprintf(&s, "  %s=%s conflict=%v heads=%d\n", f.Name, f.Shown.Value, f.Conflict, len(f.Heads))
			}
			for _, field := range ChangedThere(v) {
				fmt.Fprintf(&s, "  struck out here, changed there: %s\n", field)
			}
		}
	}
	return s.String()
}

// Refused writes down the edits that a book holds and does not apply.
func Refused(b *logbook.Book) string {
	var s strings.Builder
	for _, r := range b.Refused() {
		fmt.Fprintf(&s, "refused %s: %s\n", r.Edit.Dot, r.Reason)
	}
	return s.String()
}
