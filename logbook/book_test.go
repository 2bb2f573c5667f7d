package logbook

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"sort"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// cellAt names one field of one record.
type cellAt struct {
	kind   Kind
	record ID
	field  string
}

// oracle is the merge rule written down a second time, with no cleverness: a
// version is a head unless a valid edit names it for that field.
func oracle(edits []*Edit) map[cellAt][]Dot { return oracleBy(Judge, edits) }

func oracleBy(judge func(*Edit) error, edits []*Edit) map[cellAt][]Dot {
	type name struct {
		cellAt
		Dot
	}
	named := map[name]bool{}
	var valid []*Edit
	for _, e := range edits {
		if judge(e) != nil {
			continue
		}
		valid = append(valid, e)
		for _, c := range e.Set {
			for _, d := range c.Over {
				named[name{cellAt{e.Kind, e.Record, c.Field}, d}] = true
			}
		}
	}
	heads := map[cellAt][]Dot{}
	for _, e := range valid {
		for _, c := range e.Set {
			if at := (cellAt{e.Kind, e.Record, c.Field}); !named[name{at, e.Dot}] {
				heads[at] = append(heads[at], e.Dot)
			}
		}
	}
	return sortedHeads(heads)
}

func headsOf(b *Book) map[cellAt][]Dot {
	heads := map[cellAt][]Dot{}
	for _, records := range b.byKind {
		for _, r := range records {
			for _, c := range r.cells {
				for _, h := range c.heads {
					at := cellAt{r.kind, r.id, c.field}
					heads[at] = append(heads[at], h.edit.Dot)
				}
			}
		}
	}
	return sortedHeads(heads)
}

func sortedHeads(heads map[cellAt][]Dot) map[cellAt][]Dot {
	for _, dots := range heads {
		sort.Slice(dots, func(i, j int) bool { return dots[i].Less(dots[j]) })
	}
	return heads
}

