package bolt

import (
	"fmt"
	"path/filepath"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"
)

// A restart is no way to have more clashes kept.
func TestTheClashesOfADeviceAreCountedAgainAtAStart(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	begin(t, s)
	many := []logbook.Entry{storetest.Entry(1, 1, "50 mm")}
	for n := range logbook.MostClashes - 1 {
		many = append(many, storetest.Entry(1, 1, fmt.Sprint("lens ", n)))
	}
	add(t, s, many...)
	if s, err = Open(reopened(t, s, path)); err != nil {
		t.Fatal(err)
	}
	defer func() { finish(t, s, path) }()
	r, err := s.Append(storetest.Production, []logbook.Entry{storetest.Entry(1, 1, "the last"), storetest.Entry(1, 1, "one more")})
	if err != nil || r[0].Outcome != logbook.Clash || r[1].Outcome != logbook.CrowdedOut {
		t.Errorf("got %+v (%v), want one that is kept and one that is not", r, err)
	}
}
