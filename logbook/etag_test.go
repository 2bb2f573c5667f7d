package logbook_test

import (
	"slices"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
)

func TestETag(t *testing.T) {
	tag := func(edits ...*logbook.Edit) string {
		t.Helper()
		v, ok := logtest.Book(rules, edits...).Record(logtest.ID(2))
		if !ok {
			t.Fatal("the record is not there")
		}
		return v.ETag()
	}
	at := func(e *logbook.Edit, made logbook.Millis) *logbook.Edit { e.At = made; return e }
	old := at(logtest.ClipEdit(1, 1, "lens", `"35"`), 50)
	replaced := at(logtest.ClipEdit(1, 2, "lens", `"50"`, old.Dot, logtest.Dot(2, 1), logtest.Dot(2, 2)), 60)
	first, last := at(logtest.ClipEdit(2, 1, "lens", `"18"`), 10), at(logtest.ClipEdit(2, 2, "lens", `"24"`), 90)
	before := tag(old, replaced)
	for _, c := range []struct {
		name string
		late *logbook.Edit
	}{{"who made the record, and when", first}, {"when it was changed last", last}} {
		if tag(old, replaced, c.late) == before {
			t.Errorf("it stays although an edit that came late, and was replaced before it came, says %s", c.name)
		}
	}
	all := []*logbook.Edit{old, replaced, first, last}
	want := tag(all...)
	slices.Reverse(all)
	if got := tag(all...); got != want {
		t.Errorf("in another order it is %s, want %s", got, want)
	}

	twin := func(n uint64, field string, value logbook.Value, over ...logbook.Dot) *logbook.Edit {
		e := logtest.ClipEdit(3, n, field, value, over...)
		e.Record = logtest.ID(3)
		return e
	}
	same := logtest.ClipEdit(1, 3, logbook.SamePrefix+logtest.ID(3).String(), `"one"`)
	joined := []*logbook.Edit{old, replaced, twin(1, "card", `"001"`), same}
	one := tag(joined...)
	if one == tag(joined[:3]...) {
		t.Error("it stays although the record is answered to be one with another")
	}
	if tag(append(slices.Clone(joined), twin(2, "card", `"002"`, logtest.Dot(3, 1)))...) == one {
		t.Error("it stays although the second of two twins was changed")
	}
}
