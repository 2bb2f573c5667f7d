package logbook_test

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

// drawTwins makes edits of few records of two kinds under the same ids, with answers about
// twins, strikings-out, names that come before their edit and edits that are refused.
func drawTwins(t *rapid.T) []*logbook.Edit {
	var edits []*logbook.Edit
	next := map[int]uint64{}
	dot := rapid.Custom(func(t *rapid.T) logbook.Dot {
		return logtest.Dot(rapid.IntRange(0, 3).Draw(t, "line"), rapid.Uint64Range(1, 20).Draw(t, "n"))
	})
	for range rapid.IntRange(1, 60).Draw(t, "edits") {
		line, record := rapid.IntRange(0, 3).Draw(t, "line"), rapid.IntRange(2, 8).Draw(t, "record")
		next[line]++
		e := &logbook.Edit{
			Production: logtest.Production, Device: logtest.ID(50), Record: logtest.ID(record), Dot: logtest.Dot(line, next[line]),
			Kind: rapid.SampledFrom([]logbook.Kind{"clip", "clip", "take"}).Draw(t, "kind"),
			At:   logbook.Millis(rapid.IntRange(0, 9).Draw(t, "at")), By: "2nd AC",
		}
		c := logbook.Change{Field: logbook.SamePrefix + logtest.ID(rapid.IntRange(2, 8).Draw(t, "twin")).String(),
			Value: rapid.SampledFrom([]logbook.Value{`"one"`, `"one"`, `"two"`, logbook.Null}).Draw(t, "answer")}
		switch rapid.IntRange(0, 5).Draw(t, "what") {
		case 0:
			c = logbook.Change{Field: logbook.DeletedField, Value: rapid.SampledFrom([]logbook.Value{"true", logbook.Null}).Draw(t, "deleted")}
		case 1:
			c = logbook.Change{Field: "kelvin", Value: rapid.SampledFrom([]logbook.Value{"3200", "5600", "-3"}).Draw(t, "kelvin")}
		}
		c.Over = rapid.SliceOfNDistinct(dot, 0, 3, rapid.ID[logbook.Dot]).Draw(t, "over")
		e.Set = []logbook.Change{c}
		if _, err := logbook.EncodeEdit(e); err != nil {
			t.Fatal(err)
		}
		edits = append(edits, e)
	}
	return edits
}

// listed states the order of a kind a second time: each record under the id that it reads
// under, sorted.
func listed(b *logbook.Book, kind logbook.Kind, deleted bool) (ids []logbook.ID) {
	seen := map[logbook.ID]bool{}
	var all []logbook.View
	for _, apart := range b.Apart(kind) {
		v, _ := b.RecordOf(kind, apart.ID)
		if !seen[v.ID] && (deleted || !v.Deleted()) {
			all = append(all, v)
		}
		seen[v.ID] = true
	}
	slices.SortFunc(all, func(x, y logbook.View) int {
		if x.CreatedAt() != y.CreatedAt() {
			return int(x.CreatedAt() - y.CreatedAt())
		}
		return bytes.Compare(x.ID[:], y.ID[:])
	})
	for _, v := range all {
		ids = append(ids, v.ID)
	}
	return ids
}

func idsFrom(b *logbook.Book, kind logbook.Kind, after logbook.Place, deleted bool) (ids []logbook.ID) {
	for v := range b.From(kind, after, deleted) {
		ids = append(ids, v.ID)
	}
	return ids
}

// ledger keeps what each record reads as.
type ledger map[logbook.RecordRef]string

var keepLedger = logbook.Keep{Name: "ledger", Begin: func() logbook.Keeper { return ledger{} }}

func (l ledger) Change(apart logbook.View) {
	l[logbook.RecordRef{Kind: apart.Kind, Record: apart.ID}] = readsAs(apart)
}

func readsAs(apart logbook.View) string {
	b := apart.Book()
	v, _ := b.RecordOf(apart.Kind, apart.ID)
	counts, _ := b.Record(apart.ID)
	return fmt.Sprint(v.ID, v.Members(), v.ETag(), v.CreatedAt(), counts.Kind == apart.Kind)
}

