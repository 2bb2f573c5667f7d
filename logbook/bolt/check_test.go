package bolt

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"
)

// An edit that is named and not here is no damage, and is counted until it comes.
func TestTheCheckCountsEditsThatAreNamedAndNotHere(t *testing.T) {
	s, _ := open(t)
	begin(t, s)
	first, second := storetest.Entry(2, 1, "35"), storetest.Entry(2, 2, "50")
	e, err := logbook.DecodeEdit(storetest.Entry(1, 1, "85").Bytes)
	if err != nil {
		t.Fatal(err)
	}
	e.Set[0].Over = []logbook.Dot{first.Dot, second.Dot}
	b, err := logbook.EncodeEdit(e)
	if err != nil {
		t.Fatal(err)
	}
	add(t, s, first, logbook.Entry{Dot: e.Dot, Hash: logbook.HashOf(b), Bytes: b, Via: e.Device})
	missing := func() int {
		copied := t.TempDir() + "/copy"
		if err := s.Backup(copied); err != nil {
			t.Fatal(err)
		}
		return checkWhole(t, copied).Missing
	}
	if got := missing(); got != 1 {
		t.Errorf("%d edits are named and not here, want the second alone", got)
	}
	add(t, s, second)
	if got := missing(); got != 0 {
		t.Errorf("%d edits are named and not here after it came, want 0", got)
	}
}
