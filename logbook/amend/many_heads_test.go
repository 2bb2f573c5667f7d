package amend_test

import (
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// crowded is a log with a clip of which so many phones wrote the kelvin and the lens, none
// having seen the others.
func crowded(t *testing.T, phones int, kelvin func(i int) string) *logbook.Log {
	l := logtest.Open(t, logbook.NewMemory(), kinds.Rules, 0x20)
	for i := range phones {
		kelvins, lens := logtest.ClipEdit(i+2, 1, "kelvin", logbook.Value(kelvin(i))), logtest.ClipEdit(i+2, 2, "lens", `"50 mm"`)
		if answers, err := l.Push([]*logbook.Edit{kelvins, lens}, logtest.ID(61), 9); err != nil || answers[0].Outcome != logbook.AnswerTaken {
			t.Fatal(answers, err)
		}
	}
	return l
}

func apart(i int) string { return fmt.Sprint(2000 + i) }

// amended changes the clip and returns it, with the edits that this took.
func amended(t *testing.T, l *logbook.Log, drafts func(logbook.View) ([]logbook.Draft, error)) (v logbook.View, edits []*logbook.Edit) {
	t.Helper()
	edits, err := l.Change(logbook.Writer{Device: logtest.ID(70), By: "DIT", Now: 2_000_000}, func(b *logbook.Book) ([]logbook.Draft, error) {
		clip, _ := b.Record(logtest.ID(2))
		return drafts(clip)
	})
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range edits {
		if e.Act != edits[0].Dot && len(edits) > 1 {
			t.Errorf("edit %d is of act %s, want %s", i, e.Act, edits[0].Dot)
		}
	}
	l.Read(func(b *logbook.Book) {
		v, _ = b.Record(logtest.ID(2))
		for d, at := range b.Waiting() {
			t.Errorf("%s of %s waits", d, at.Field)
		}
	})
	return v, edits
}

func patched(patch logbook.Value) func(logbook.View) ([]logbook.Draft, error) {
	return func(v logbook.View) ([]logbook.Draft, error) {
		changes, err := amend.Patch(v, patch)
		return v.Drafts(changes), err
	}
}

func undone(d logbook.Dot) func(logbook.View) ([]logbook.Draft, error) {
	return func(v logbook.View) ([]logbook.Draft, error) { return amend.Undo(v, d) }
}

func struck(v logbook.View) ([]logbook.Draft, error) {
	return v.Drafts([]logbook.Change{logbook.Strike(v)}), nil
}

func TestWhatManyPhonesWroteIsSettled(t *testing.T) {
	for _, phones := range []int{255, 256, 257, 511, 512, 1000} {
		l := crowded(t, phones, apart)
		v, edits := amended(t, l, patched(`{"kelvin":5600,"lens":"85 mm"}`))
		for field, want := range map[string]logbook.Value{"kelvin": "5600", "lens": `"85 mm"`} {
			if f := v.Field(field); len(f.Heads) != 1 || f.Shown.Value != want {
				t.Errorf("%d phones: %s has %d heads and reads %s, want one of %s", phones, field, len(f.Heads), f.Shown.Value, want)
			}
		}
		if want := (phones + 253) / 255; len(edits) > max(want, 1) { // each names one of its own act
			t.Errorf("%d phones: got %d edits, want %d", phones, len(edits), want)
		}
	}
}

func TestWhatManyPhonesWroteIsStruckOutAndBroughtBack(t *testing.T) {
	l := crowded(t, 1000, apart)
	v, edits := amended(t, l, struck)
	if !v.Deleted() || v.Field(logbook.DeletedField).Conflict || len(v.DeletionConflicts()) > 0 || len(edits) < 8 {
		t.Fatalf("got deleted %v by %d edits with %d fields changed unseen, want it struck out with all seen",
			v.Deleted(), len(edits), len(v.DeletionConflicts()))
	}
	v, _ = amended(t, l, undone(edits[3].Dot))
	if v.Deleted() || len(v.Field(logbook.DeletedField).Heads) != 1 || len(v.Field("kelvin").Heads) != 1000 {
		t.Errorf("undone: got deleted %v with %d heads, and %d of kelvin; want it back as it was",
			v.Deleted(), len(v.Field(logbook.DeletedField).Heads), len(v.Field("kelvin").Heads))
	}
	amended(t, l, struck)
	v, _ = amended(t, l, func(v logbook.View) ([]logbook.Draft, error) { return amend.Restore(v), nil })
	if v.Deleted() || len(v.Field(logbook.DeletedField).Heads) != 1 {
		t.Errorf("brought back: got deleted %v with %d heads, want none struck out", v.Deleted(), len(v.Field(logbook.DeletedField).Heads))
	}
}

func TestWhatWasSettledBySeveralEditsIsUndoneAsOne(t *testing.T) {
	for _, last := range []bool{false, true} {
		l := crowded(t, 1000, func(int) string { return "3200" })
		_, edits := amended(t, l, patched(`{"kelvin":5600}`))
		e := edits[0]
		if last {
			e = edits[len(edits)-1]
		}
		v, _ := amended(t, l, undone(e.Dot))
		if f := v.Field("kelvin"); len(f.Heads) != 1 || f.Shown.Value != "3200" {
			t.Errorf("got %s with %d heads, want 3200", f.Shown.Value, len(f.Heads))
		}
	}
	l := crowded(t, 1000, apart)
	_, edits := amended(t, l, patched(`{"kelvin":5600}`))
	l.Read(func(b *logbook.Book) {
		v, _ := b.Record(logtest.ID(2))
		if _, err := amend.Undo(v, edits[len(edits)-1].Dot); err == nil {
			t.Error("what decided between 1,000 values was undone")
		}
	})
}
