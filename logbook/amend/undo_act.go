package amend

import (
	"errors"
	"fmt"

	"evenwhite/logbook"
)

// UndoneAct is what takes an act back, and what of it cannot be.
type UndoneAct struct {
	Drafts []logbook.Draft
	Left   []LeftAlone
}

// LeftAlone is an edit of an act that stays, and why.
type LeftAlone struct {
	Kind   logbook.Kind
	Record logbook.ID
	Why    string
}

// UndoAct makes the drafts that set back all that the edits of one act set, as Undo does for each. What
// somebody set since is left alone. The error wraps ErrNoUndo where all of it is left.
func UndoAct(b *logbook.Book, act []*logbook.Edit) (u UndoneAct, err error) {
	done := map[logbook.ID]map[string]bool{} // what named too much was written by several edits
	for _, e := range act {
		again := true
		for _, c := range e.Set {
			again = again && done[e.Record][c.Field]
		}
		if again {
			continue
		}
		var drafts []logbook.Draft
		v, ok := b.RecordOf(e.Kind, e.Record)
		if !ok {
			err = fmt.Errorf("%w: edit %s was refused", ErrNoUndo, e.Dot)
		} else {
			drafts, err = Undo(v, e.Dot)
		}
		if err != nil && !errors.Is(err, ErrNoUndo) {
			return u, err
		}
		if err != nil {
			u.Left = append(u.Left, LeftAlone{e.Kind, e.Record, err.Error()})
			continue
		}
		u.Drafts = append(u.Drafts, drafts...)
		if done[e.Record] == nil {
			done[e.Record] = map[string]bool{}
		}
		for _, c := range e.Set {
			done[e.Record][c.Field] = true
		}
	}
	if len(u.Drafts) == 0 {
		return u, err
	}
	return u, nil
}
