package amend_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

func TestARefusedEditIsDiscardedByANoteAndStays(t *testing.T) {
	l := exchange.NewPeer(logtest.Open(t, logbook.NewMemory(), kinds.Rules, 0x10))
	bad := logtest.ClipEdit(1, 1, "kelvin", "-3")
	if _, err := l.Push([]*logbook.Edit{bad, logtest.ClipEdit(1, 2, "lens", `"50 mm"`)}, logtest.ID(2), 1000); err != nil {
		t.Fatal(err)
	}
	quarantine := func() (all []amend.Quarantined) {
		l.Read(func(b *logbook.Book) { all = amend.Quarantine(b) })
		return all
	}
	discard := func(d logbook.Dot, id logbook.ID) (note logbook.ID, err error) {
		_, err = l.Change(logbook.Writer{Device: logtest.ID(3), By: "DIT", Now: 2000}, func(b *logbook.Book) (drafts []logbook.Draft, err error) {
			note, drafts, err = amend.Discard(b, d, id)
			return drafts, err
		})
		return note, err
	}
	if all := quarantine(); len(all) != 1 || all[0].Discarded != nil || all[0].Corrected != nil {
		t.Fatalf("got %v, want one edit that nobody dealt with", all)
	}
	for name, dot := range map[string]logbook.Dot{"a valid edit": logtest.Dot(1, 2), "an edit that is not here": logtest.Dot(1, 9)} {
		if _, err := discard(dot, logtest.ID(7)); !errors.Is(err, amend.ErrNotRefused) || !strings.Contains(err.Error(), dot.String()) {
			t.Errorf("%s: got %v, want a refusal that names the dot", name, err)
		}
	}
	note, err := discard(bad.Dot, logtest.ID(8))
	if err != nil || note != logtest.ID(8) {
		t.Fatalf("got %s (%v)", note, err)
	}
	if all := quarantine(); len(all) != 1 || all[0].Edit != bad || all[0].Discarded == nil || all[0].Discarded.By != "DIT" {
		t.Fatalf("got %v, want the edit, discarded by the DIT", all)
	}
	again, err := discard(bad.Dot, logtest.ID(9))
	if head, _ := l.Head(); err != nil || again != note || head.Seq != 3 {
		t.Errorf("discarded again: got the note %s (%v) and %d edits, want the first note and nothing stored", again, err, head.Seq)
	}
	t.Run("the edit still travels to who lacks it, and its discard with it", func(t *testing.T) {
		r := exchange.NewReplica(logtest.Production, logtest.ID(65), kinds.Rules, logtest.Lines(0x50))
		a, err := l.Exchange(r.Request(logbook.Line{}), logtest.ID(65), 1000)
		if err != nil {
			t.Fatal(err)
		}
		r.Take(a)
		if !r.Book().Held(bad.Dot) {
			t.Fatal("the refused edit was left out")
		}
		if all := amend.Quarantine(r.Book()); len(all) != 1 || all[0].Discarded == nil {
			t.Errorf("got %v on the device", all)
		}
	})
	t.Run("a note that is struck out discards nothing", func(t *testing.T) {
		_, err := l.Change(logbook.Writer{Device: logtest.ID(3), By: "DIT", Now: 3000}, func(b *logbook.Book) ([]logbook.Draft, error) {
			v, _ := b.RecordOf(kinds.Note, note)
			return v.Drafts([]logbook.Change{logbook.Strike(v)}), nil
		})
		if all := quarantine(); err != nil || all[0].Discarded != nil {
			t.Errorf("got %v (%v)", all, err)
		}
	})
}

func TestARefusedEditIsCorrectedByAnEditThatNamesIt(t *testing.T) {
	bad, worse := logtest.ClipEdit(1, 1, "kelvin", "-3"), logtest.ClipEdit(2, 1, "kelvin", "-4")
	good := logtest.ClipEdit(3, 1, "kelvin", "4300", bad.Dot)
	all := amend.Quarantine(logtest.Book(kinds.Rules, good, bad, worse))
	if len(all) != 2 || all[0].Corrected == nil || all[0].Corrected.Dot != good.Dot || all[1].Corrected != nil {
		t.Errorf("got %v, want the first corrected and the second not", all)
	}
}

