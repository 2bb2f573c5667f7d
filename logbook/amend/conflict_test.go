package amend_test

import (
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
	"evenwhite/logbook/kinds"
)

func TestConflictsOfAProduction(t *testing.T) {
	d, takes := twoPhones(t, false)
	seen := logbook.Strike(takes[0])
	d.Line = 2
	d.Apply(logbook.Draft{Kind: kinds.Take, Record: takes[0].ID, Set: []logbook.Change{{Field: "wanted", Value: "true"}}})
	d.Line = 1
	d.Apply(logbook.Draft{Kind: kinds.Take, Record: takes[0].ID, Set: []logbook.Change{seen}})
	got, counts := amend.Conflicts(d.Book), amend.ConflictCounts(d.Book)
	if len(got) != 1 || !got[0].Deletion || got[0].Field != "wanted" || len(counts) != 1 ||
		counts[0].SetUp != takes[0].Ref("setUp") || counts[0].Count != 1 {
		t.Errorf("got %v, %v, want wanted: struck out here, changed there", got, counts)
	}
	if text := string(amend.Object(d.View(takes[0].ID))); !strings.Contains(text, `"deleted":true`) || !strings.Contains(text, `"kind":"deletion"`) {
		t.Errorf("got %s", text)
	}
	d.Apply(logbook.Draft{Kind: kinds.Take, Record: takes[0].ID, Set: []logbook.Change{logbook.BringBack(d.View(takes[0].ID))}})
	if got := amend.Conflicts(d.Book); len(got) != 0 {
		t.Errorf("after bringing back: got %v", got)
	}
}
