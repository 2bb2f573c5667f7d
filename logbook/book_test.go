package logbook_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

// rules of an invented set: no kelvin is below zero, and no edit names itself or what
// comes later in its line.
var rules = logbook.Rules{Judge: func(e *logbook.Edit) error {
	for _, c := range e.Set {
		if c.Field == "kelvin" && strings.HasPrefix(string(c.Value), "-") {
			return fmt.Errorf("kelvin is %s; allowed is a number from 0 on", c.Value)
		}
		for _, d := range c.Over {
			if d.Line == e.Dot.Line && d.N >= e.Dot.N {
				return fmt.Errorf("over/%s is %s; allowed is an edit made before this one", c.Field, d)
			}
		}
	}
	return nil
}}

// drawHistory makes edits of several lines on a few records, with names that
// were seen, names that come later, deletions and values out of range.
func drawHistory(t *rapid.T) []*logbook.Edit {
	var edits []*logbook.Edit
	next := map[logbook.Line]uint64{}
	n := rapid.IntRange(1, 40).Draw(t, "edits")
	dot := rapid.Custom(func(t *rapid.T) logbook.Dot {
		return logbook.Dot{Line: logtest.Line(rapid.IntRange(0, 4).Draw(t, "line")), N: rapid.Uint64Range(1, 12).Draw(t, "n")}
	})
	for i := 0; i < n; i++ {
		line := logtest.Line(rapid.IntRange(0, 4).Draw(t, "line"))
		next[line]++
		e := &logbook.Edit{Production: logtest.Production, Device: logtest.ID(50), Kind: "clip",
			Record: logtest.ID(2 + rapid.IntRange(0, 2).Draw(t, "record")),
			Dot:    logbook.Dot{Line: line, N: next[line]}, At: logbook.Millis(rapid.IntRange(0, 5).Draw(t, "at")), By: "2nd AC"}
		names := rapid.SampledFrom([]string{"kelvin", "lens", "card", logbook.DeletedField})
		for _, field := range rapid.SliceOfNDistinct(names, 1, 3, rapid.ID[string]).Draw(t, "fields") {
			c := logbook.Change{Field: field}
			switch field {
			case "kelvin":
				c.Value = logbook.Value(rapid.SampledFrom([]string{"3200", "3200.0", "5600", "-3", "null"}).Draw(t, "kelvin"))
			case logbook.DeletedField:
				c.Value = logbook.Value(rapid.SampledFrom([]string{"true", "null"}).Draw(t, "deleted"))
			default:
				c.Value = logbook.TextValue(rapid.SampledFrom([]string{"a", "b"}).Draw(t, "text"))
			}
			c.Over = rapid.SliceOfNDistinct(dot, 0, 4, rapid.ID[logbook.Dot]).Draw(t, "over")
			e.Set = append(e.Set, c)
		}
		if _, err := logbook.EncodeEdit(e); err != nil { // which orders what it names
			t.Fatal(err)
		}
		edits = append(edits, e)
	}
	return edits
}

func TestMerge(t *testing.T) {
	t.Run("heads follow the rule after every edit and in any order", rapid.MakeCheck(func(t *rapid.T) {
		edits := drawHistory(t)
		orders := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "order"), 1))
		var tags string
		for round := 0; round < 3; round++ {
			b := logbook.NewBook(logtest.Production, rules)
			var applied []*logbook.Edit
			for _, i := range orders.Perm(len(edits)) {
				_ = b.Apply(edits[i])
				applied = append(applied, edits[i])
				_ = b.Apply(applied[orders.IntN(len(applied))])
				if got, want := logtest.Heads(b), logtest.Oracle(rules.Judge, applied); !reflect.DeepEqual(got, want) {
					t.Fatalf("after %d edits: got heads %v, want %v", len(applied), got, want)
				}
			}
			state := describe(b)
			if round > 0 && state != tags {
				t.Fatalf("another order shows another state:\n%s\n%s", tags, state)
			}
			tags = state
		}
	}))
}

// describe writes down all that a book shows.
func describe(b *logbook.Book) string { return logtest.Records(b, b.Kinds()) + logtest.Refused(b) }

// story applies edits written in short and lets a test look at the result.
type story struct {
	t *testing.T
	b *logbook.Book
	n map[logbook.Line]uint64
}

func newStory(t *testing.T) *story {
	return &story{t, logbook.NewBook(logtest.Production, rules), map[logbook.Line]uint64{}}
}

// edit writes one field of record 2 in a line and returns the edit's dot.
func (s *story) edit(line int, field string, value logbook.Value, over ...logbook.Dot) logbook.Dot {
	s.t.Helper()
	l := logtest.Line(line)
	s.n[l]++
	e := &logbook.Edit{Production: logtest.Production, Record: logtest.ID(2),
		Device: logtest.ID(60 + line), Kind: "clip", Dot: logbook.Dot{Line: l, N: s.n[l]},
		At: logbook.Millis(s.n[l]), By: fmt.Sprintf("phone %d", line), Set: []logbook.Change{{Field: field, Value: value, Over: over}}}
	if err := s.b.Apply(e); err != nil {
		s.t.Fatal(err)
	}
	return e.Dot
}

