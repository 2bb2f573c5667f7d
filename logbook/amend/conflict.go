package amend

import (
	"sort"

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
	setUp := setUpOf(v)
	var out []Conflict
	for _, f := range v.Conflicts() {
		out = append(out, Conflict{Kind: v.Kind, Record: v.ID, SetUp: setUp, Field: f.Name, Heads: f.Heads})
	}
	for _, f := range v.DeletionConflicts() {
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

// A SetUpCount is how many conflicts a set-up has; under the zero id stand those
// of records that belong to no set-up.
type SetUpCount struct {
	SetUp logbook.ID
	Count int
}

// Conflicts lists what is not decided in a production, by kind in the order of
// the table, then in the order in which the records were made; and how much of it
// there is in each set-up, by id. Struck-out records count only where somebody
// changed them unseen.
func Conflicts(b *logbook.Book) ([]Conflict, []SetUpCount) {
	var out []Conflict
	counts := map[logbook.ID]int{}
	for _, kind := range kindsOf(b) {
		for _, v := range b.AllRecords(kind) {
			for _, c := range ConflictsOf(v) {
				if v.Deleted() && !c.Deletion && c.Field != logbook.DeletedField {
					continue
				}
				out = append(out, c)
				counts[c.SetUp]++
			}
		}
	}
	sums := make([]SetUpCount, 0, len(counts))
	for setUp, n := range counts {
		sums = append(sums, SetUpCount{setUp, n})
	}
	sort.Slice(sums, func(i, j int) bool { return sums[i].SetUp.Less(sums[j].SetUp) })
	return out, sums
}

// kindsOf lists the kinds in a book: those of the table, then those of a newer
// version by name.
func kindsOf(b *logbook.Book) []logbook.Kind {
	var known, others []logbook.Kind
	for i := range kinds.Specs {
		known = append(known, kinds.Specs[i].Kind)
	}
	for _, kind := range b.Kinds() {
		if _, ok := kinds.Of(kind); !ok {
			others = append(others, kind)
		}
	}
	return append(known, others...)
}

// value is the conflict as it stands in a record's object.
func (c Conflict) value() logbook.Value {
	kind := "values"
	if c.Deletion {
		kind = "deletion"
	}
	values := make([]logbook.Value, len(c.Heads))
	for i, h := range c.Heads {
		values[i] = logbook.ObjectValue([]logbook.Member{
			{Name: "value", Value: h.Value},
			{Name: "by", Value: logbook.TextValue(h.Edit.By)},
			{Name: "device", Value: logbook.IDValue(h.Edit.Device)},
			{Name: "at", Value: logbook.TimeValue(h.Edit.At)},
			{Name: "correctedAt", Value: logbook.TimeValue(h.Edit.Corrected())},
			{Name: "dot", Value: logbook.TextValue(h.Dot.String())},
		})
	}
	return logbook.ObjectValue([]logbook.Member{
		{Name: "field", Value: logbook.TextValue(c.Field)},
		{Name: "kind", Value: logbook.TextValue(kind)},
		{Name: "values", Value: logbook.ListValue(values)},
	})
}
