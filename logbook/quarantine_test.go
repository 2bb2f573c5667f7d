package logbook

import (
	"errors"
	"slices"
	"strings"
	"testing"
)

func TestARefusedEditIsDiscardedByANoteAndStays(t *testing.T) {
	l := openTestLog(t, NewMemory())
	bad := clipEdit(1, 1, "kelvin", "-3")
	if _, err := l.Push([]*Edit{bad, clipEdit(1, 2, "lens", `"50 mm"`)}, testID(2), 1000); err != nil {
		t.Fatal(err)
	}
	quarantine := func() (all []Quarantined) {
		l.Read(func(b *Book) { all = Quarantine(b) })
		return all
	}
	discard := func(d Dot, id ID) (note ID, err error) {
		_, err = l.Change(Writer{Device: testID(3), By: "DIT", Now: 2000}, func(b *Book) (drafts []Draft, err error) {
			note, drafts, err = Discard(b, d, id)
			return drafts, err
		})
		return note, err
	}
	if all := quarantine(); len(all) != 1 || all[0].Discarded != nil || all[0].Corrected != nil {
		t.Fatalf("got %v, want one edit that nobody dealt with", all)
	}
	for name, dot := range map[string]Dot{"a valid edit": {testLine(1), 2}, "an edit that is not here": {testLine(1), 9}} {
		if _, err := discard(dot, testID(7)); !errors.Is(err, ErrNotRefused) || !strings.Contains(err.Error(), dot.String()) {
			t.Errorf("%s: got %v, want a refusal that names the dot", name, err)
		}
	}
	note, err := discard(bad.Dot, testID(8))
	if err != nil || note != testID(8) {
		t.Fatalf("got %s (%v)", note, err)
	}
	if all := quarantine(); len(all) != 1 || all[0].Edit != bad || all[0].Discarded == nil || all[0].Discarded.By != "DIT" {
		t.Fatalf("got %v, want the edit, discarded by the DIT", all)
	}
	again, err := discard(bad.Dot, testID(9))
	if head, _ := l.Head(); err != nil || again != note || head.Seq != 3 {
		t.Errorf("discarded again: got the note %s (%v) and %d edits, want the first note and nothing stored", again, err, head.Seq)
	}
	t.Run("the edit still travels to who lacks it, and its discard with it", func(t *testing.T) {
		d := newDevice(t, 5)
		d.exchange(l, 0)
		if d.held[bad.Dot] == nil {
			t.Fatal("the refused edit was left out")
		}
		b := NewBook(testID(1), KindRules)
		for _, e := range d.held {
			_ = b.Apply(e) // a refusal is kept in the book
		}
		if all := Quarantine(b); len(all) != 1 || all[0].Discarded == nil {
			t.Errorf("got %v on the device", all)
		}
	})
	t.Run("a note that is struck out discards nothing", func(t *testing.T) {
		_, err := l.Change(Writer{Device: testID(3), By: "DIT", Now: 3000}, func(b *Book) ([]Draft, error) {
			v, _ := b.RecordOf(KindNote, note)
			return v.Drafts([]Change{Strike(v)}), nil
		})
		if all := quarantine(); err != nil || all[0].Discarded != nil {
			t.Errorf("got %v (%v)", all, err)
		}
	})
}

func TestARefusedEditIsCorrectedByAnEditThatNamesIt(t *testing.T) {
	bad, worse := clipEdit(1, 1, "kelvin", "-3"), clipEdit(2, 1, "kelvin", "-4")
	good := clipEdit(3, 1, "kelvin", "4300", bad.Dot)
	all := Quarantine(bookOf(good, bad, worse))
	if len(all) != 2 || all[0].Corrected != good || all[1].Corrected != nil {
		t.Errorf("got %v, want the first corrected and the second not", all)
	}
}

func TestAReasonThatQuotesAnythingFitsANote(t *testing.T) {
	for _, c := range []struct{ name, by string }{{"control characters", "a\x00b\x7f\n"}, {"no text", "\xff\xfe"}, {"much", strings.Repeat("é", 5000)}} {
		e := clipEdit(1, 1, "kelvin", "-3")
		b := NewBook(testID(1), KindRules)
		b.refused[e.Dot] = Refusal{e, c.by}
		_, drafts, err := Discard(b, e.Dot, testID(8))
		if err != nil || len(drafts) != 1 {
			t.Fatalf("%s: %v", c.name, err)
		}
		note := &Edit{Production: testID(1), Kind: KindNote, Record: testID(8), Device: testID(3), Dot: Dot{testLine(4), 1}, By: "DIT", Set: drafts[0].Set}
		if err := Judge(note); err != nil {
			t.Errorf("%s: the note is refused: %v", c.name, err)
		}
	}
}

func TestACorrectionLeavesOutNamesThatNoEditCanHaveSeen(t *testing.T) {
	own := Dot{testLine(1), 2}
	seen := Dot{testLine(2), 7}
	b := bookOf(clipEdit(1, 2, "kelvin", "4300", own, Dot{testLine(1), 9}, seen))
	if len(b.Refused()) != 1 {
		t.Fatal("an edit that names itself was taken")
	}
	drafts, err := Correct(b, own, "{}", testID(8))
	if err != nil || len(drafts) != 1 || len(drafts[0].Set) != 1 {
		t.Fatalf("got %v (%v), want one edit of one field", drafts, err)
	}
	if got := drafts[0].Set[0]; got.Value != "4300" || !slices.Equal(got.Over, []Dot{own, seen}) {
		t.Errorf("got %v, want the value over the edit itself and what it can have seen", got)
	}
}
