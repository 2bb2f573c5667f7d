package bolt

import (
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"

	"go.etcd.io/bbolt"
)

// pagesOf is how many bytes of the file's pages are counted, free ones as well.
func pagesOf(t *testing.T, s *Store) (n int64) {
	t.Helper()
	if err := s.view(func(tx *bbolt.Tx) error { n = tx.Size(); return nil }); err != nil {
		t.Fatal(err)
	}
	return n
}

// A reader that is open, such as a backup in the making, keeps pages from being used
// again; what the file grew by meanwhile serves the commits that come after.
func TestWhatAnOpenReaderCostIsUsedAgain(t *testing.T) {
	s, _ := open(t)
	begin(t, s)
	n := uint64(0)
	commits := func() (grown int64) {
		before := pagesOf(t, s)
		for range 300 {
			n++
			add(t, s, storetest.Entry(1, n, "35"))
		}
		return pagesOf(t, s) - before
	}
	alone := commits()
	reading, leave := make(chan bool), make(chan bool)
	ended := make(chan error)
	go func() {
		ended <- s.view(func(*bbolt.Tx) error {
			close(reading)
			<-leave
			return nil
		})
	}()
	<-reading
	under := commits()
	close(leave)
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
	after := commits()
	t.Logf("300 commits added %d bytes alone, %d under an open reader, %d after it", alone, under, after)
	if alone > 256<<10 || after > 256<<10 {
		t.Errorf("300 commits added %d bytes alone and %d after a reader, want at most a quarter of a megabyte", alone, after)
	}
	if under < 4*alone {
		t.Errorf("an open reader cost %d bytes, without one %d: the test shows nothing", under, alone)
	}
	if head, err := s.Head(storetest.Production); err != nil || head.Seq != logbook.Seq(n) {
		t.Errorf("the log ends at %d (%v), want %d", head.Seq, err, n)
	}
}