func TestWhatIsKeptIsWhatAWholeWalkFinds(t *testing.T) {
	t.Run("groups, order and keepers, after any edits in any order", rapid.MakeCheck(func(t *rapid.T) {
		edits := drawTwins(t)
		chance := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "order"), 1))
		b := logbook.NewBook(logtest.Production, rules)
		var applied []*logbook.Edit
		for _, i := range chance.Perm(len(edits)) {
			_ = b.Apply(edits[i])
			if applied = append(applied, edits[i]); chance.IntN(3) > 0 {
				b.Prepare(keepLedger, chance.IntN(3)) // several edits come before anybody looks
				continue
			}
			if err := logtest.Compare(b, rules.Judge, applied); err != nil {
				t.Fatalf("after %d edits: %v", len(applied), err)
			}
			kept, whole := b.Kept(keepLedger).(ledger), ledger{}
			for _, kind := range b.Kinds() {
				for _, apart := range b.Apart(kind) {
					whole.Change(apart)
				}
				for _, deleted := range []bool{false, true} {
					want := listed(b, kind, deleted)
					if got := idsFrom(b, kind, logbook.Place{Made: logbook.Beginning}, deleted); !slices.Equal(got, want) {
						t.Fatalf("after %d edits: got %ss %v, want %v", len(applied), kind, got, want)
					}
					for i, id := range want {
						v, _ := b.RecordOf(kind, id)
						if got := idsFrom(b, kind, v.Place(), deleted); !slices.Equal(got, want[i+1:]) {
							t.Fatalf("after %d edits: got %ss %v behind %s, want %v", len(applied), kind, got, id, want[i+1:])
						}
					}
				}
			}
			if !reflect.DeepEqual(kept, whole) {
				t.Fatalf("after %d edits: kept is %v, want %v", len(applied), kept, whole)
			}
		}
	}))
}

func TestAKeeperIsPreparedInSteps(t *testing.T) {
	const records = 95
	b, told := logbook.NewBook(logtest.Production, rules), 0
	for i := range records {
		e := logtest.ClipEdit(1, uint64(i+1), "kelvin", "3200")
		e.Record = logtest.ID(100 + i)
		_ = b.Apply(e)
	}
	counted := logbook.Keep{Name: "counted", Begin: func() logbook.Keeper { return tally{&told} }}
	for done := false; !done; {
		before := told
		if done = b.Prepare(counted, 10); told-before > 10 || !done && told-before == 0 {
			t.Fatalf("a step told of %d records, want 1 to 10", told-before)
		}
	}
	if told != records {
		t.Errorf("told of %d records, want %d", told, records)
	}
	if b.Kept(counted); told != records {
		t.Errorf("asked again, %d records were told again", told-records)
	}
}

type tally struct{ told *int }

func (t tally) Change(logbook.View) { *t.told++ }

func TestAnOrderIsASortedList(t *testing.T) {
	chance := rand.New(rand.NewPCG(1, 2))
	var want []int
	o := logbook.NewOrder(func(a, b int) int { return a - b }, nil)
	for range 40_000 {
		item := chance.IntN(20_000)
		at, found := slices.BinarySearch(want, item)
		if chance.IntN(5) < 3 {
			o.Add(item)
			if !found {
				want = slices.Insert(want, at, item)
			}
			continue
		}
		o.Remove(item)
		if found {
			want = slices.Delete(want, at, at+1)
		}
	}
	for _, from := range []int{-1, 0, 1, 777, 10_000, 19_999, 20_000, 30_000} {
		at, _ := slices.BinarySearch(want, from)
		begun := func(item int) bool { return item >= from }
		if got := slices.Collect(o.From(begun)); !slices.Equal(got, want[at:]) {
			t.Errorf("from %d: got %d items, want %d", from, len(got), len(want)-at)
		}
		if last, ok := o.Before(begun); ok != (at > 0) || ok && last != want[at-1] {
			t.Errorf("before %d: got %d, %v", from, last, ok)
		}
	}
}

func TestOfTwoKindsUnderOneIDTheLesserCountsInAnyOrder(t *testing.T) {
	one := func(line int, kind logbook.Kind) *logbook.Edit {
		e := logtest.ClipEdit(line, 1, "lens", `"35"`)
		e.Kind = kind
		return e
	}
	edits := []*logbook.Edit{one(1, "clip"), one(2, "take"), one(3, "camera")}
	for _, order := range [][]int{{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}} {
		b := logbook.NewBook(logtest.Production, rules)
		for _, i := range order {
			_ = b.Apply(edits[i])
		}
		if v, ok := b.Record(logtest.ID(2)); !ok || v.Kind != "camera" {
			t.Errorf("order %v: got a %s, want the camera", order, v.Kind)
		}
		for _, e := range edits {
			if v, ok := b.RecordOf(e.Kind, logtest.ID(2)); !ok || v.Kind != e.Kind {
				t.Errorf("order %v: the %s is not found", order, e.Kind)
			}
		}
	}
}
