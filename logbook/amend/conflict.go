package amend

import (
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A Conflict is one field of a record that is not decided: it has several values,
// or the record was struck out by someone who had not seen what stands in it.
type Conflict struct {
	Kind     logbook.Kind
	Record   logbook.ID
	SetUp    logbook.ID // zero where the record belongs to none
	Field    string
	Deletion bool
	Heads    []logbook.Version // the latest first: the one that is shown
}

// ConflictsOf lists what is not decided of one record: first the fields with
// several values, then those that were changed by one and struck out by another.
func ConflictsOf(v logbook.View) []Conflict {
	several, struck := v.Conflicts(), v.DeletionConflicts()
	if len(several)+len(struck) == 0 {
		return nil
	}
	setUp := setUpOf(v)
	var out []Conflict
	for _, f := range several {
		out = append(out, Conflict{Kind: v.Kind, Record: v.ID, SetUp: setUp, Field: f.Name, Heads: f.Heads})
	}
	for _, f := range struck {
		out = append(out, Conflict{Kind: v.Kind, Record: v.ID, SetUp: setUp, Field: f.Name, Deletion: true, Heads: f.Heads})
	}
	return out
}

func setUpOf(v logbook.View) logbook.ID {
	if v.Kind == kinds.SetUp {
		return v.ID
	}
	return v.Ref("setUp")
}

// undecided lists the conflicts of a record that people must settle: of a struck-out one
// those alone that somebody made unseen.
func undecided(v logbook.View) []Conflict {
	all := ConflictsOf(v)
	if len(all) > 0 && v.Deleted() {
		all = slices.DeleteFunc(all, func(c Conflict) bool { return !c.Deletion && c.Field != logbook.DeletedField })
	}
	return all
}

// A SetUpCount is how many conflicts a set-up has; under the zero id stand those
// of records that belong to no set-up.
type SetUpCount struct {
	SetUp logbook.ID
	Count int
}

// value is the conflict as it stands in a record's object.
func (c Conflict) value() logbook.Value {
	kind := "values"
	if c.Deletion {
		kind = "deletion"
	}
	values := make([]logbook.Value, len(c.Heads))
	for i, h := range c.Heads {
		e := h.Edit()
		values[i] = logbook.ObjectValue([]logbook.Member{
			{Name: "value", Value: h.Value},
			{Name: "by", Value: logbook.TextValue(e.By)},
			{Name: "device", Value: logbook.IDValue(e.Device)},
			{Name: "at", Value: logbook.TimeValue(e.At)},
			{Name: "correctedAt", Value: logbook.TimeValue(e.Corrected())},
			{Name: "dot", Value: logbook.TextValue(h.Dot.String())},
		})
	}
	return logbook.ObjectValue([]logbook.Member{
		{Name: "field", Value: logbook.TextValue(c.Field)},
		{Name: "kind", Value: logbook.TextValue(kind)},
		{Name: "values", Value: logbook.ListValue(values)},
	})
}
