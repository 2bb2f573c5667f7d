package logbook_test

import (
	"math/rand/v2"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

// drawCrowd makes some hundred edits of two fields of one record, few of which had seen
// others, and then some that had seen many: fields gain and lose crowds of heads.
func drawCrowd(t *rapid.T) []*logbook.Edit {
	chance := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
	n := rapid.IntRange(100, 400).Draw(t, "edits")
	most := rapid.SampledFrom([]int{1, 4, 60}).Draw(t, "names")
	var edits []*logbook.Edit
	for i := range n {
		e := &logbook.Edit{
			Production: logtest.Production, Device: logtest.ID(50), Kind: "clip", Record: logtest.ID(2),
			Dot: logtest.Dot(i%5, uint64(i/5)+1), At: logbook.Millis(chance.IntN(5)), By: "2nd AC",
		}
		for _, field := range []string{"card", "lens"}[chance.IntN(2):] {
			c := logbook.Change{Field: field, Value: logbook.TextValue("A")}
			seen := map[logbook.Dot]bool{}
			for range chance.IntN(most + 1) {
				if d := logtest.Dot(chance.IntN(5), chance.Uint64N(uint64(n/5))+1); !seen[d] {
					c.Over, seen[d] = append(c.Over, d), true
				}
			}
			if chance.IntN(20) == 0 {
				c.Value = "null"
			}
			e.Set = append(e.Set, c)
		}
		if _, err := logbook.EncodeEdit(e); err != nil {
			t.Fatal(err)
		}
		edits = append(edits, e)
	}
	return edits
}

func TestManyHeadsOfOneField(t *testing.T) {
	t.Run("follow the rule in any order", rapid.MakeCheck(func(t *rapid.T) {
		edits := drawCrowd(t)
		order := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "order"), 1)).Perm(len(edits))
		b := logbook.NewBook(logtest.Production, rules)
		var applied []*logbook.Edit
		for _, i := range order {
			_ = b.Apply(edits[i])
			if applied = append(applied, edits[i]); len(applied)%31 != 0 && len(applied) < len(edits) {
				continue
			}
			if got, want := logtest.Heads(b), logtest.Oracle(rules.Judge, applied); !reflect.DeepEqual(got, want) {
				t.Fatalf("after %d edits: got heads %v, want %v", len(applied), got, want)
			}
		}
	}))
	t.Run("all go by the names of one edit, and one by one", func(t *testing.T) {
		b := logbook.NewBook(logtest.Production, rules)
		var all []logbook.Dot
		for line := range 200 {
			e := logtest.ClipEdit(line, 1, "card", `"A"`)
			all = append(all, e.Dot)
			if err := b.Apply(e); err != nil {
				t.Fatal(err)
			}
		}
		for i, d := range all[:100] {
			if err := b.Apply(logtest.ClipEdit(500, uint64(i)+1, "card", `"B"`, d)); err != nil {
				t.Fatal(err)
			}
			v, _ := b.Record(logtest.ID(2))
			if got := len(v.Field("card").Heads); got != 200 {
				t.Fatalf("%d heads after %d were replaced, want 200", got, i+1)
			}
		}
		if err := b.Apply(logtest.ClipEdit(501, 1, "card", `"C"`, all[100:]...)); err != nil {
			t.Fatal(err)
		}
		v, _ := b.Record(logtest.ID(2))
		if got := len(v.Field("card").Heads); got != 101 {
			t.Errorf("%d heads, want 101", got)
		}
	})
	t.Run("a name that many fields wait for", func(t *testing.T) {
		b := logbook.NewBook(logtest.Production, rules)
		late := logtest.ClipEdit(1, 1, "card", `"A"`)
		for i := range 100 {
			e := logtest.ClipEdit(2, uint64(i)+1, "card", `"B"`, late.Dot)
			e.Record = logtest.ID(2 + i)
			if err := b.Apply(e); err != nil {
				t.Fatal(err)
			}
		}
		late.Record = logtest.ID(60)
		late.Set = append(late.Set, logbook.Change{Field: "lens", Value: `"50"`})
		if err := b.Apply(late); err != nil {
			t.Fatal(err)
		}
		v, _ := b.Record(late.Record)
		if card, lens := v.Field("card"), v.Field("lens"); len(card.Heads) != 1 || card.Shown.Value != `"B"` || len(lens.Heads) != 1 {
			t.Errorf("got %v and %v, want card B alone and the lens", card.Heads, lens.Heads)
		}
	})
}
