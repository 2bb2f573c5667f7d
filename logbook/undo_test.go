package logbook

import (
	"errors"
	"strings"
	"testing"
)

func TestUndo(t *testing.T) {
	made, set := clipEdit(1, 1, "kelvin", "5600"), clipEdit(1, 2, "kelvin", "4300", Dot{testLine(1), 1})
	added := clipEdit(1, 3, "lens", `"50 mm"`)
	view := func(edits ...*Edit) View {
		v, ok := bookOf(edits...).Record(made.Record)
		if !ok {
			t.Fatal("there is no record")
		}
		return v
	}
	after := func(v View, drafts []Draft, edits ...*Edit) View {
		for i, d := range drafts {
			edits = append(edits, &Edit{Production: testID(1), Kind: d.Kind, Record: d.Record, Device: testID(9), Dot: Dot{testLine(9), uint64(i + 1)}, At: 50, Set: d.Set})
		}
		return view(edits...)
	}
	t.Run("sets back what was replaced, or to nothing where nothing was", func(t *testing.T) {
		edits := []*Edit{made, set, added}
		for dot, want := range map[Dot][2]Value{set.Dot: {"5600", `"50 mm"`}, added.Dot: {"4300", ""}} {
			drafts, err := Undo(view(edits...), dot)
			if err != nil {
				t.Fatal(err)
			}
			v := after(view(edits...), drafts, edits...)
			if got := [2]Value{v.Value("kelvin"), v.Value("lens")}; got != want || len(v.Conflicts()) > 0 {
				t.Errorf("undo of %s: got %q, want %q without a conflict", dot, got, want)
			}
		}
	})
	t.Run("brings back what was struck out, and strikes it out again", func(t *testing.T) {
		strike := clipEdit(1, 4, DeletedField, "true", made.Dot)
		edits := []*Edit{made, strike}
		drafts, err := Undo(view(edits...), strike.Dot)
		if err != nil {
			t.Fatal(err)
		}
		v := after(view(edits...), drafts, edits...)
		if v.Deleted() {
			t.Fatal("it is still struck out")
		}
		drafts, err = Undo(v, Dot{testLine(9), 1})
		if err != nil || len(drafts) != 1 || drafts[0].Set[0].Field != DeletedField || drafts[0].Set[0].Value != "true" {
			t.Errorf("got %v (%v), want it struck out again", drafts, err)
		}
	})
	other, decided := clipEdit(2, 1, "kelvin", "3200"), clipEdit(3, 1, "kelvin", "5600", made.Dot, Dot{testLine(2), 1})
	for name, c := range map[string]struct {
		edits []*Edit
		undo  Dot
		want  error
		says  string
	}{
		"an edit that is not here":      {[]*Edit{made}, set.Dot, ErrNoRecord, set.Dot.String()},
		"the edit that made the record": {[]*Edit{made}, made.Dot, ErrNoUndo, "strike"},
		"what was set since":            {[]*Edit{made, set, clipEdit(1, 5, "kelvin", "4400", set.Dot)}, set.Dot, ErrNoUndo, "kelvin"},
		"what decided a conflict":       {[]*Edit{made, other, decided}, decided.Dot, ErrNoUndo, "several"},
	} {
		if _, err := Undo(view(c.edits...), c.undo); !errors.Is(err, c.want) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v, want %v that says %q", name, err, c.want, c.says)
		}
	}
}
