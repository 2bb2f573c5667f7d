package amend_test

import (
	"errors"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/stage"
)

// An act is taken back as one; what somebody set since stays, and is told.
func TestAnActIsTakenBack(t *testing.T) {
	s := stage.New(t)
	_, a, b := s.Shoot("5600", "5600")
	book := s.Book()
	lens := func(clip logbook.ID, text string) logbook.Draft {
		v, _ := book.RecordOf(kinds.Clip, clip)
		return logbook.Draft{Kind: kinds.Clip, Record: clip, Set: []logbook.Change{logbook.Replace(v, "lens", logbook.TextValue(text))}}
	}
	n := uint64(1)
	write := func(drafts ...logbook.Draft) []*logbook.Edit {
		t.Helper()
		like := &logbook.Edit{Production: book.Production(), Device: logbook.ID{15: 7}, At: stage.Minute(300),
			Dot: logbook.Dot{Line: logbook.Line{3}, N: n}}
		act := logbook.Act(like, drafts, kinds.Rules.MostNames)
		n += uint64(len(act))
		for _, e := range act {
			if err := book.Apply(e); err != nil {
				t.Fatal(err)
			}
		}
		return act
	}
	lensOf := func(clip logbook.ID) string {
		v, _ := book.RecordOf(kinds.Clip, clip)
		return v.Text("lens")
	}
	act := write(lens(a, "35 mm"), lens(b, "50 mm"))
	write(lens(b, "85 mm"))
	u, err := amend.UndoAct(book, act)
	if err != nil || len(u.Left) != 1 || u.Left[0].Record != b || len(u.Drafts) != 1 {
		t.Fatalf("got %+v, %v, want one taken back and one left", u, err)
	}
	back := write(u.Drafts...)
	if lensOf(a) != "" || lensOf(b) != "85 mm" {
		t.Errorf("got %q and %q, want none and 85 mm", lensOf(a), lensOf(b))
	}
	if u, err = amend.UndoAct(book, back); err != nil || len(u.Drafts) != 1 {
		t.Fatalf("taking back is taken back: got %+v, %v", u, err)
	}
	write(u.Drafts...)
	if lensOf(a) != "35 mm" {
		t.Errorf("got %q, want 35 mm again", lensOf(a))
	}
	if _, err = amend.UndoAct(book, act[1:]); !errors.Is(err, amend.ErrNoUndo) {
		t.Errorf("got %v of what was set since, want %v", err, amend.ErrNoUndo)
	}
}
