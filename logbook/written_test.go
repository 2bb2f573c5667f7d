package logbook_test

import (
	"bytes"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

// TestABookGivesEachEditBackAsItCame: it keeps the byte form alone.
func TestABookGivesEachEditBackAsItCame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		edits := drawHistory(t)
		for _, e := range edits {
			if rapid.Bool().Draw(t, "act") {
				e.Act = logbook.Dot{Line: logtest.Line(rapid.IntRange(0, 2).Draw(t, "act's line")), N: 300}
			}
			if rapid.Bool().Draw(t, "extra") {
				e.Extra = []logbook.Member{{Name: "gps", Value: `[1,2]`}, {Name: "mood", Value: `"fine"`}}
			}
			e.By = rapid.StringOfN(rapid.Rune(), 0, 150, 200).Draw(t, "by")
			e.Offset = logbook.Millis(rapid.Int64Range(-1<<40, 1<<40).Draw(t, "offset"))
			// Lengths of one, two and three bytes.
			long := strings.Repeat("x", rapid.SampledFrom([]int{1, 126, 127, 128, 190, 200}).Draw(t, "name"))
			e.Set = append(e.Set, logbook.Change{Field: long, Value: logbook.TextValue(strings.Repeat("y",
				rapid.SampledFrom([]int{1, 126, 128, 16_381, 16_382, 20_000}).Draw(t, "value")))})
		}
		came := map[logbook.Dot][]byte{}
		b := logbook.NewBook(logtest.Production, rules)
		for _, e := range edits {
			form, err := logbook.EncodeEdit(e)
			if err != nil {
				t.Skip(err)
			}
			if b.Apply(e) == nil {
				came[e.Dot] = form
			}
			*e = logbook.Edit{} // of one that is valid it keeps nothing else
		}
		n := 0
		for e := range b.Applied() {
			n++
			form, err := logbook.EncodeEdit(e)
			if err != nil || !bytes.Equal(form, came[e.Dot]) {
				t.Fatalf("%s came back as %+v (%v), was %x", e.Dot, e, err, came[e.Dot])
			}
			for _, c := range e.Set {
				v, _ := b.Alone(e.Kind, e.Record)
				for _, h := range v.Field(c.Field).Heads {
					if h.Dot == e.Dot && (h.Value != c.Value || h.By() != e.By || h.Corrected() != e.Corrected() || h.Edit().Dot != e.Dot) {
						t.Fatalf("%s of %s reads %q by %s at %d, was written as %+v", c.Field, e.Dot, h.Value, h.By(), h.Corrected(), e)
					}
				}
			}
		}
		if n != len(came) {
			t.Fatalf("got %d edits back, want %d", n, len(came))
		}
	})
}

// TestWhatRefersIsListedOnce: a body and its clips, edited again and again; there are more
// clips than edits of each, or fewer.
func TestWhatRefersIsListedOnce(t *testing.T) {
	const body, other = 2, 3
	for _, clips := range []int{2, 40} {
		b := logbook.NewBook(logtest.Production, rules)
		for n := range 12 {
			for clip := range clips {
				e := logtest.ClipEdit(clip, uint64(n+1), "body", logbook.IDValue(logtest.ID(body)))
				if n%3 == 1 {
					e.Set[0].Value = logbook.IDValue(logtest.ID(other))
				}
				e.Record = logtest.ID(100 + clip)
				if err := b.Apply(e); err != nil {
					t.Fatal(err)
				}
			}
		}
		all, none := b.AllReferring("clip", "body", logtest.ID(body)), b.AllReferring("clip", "body", logtest.ID(other))
		if len(all) != clips || len(none) > 0 {
			t.Errorf("%d clips refer to the body and %d to the other, want %d and none", len(all), len(none), clips)
		}
	}
}