func (s *story) view() logbook.View {
	v, ok := s.b.Record(logtest.ID(2))
	if !ok {
		s.t.Fatal("the record is not there")
	}
	return v
}

func TestConflicts(t *testing.T) {
	t.Run("concurrent values are both kept until an edit names both", func(t *testing.T) {
		s := newStory(t)
		first := s.edit(0, "lens", `"35 mm"`)
		a := s.edit(1, "lens", `"50 mm"`, first)
		b := s.edit(2, "lens", `"85 mm"`, first)
		if got := s.view().Conflicts(); len(got) != 1 || len(got[0].Heads) != 2 {
			t.Fatalf("got %v, want one conflict of two heads", got)
		}
		s.edit(1, "lens", `"50 mm"`, a, b)
		if got := s.view().Conflicts(); len(got) != 0 {
			t.Errorf("got %v, want it settled", got)
		}
	})
	t.Run("equal values collapse", func(t *testing.T) {
		s := newStory(t)
		s.edit(1, "kelvin", "5600")
		s.edit(2, "kelvin", "5600.0")
		if f := s.view().Field("kelvin"); f.Conflict || len(f.Heads) != 2 {
			t.Errorf("got conflict %v with %d heads, want none with 2", f.Conflict, len(f.Heads))
		}
	})
	t.Run("two cameras of one set-up are two fields", func(t *testing.T) {
		s := newStory(t)
		s.edit(1, "takes/"+logtest.ID(8).String(), `{}`)
		s.edit(2, "takes/"+logtest.ID(9).String(), `{}`)
		if got := s.view().Conflicts(); len(got) != 0 {
			t.Errorf("got %v, want none", got)
		}
	})
	t.Run("struck out here, changed there, until somebody who saw both decides", func(t *testing.T) {
		s := newStory(t)
		first := s.edit(0, "lens", `"35 mm"`)
		gone := s.edit(1, logbook.DeletedField, "true", first)
		if got := s.view().DeletionConflicts(); len(got) != 0 {
			t.Fatalf("got %v before the change, want none", got)
		}
		b := s.edit(2, "lens", `"85 mm"`, first)
		if got := s.view().DeletionConflicts(); len(got) != 1 || got[0].Name != "lens" {
			t.Fatalf("got %v, want lens", got)
		}
		again := s.edit(1, logbook.DeletedField, "true", gone, b)
		if v := s.view(); len(v.DeletionConflicts()) != 0 || !v.Deleted() {
			t.Fatalf("got %v, want it settled by striking out again", v.DeletionConflicts())
		}
		s.edit(2, logbook.DeletedField, logbook.Null, again)
		if v := s.view(); v.Deleted() || v.Text("lens") != "85 mm" {
			t.Errorf("got deleted %v and lens %q, want it back with 85 mm", v.Deleted(), v.Text("lens"))
		}
	})
	t.Run("a wrong clock is shown, not obeyed", func(t *testing.T) {
		s := newStory(t)
		late := s.edit(1, "lens", `"50 mm"`)
		s.n[logtest.Line(2)] = 1 << 30 // a clock far ahead
		s.edit(2, "lens", `"85 mm"`)
		s.edit(1, "lens", `"40 mm"`, late)
		f := s.view().Field("lens")
		if !f.Conflict || f.Shown.Value != `"85 mm"` {
			t.Errorf("got %s, conflict %v; want both kept and the later clock shown", f.Shown.Value, f.Conflict)
		}
	})
}

