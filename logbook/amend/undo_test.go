package amend_test

import (
	"errors"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

func TestUndo(t *testing.T) {
	made, set := logtest.ClipEdit(1, 1, "kelvin", "5600"), logtest.ClipEdit(1, 2, "kelvin", "4300", logtest.Dot(1, 1))
	added := logtest.ClipEdit(1, 3, "lens", `"50 mm"`)
	view := func(edits ...*logbook.Edit) logbook.View {
		v, ok := logtest.Book(kinds.Rules, edits...).Record(made.Record)
		if !ok {
			t.Fatal("there is no record")
		}
		return v
	}
	after := func(v logbook.View, drafts []logbook.Draft, edits ...*logbook.Edit) logbook.View {
		for i, d := range drafts {
			edits = append(edits, &logbook.Edit{
				Production: logtest.Production, Kind: d.Kind, Record: d.Record, Device: logtest.ID(9),
				Dot: logtest.Dot(9, uint64(i+1)), At: 50, Set: d.Set,
			})
		}
		return view(edits...)
	}
	t.Run("sets back what was replaced, or to nothing where nothing was", func(t *testing.T) {
		edits := []*logbook.Edit{made, set, added}
		for dot, want := range map[logbook.Dot][2]logbook.Value{set.Dot: {"5600", `"50 mm"`}, added.Dot: {"4300", ""}} {
			drafts, err := amend.Undo(view(edits...), dot)
			if err != nil {
				t.Fatal(err)
			}
			v := after(view(edits...), drafts, edits...)
			if got := [2]logbook.Value{v.Value("kelvin"), v.Value("lens")}; got != want || len(v.Conflicts()) > 0 {
				t.Errorf("undo of %s: got %q, want %q without a conflict", dot, got, want)
			}
		}
	})
	t.Run("brings back what was struck out, and strikes it out again", func(t *testing.T) {
		strike := logtest.ClipEdit(1, 4, logbook.DeletedField, "true", made.Dot)
		edits := []*logbook.Edit{made, strike}
		drafts, err := amend.Undo(view(edits...), strike.Dot)
		if err != nil {
			t.Fatal(err)
		}
		v := after(view(edits...), drafts, edits...)
		if v.Deleted() {
			t.Fatal("it is still struck out")
		}
		drafts, err = amend.Undo(v, logtest.Dot(9, 1))
		if err != nil || len(drafts) != 1 || drafts[0].Set[0].Field != logbook.DeletedField || drafts[0].Set[0].Value != "true" {
			t.Errorf("got %v (%v), want it struck out again", drafts, err)
		}
	})
	other, decided := logtest.ClipEdit(2, 1, "kelvin", "3200"), logtest.ClipEdit(3, 1, "kelvin", "5600", made.Dot, logtest.Dot(2, 1))
	for name, c := range map[string]struct {
		edits []*logbook.Edit
		undo  logbook.Dot
		want  error
		says  string
	}{
		"an edit that is not here":      {[]*logbook.Edit{made}, set.Dot, logbook.ErrNoRecord, set.Dot.String()},
		"the edit that made the record": {[]*logbook.Edit{made}, made.Dot, amend.ErrNoUndo, "strike"},
		"what was set since":            {[]*logbook.Edit{made, set, logtest.ClipEdit(1, 5, "kelvin", "4400", set.Dot)}, set.Dot, amend.ErrNoUndo, "kelvin"},
		"what decided a conflict":       {[]*logbook.Edit{made, other, decided}, decided.Dot, amend.ErrNoUndo, "several"},
	} {
		if _, err := amend.Undo(view(c.edits...), c.undo); !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v, want %v that says %q", name, err, c.want, c.says)
		}
	}
}