// drawHistory makes edits of several lines on a few records, with names that
// were seen, names that come later, deletions and values out of range.
func drawHistory(t *rapid.T) []*Edit {
	var edits []*Edit
	next := map[Line]uint64{}
	n := rapid.IntRange(1, 40).Draw(t, "edits")
	dot := rapid.Custom(func(t *rapid.T) Dot {
		return Dot{testLine(rapid.IntRange(0, 4).Draw(t, "line")), rapid.Uint64Range(1, 12).Draw(t, "n")}
	})
	for i := 0; i < n; i++ {
		line := testLine(rapid.IntRange(0, 4).Draw(t, "line"))
		next[line]++
		e := &Edit{Production: testID(1), Record: testID(2 + rapid.IntRange(0, 2).Draw(t, "record")), Device: testID(50), Kind: KindClip,
			Dot: Dot{line, next[line]}, At: Millis(rapid.IntRange(0, 5).Draw(t, "at")), By: "2nd AC"}
		for _, field := range rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"kelvin", "lens", "card", DeletedField}), 1, 3, rapid.ID[string]).Draw(t, "fields") {
			c := Change{Field: field}
			switch field {
			case "kelvin":
				c.Value = Value(rapid.SampledFrom([]string{"3200", "3200.0", "5600", "-3", "null"}).Draw(t, "kelvin"))
			case DeletedField:
				c.Value = Value(rapid.SampledFrom([]string{"true", "null"}).Draw(t, "deleted"))
			default:
				c.Value = TextValue(rapid.SampledFrom([]string{"a", "b"}).Draw(t, "text"))
			}
			c.Over = rapid.SliceOfNDistinct(dot, 0, 4, rapid.ID[Dot]).Draw(t, "over")
			e.Set = append(e.Set, c)
		}
		if err := e.arrange(); err != nil {
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
			b := NewBook(testID(1), KindRules)
			var applied []*Edit
			for _, i := range orders.Perm(len(edits)) {
				_ = b.Apply(edits[i])
				applied = append(applied, edits[i])
				_ = b.Apply(applied[orders.IntN(len(applied))])
				if got, want := headsOf(b), oracle(applied); !reflect.DeepEqual(got, want) {
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
func describe(b *Book) string {
	var s strings.Builder
	for _, kind := range kindsOf(b) {
		for _, v := range b.AllRecords(kind) {
			fmt.Fprintf(&s, "%s %s %s deleted=%v members=%v\n", kind, v.ID, v.ETag(), v.Deleted(), v.Members())
			for _, f := range v.Fields() {
				fmt.Fprintf(&s, "  %s=%s conflict=%v heads=%d\n", f.Name, f.Shown.Value, f.Conflict, len(f.Heads))
			}
			for _, f := range v.DeletionConflicts() {
				fmt.Fprintf(&s, "  struck out here, changed there: %s\n", f.Name)
			}
		}
	}
	for _, t := range Twins(b) {
		fmt.Fprintf(&s, "twins? %s %s %s\n", t.Kind, t.First, t.Second)
	}
	for _, r := range b.Refused() {
		fmt.Fprintf(&s, "refused %s: %s\n", r.Edit.Dot, r.Reason)
	}
	return s.String()
}

// story applies edits written in short and lets a test look at the result.
type story struct {
	t *testing.T
	b *Book
	n map[Line]uint64
}

func newStory(t *testing.T) *story {
	return &story{t, NewBook(testID(1), KindRules), map[Line]uint64{}}
}

// edit writes one field of record 2 in a line and returns the edit's dot.
func (s *story) edit(line int, field string, value Value, over ...Dot) Dot {
	s.t.Helper()
	l := testLine(line)
	s.n[l]++
	e := &Edit{Production: testID(1), Record: testID(2), Device: testID(60 + line), Kind: KindClip, Dot: Dot{l, s.n[l]},
		At: Millis(s.n[l]), By: fmt.Sprintf("phone %d", line), Set: []Change{{field, value, over}}}
	if err := s.b.Apply(e); err != nil {
		s.t.Fatal(err)
	}
	return e.Dot
}

func (s *story) view() View {
	v, ok := s.b.Record(testID(2))
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
		s.edit(1, "takes/"+testID(8).String(), `{}`)
		s.edit(2, "takes/"+testID(9).String(), `{}`)
		if got := s.view().Conflicts(); len(got) != 0 {
			t.Errorf("got %v, want none", got)
		}
	})
	t.Run("struck out here, changed there, until somebody who saw both decides", func(t *testing.T) {
		s := newStory(t)
		first := s.edit(0, "lens", `"35 mm"`)
		gone := s.edit(1, DeletedField, "true", first)
		if got := s.view().DeletionConflicts(); len(got) != 0 {
			t.Fatalf("got %v before the change, want none", got)
		}
		b := s.edit(2, "lens", `"85 mm"`, first)
		if got := s.view().DeletionConflicts(); len(got) != 1 || got[0].Name != "lens" {
			t.Fatalf("got %v, want lens", got)
		}
		again := s.edit(1, DeletedField, "true", gone, b)
		if v := s.view(); len(v.DeletionConflicts()) != 0 || !v.Deleted() {
			t.Fatalf("got %v, want it settled by striking out again", v.DeletionConflicts())
		}
		s.edit(2, DeletedField, Null, again)
		if v := s.view(); v.Deleted() || v.Text("lens") != "85 mm" {
			t.Errorf("got deleted %v and lens %q, want it back with 85 mm", v.Deleted(), v.Text("lens"))
		}
	})
	t.Run("a wrong clock is shown, not obeyed", func(t *testing.T) {
		s := newStory(t)
		late := s.edit(1, "lens", `"50 mm"`)
		s.n[testLine(2)] = 1 << 30 // a clock far ahead
		s.edit(2, "lens", `"85 mm"`)
		s.edit(1, "lens", `"40 mm"`, late)
		f := s.view().Field("lens")
		if !f.Conflict || f.Shown.Value != `"85 mm"` {
			t.Errorf("got %s, conflict %v; want both kept and the later clock shown", f.Shown.Value, f.Conflict)
		}
	})
}

func TestTwinsReadAsOne(t *testing.T) {
	build := func(lensB Value) (*Book, ID, ID) {
		b := NewBook(testID(1), KindRules)
		apply := func(record ID, line int, field string, value Value) {
			t.Helper()
			n := uint64(1)
			for b.Held(Dot{testLine(line), n}) {
				n++
			}
			if err := b.Apply(&Edit{Production: testID(1), Record: record, Device: testID(9), Kind: KindTake, Dot: Dot{testLine(line), n}, By: "AC", Set: []Change{{field, value, nil}}}); err != nil {
				t.Fatal(err)
			}
		}
		a, c := testID(20), testID(21)
		apply(a, 1, "number", "3")
		apply(c, 2, "number", "3")
		apply(a, 1, "suffix", `"a"`)
		apply(c, 2, "suffix", lensB)
		apply(a, 1, SamePrefix+c.String(), `"one"`)
		return b, a, c
	}
	t.Run("under the smallest id, with no conflict where they agree", func(t *testing.T) {
		b, a, c := build(`"a"`)
		if got := b.Records(KindTake); len(got) != 1 || got[0].ID != a || len(got[0].Conflicts()) != 0 {
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
		drafts := v.Drafts([]Change{Replace(v, "suffix", `"b"`)})
		if len(drafts) != 2 {
			t.Fatalf("got %d drafts, want one per twin", len(drafts))
		}
		for i, d := range drafts {
			e := &Edit{Production: testID(1), Record: d.Record, Device: testID(9), Kind: d.Kind, Dot: Dot{testLine(7), uint64(i + 1)}, Set: d.Set}
			if err := b.Apply(e); err != nil {
				t.Fatal(err)
			}
		}
		if v, _ = b.Record(a); len(v.Conflicts()) != 0 || v.Text("suffix") != "b" {
			t.Errorf("got %v and %q, want it settled", v.Conflicts(), v.Text("suffix"))
		}
	})
	t.Run("also where the answer comes before the second of them", func(t *testing.T) {
		b := NewBook(testID(1), KindRules)
		a, c := testID(20), testID(21)
		for i, e := range []*Edit{
			{Record: a, Set: []Change{{"number", "3", nil}}},
			{Record: a, Set: []Change{{SamePrefix + c.String(), `"one"`, nil}}},
			{Record: c, Set: []Change{{"number", "3", nil}}},
		} {
			e.Production, e.Device, e.Kind, e.Dot = testID(1), testID(9), KindTake, Dot{testLine(1), uint64(i + 1)}
			if err := b.Apply(e); err != nil {
				t.Fatal(err)
			}
			b.Records(KindTake) // whoever looks in between
		}
		if got := b.Records(KindTake); len(got) != 1 || b.Resolve(c) != a {
			t.Errorf("got %d takes, want one under %s", len(got), a)
		}
	})
	t.Run("until one of them is struck out", func(t *testing.T) {
		b, _, c := build(`"a"`)
		if err := b.Apply(&Edit{Production: testID(1), Record: c, Device: testID(9), Kind: KindTake, Dot: Dot{testLine(8), 1}, Set: []Change{{DeletedField, "true", nil}}}); err != nil {
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
	bad := &Edit{Production: testID(1), Record: testID(2), Device: testID(9), Kind: KindClip, Dot: Dot{testLine(5), 1}, Set: []Change{{"kelvin", "-3", []Dot{first}}}}
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
	one := func(line int, kind Kind, record int, field string, value Value) *Edit {
		e := clipEdit(line, 1, field, value)
		e.Kind, e.Record = kind, testID(record)
		return e
	}
	joins := SamePrefix + testID(3).String()
	edits := []*Edit{
		one(1, KindClip, 2, joins, `"one"`), one(2, KindClip, 3, "lens", `"35"`),
		one(3, KindTake, 2, joins, `"one"`), one(4, KindTake, 3, "suffix", `"B"`),
	}
	for turn := range edits {
		for range 8 { // a map's order is drawn anew each time
			b := NewBook(testID(1), KindRules)
			for i := range edits {
				if err := b.Apply(edits[(i+turn)%len(edits)]); err != nil {
					t.Fatal(err)
				}
			}
			for _, kind := range []Kind{KindClip, KindTake} {
				if all := b.Records(kind); len(all) != 1 || len(all[0].Members()) != 2 {
					t.Fatalf("from edit %d on: got %d records of kind %s, want one that reads as two", turn, len(all), kind)
				}
			}
		}
	}
}