func TestTwinsReadAsOne(t *testing.T) {
	build := func(lensB logbook.Value) (*logbook.Book, logbook.ID, logbook.ID) {
		b := logbook.NewBook(logtest.Production, rules)
		apply := func(record logbook.ID, line int, field string, value logbook.Value) {
			t.Helper()
			n := uint64(1)
			for b.Held(logtest.Dot(line, n)) {
				n++
			}
			if err := b.Apply(&logbook.Edit{
				Production: logtest.Production, Record: record, Device: logtest.ID(9), Kind: "take", Dot: logtest.Dot(line, n), By: "AC",
				Set: []logbook.Change{{Field: field, Value: value}},
			}); err != nil {
				t.Fatal(err)
			}
		}
		a, c := logtest.ID(20), logtest.ID(21)
		apply(a, 1, "number", "3")
		apply(c, 2, "number", "3")
		apply(a, 1, "suffix", `"a"`)
		apply(c, 2, "suffix", lensB)
		apply(a, 1, logbook.SamePrefix+c.String(), `"one"`)
		return b, a, c
	}
	t.Run("under the smallest id, with no conflict where they agree", func(t *testing.T) {
		b, a, c := build(`"a"`)
		if got := b.Records("take"); len(got) != 1 || got[0].ID != a || len(got[0].Conflicts()) != 0 {
			t.Fatalf("got %d takes, want one under %s", len(got), a)
		}
		if b.Resolve(c) != a {
			t.Errorf("%s resolves to %s, want %s", c, b.Resolve(c), a)
		}
	})
	t.Run("with a conflict where they differ, which one change to both settles", func(t *testing.T) {
		b, a, _ := build(`"b"`)
		v, _ := b.Record(a)
		if got := v.Conflicts(); len(got) != 1 || got[0].Name != "suffix" {
			t.Fatalf("got %v, want suffix", got)
		}
		drafts := v.Drafts([]logbook.Change{logbook.Replace(v, "suffix", `"b"`)})
		if len(drafts) != 2 {
			t.Fatalf("got %d drafts, want one per twin", len(drafts))
		}
		for i, d := range drafts {
			e := &logbook.Edit{
				Production: logtest.Production, Record: d.Record, Device: logtest.ID(9), Kind: d.Kind, Dot: logtest.Dot(7, uint64(i+1)), Set: d.Set,
			}
			if err := b.Apply(e); err != nil {
				t.Fatal(err)
			}
		}
		if v, _ = b.Record(a); len(v.Conflicts()) != 0 || v.Text("suffix") != "b" {
			t.Errorf("got %v and %q, want it settled", v.Conflicts(), v.Text("suffix"))
		}
	})
	t.Run("also where the answer comes before the second of them", func(t *testing.T) {
		b := logbook.NewBook(logtest.Production, rules)
		a, c := logtest.ID(20), logtest.ID(21)
		for i, e := range []*logbook.Edit{
			{Record: a, Set: []logbook.Change{{Field: "number", Value: "3"}}},
			{Record: a, Set: []logbook.Change{{Field: logbook.SamePrefix + c.String(), Value: `"one"`}}},
			{Record: c, Set: []logbook.Change{{Field: "number", Value: "3"}}},
		} {
			e.Production, e.Device, e.Kind, e.Dot = logtest.Production, logtest.ID(9), "take", logtest.Dot(1, uint64(i+1))
			if err := b.Apply(e); err != nil {
				t.Fatal(err)
			}
			b.Records("take") // whoever looks in between
		}
		if got := b.Records("take"); len(got) != 1 || b.Resolve(c) != a {
			t.Errorf("got %d takes, want one under %s", len(got), a)
		}
	})
	t.Run("until one of them is struck out", func(t *testing.T) {
		b, _, c := build(`"a"`)
		if err := b.Apply(&logbook.Edit{
			Production: logtest.Production, Record: c, Device: logtest.ID(9), Kind: "take", Dot: logtest.Dot(8, 1),
			Set: []logbook.Change{{Field: logbook.DeletedField, Value: "true"}},
		}); err != nil {
			t.Fatal(err)
		}
		if b.Resolve(c) != c {
			t.Errorf("the struck-out twin reads as %s, want as itself", b.Resolve(c))
		}
	})
}

func TestRefusedEditsWaitForNobody(t *testing.T) {
	s := newStory(t)
	first := s.edit(0, "kelvin", "3200")
	bad := &logbook.Edit{
		Production: logtest.Production, Record: logtest.ID(2), Device: logtest.ID(9), Kind: "clip", Dot: logtest.Dot(5, 1),
		Set: []logbook.Change{{Field: "kelvin", Value: "-3", Over: []logbook.Dot{first}}},
	}
	if err := s.b.Apply(bad); err == nil {
		t.Fatal("a kelvin of -3 was accepted")
	}
	if got := s.view().Value("kelvin"); got != "3200" {
		t.Errorf("got %s, want the value that the refused edit meant to replace", got)
	}
	if got := s.b.Refused(); len(got) != 1 || got[0].Edit != bad || got[0].Reason == "" {
		t.Errorf("got %v, want the refused edit with its reason", got)
	}
	if err := s.b.Apply(bad); err == nil {
		t.Error("the repeat of a refused edit is answered as valid")
	}
}

func TestTwinsOfTwoKindsUnderTheSameIdsReadTheSameInEveryOrder(t *testing.T) {
	one := func(line int, kind logbook.Kind, record int, field string, value logbook.Value) *logbook.Edit {
		e := logtest.ClipEdit(line, 1, field, value)
		e.Kind, e.Record = kind, logtest.ID(record)
		return e
	}
	joins := logbook.SamePrefix + logtest.ID(3).String()
	edits := []*logbook.Edit{
		one(1, "clip", 2, joins, `"one"`), one(2, "clip", 3, "lens", `"35"`),
		one(3, "take", 2, joins, `"one"`), one(4, "take", 3, "suffix", `"B"`),
	}
	for turn := range edits {
		for range 8 { // a map's order is drawn anew each time
			b := logbook.NewBook(logtest.Production, rules)
			for i := range edits {
				if err := b.Apply(edits[(i+turn)%len(edits)]); err != nil {
					t.Fatal(err)
				}
			}
			for _, kind := range []logbook.Kind{"clip", "take"} {
				if all := b.Records(kind); len(all) != 1 || len(all[0].Members()) != 2 {
					t.Fatalf("from edit %d on: got %d records of kind %s, want one that reads as two", turn, len(all), kind)
				}
			}
		}
	}
}