func TestAReasonThatQuotesAnythingFitsANote(t *testing.T) {
	for _, c := range []struct{ name, by string }{
		{"control characters", "a\x00b\x7f\n"}, {"no text", "\xff\xfe"}, {"much", strings.Repeat("é", 5000)},
	} {
		e := logtest.ClipEdit(1, 1, "kelvin", "-3")
		b := logtest.Book(logbook.Rules{Judge: func(*logbook.Edit) error { return errors.New(c.by) }}, e)
		_, drafts, err := amend.Discard(b, e.Dot, logtest.ID(8))
		if err != nil || len(drafts) != 1 {
			t.Fatalf("%s: %v", c.name, err)
		}
		note := &logbook.Edit{
			Production: logtest.Production, Kind: kinds.Note, Record: logtest.ID(8), Device: logtest.ID(3),
			Dot: logtest.Dot(4, 1), By: "DIT", Set: drafts[0].Set,
		}
		if err := kinds.Judge(note); err != nil {
			t.Errorf("%s: the note is refused: %v", c.name, err)
		}
	}
}

func TestACorrectionLeavesOutNamesThatNoEditCanHaveSeen(t *testing.T) {
	own := logtest.Dot(1, 2)
	seen := logtest.Dot(2, 7)
	b := logtest.Book(kinds.Rules, logtest.ClipEdit(1, 2, "kelvin", "4300", own, logtest.Dot(1, 9), seen))
	if len(b.Refused()) != 1 {
		t.Fatal("an edit that names itself was taken")
	}
	drafts, err := amend.Correct(b, own, "{}", logtest.ID(8))
	if err != nil || len(drafts) != 1 || len(drafts[0].Set) != 1 {
		t.Fatalf("got %v (%v), want one edit of one field", drafts, err)
	}
	if got := drafts[0].Set[0]; got.Value != "4300" || !slices.Equal(got.Over, []logbook.Dot{own, seen}) {
		t.Errorf("got %v, want the value over the edit itself and what it can have seen", got)
	}
}

func TestARefusedEditIsCorrectedOnceAllItsFieldsAre(t *testing.T) {
	clip := func(line int, n uint64, set ...logbook.Change) *logbook.Edit {
		e := logtest.ClipEdit(line, n, "", "")
		e.Set = set
		return e
	}
	set := func(field string, value logbook.Value, over ...logbook.Dot) logbook.Change {
		return logbook.Change{Field: field, Value: value, Over: over}
	}
	bad := clip(1, 1, set("kelvin", "-3"), set("lens", `"50"`), set("tint", "4"))
	touch := clip(2, 1, set("lens", `"85"`, bad.Dot))
	state := func(edits ...*logbook.Edit) (amend.Quarantined, *logbook.Book) {
		t.Helper()
		b := logtest.Book(kinds.Rules, edits...)
		all := amend.Quarantine(b)
		if len(all) != 1 {
			t.Fatalf("got %v, want one refused edit", all)
		}
		return all[0], b
	}
	q, b := state(bad, touch)
	if q.Corrected != nil || !slices.Equal(q.Open, []string{"kelvin", "tint"}) {
		t.Fatalf("one field was touched: got it corrected by %v, open %v", q.Corrected, q.Open)
	}
	if _, err := amend.Correct(b, bad.Dot, `{"lens":"18","kelvin":4300}`, logtest.ID(8)); err == nil || !strings.Contains(err.Error(), "lens") {
		t.Errorf("a field that was corrected before: got %v", err)
	}
	for _, c := range []struct {
		patch  logbook.Value
		drafts int
		says   string
	}{{`{"kelvin":4300}`, 1, ""}, {`{"kelvin":null}`, 2, "is corrected: "}} {
		drafts, err := amend.Correct(b, bad.Dot, c.patch, logtest.ID(8))
		if err != nil || len(drafts) != c.drafts {
			t.Fatalf("%s: got %v (%v), want %d drafts", c.patch, drafts, err, c.drafts)
		}
		edits := []*logbook.Edit{bad, touch}
		for i, d := range drafts {
			e := clip(3, uint64(i+1), d.Set...)
			e.Kind, e.Record = d.Kind, d.Record
			edits = append(edits, e)
		}
		q, b := state(edits...)
		if len(q.Open) != 0 || (q.Corrected == nil) == (q.Discarded == nil) || c.says != "" && q.Discarded == nil {
			t.Errorf("%s: got it corrected by %v, a note %v, open %v", c.patch, q.Corrected, q.Discarded, q.Open)
		}
		if _, err := amend.Correct(b, bad.Dot, `{}`, logtest.ID(9)); !errors.Is(err, amend.ErrSettled) {
			t.Errorf("%s, and once more: got %v", c.patch, err)
		}
	}
}
