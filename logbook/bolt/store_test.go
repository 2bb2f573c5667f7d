package bolt

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"

	"go.etcd.io/bbolt"
)

// open opens a store whose file is checked when the test is over.
func open(t testing.TB) (*Store, string) {
	path := filepath.Join(t.TempDir(), "log.db")
	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { finish(t, s, path) })
	return s, path
}

func finish(t testing.TB, s *Store, path string) {
	if n := s.db.Stats().OpenTxN; n != 0 {
		t.Errorf("%d transactions were left open", n)
	}
	if err := s.Close(); err != nil && !errors.Is(err, logbook.ErrClosed) {
		t.Error(err)
	}
	checkWhole(t, path)
}

func checkWhole(t testing.TB, path string) Report {
	t.Helper()
	report, err := Check(path)
	if err != nil || !report.Whole() {
		t.Errorf("%s does not pass the check: %v %+v", path, err, report)
	}
	return report
}

func begin(t testing.TB, s *Store) {
	t.Helper()
	if err := s.Begin(storetest.Production, logbook.Line{1}); err != nil {
		t.Fatal(err)
	}
}

func add(t testing.TB, s *Store, entries ...logbook.Entry) {
	t.Helper()
	if _, err := s.Append(storetest.Production, entries); err != nil {
		t.Fatal(err)
	}
}

func TestStoreKeepsThePromises(t *testing.T) {
	storetest.Run(t, func(t *testing.T) logbook.Store {
		s, _ := open(t)
		return s
	})
}

func TestStoreKeepsThePromisesAcrossOpenings(t *testing.T) {
	storetest.RunDurable(t, func(t *testing.T, folder string) logbook.Store {
		path := filepath.Join(folder, "log.db")
		if _, err := os.Stat(path); err == nil {
			checkWhole(t, path)
		}
		s, err := Open(path)
		if err != nil {
			t.Fatal(err)
		}
		return s
	})
}

// A request that cannot be applied is met while others wait beside it.
func TestAFailedRequestDoesNotHarmTheOthers(t *testing.T) {
	s, _ := open(t)
	begin(t, s)
	refusal := errors.New("this one is refused")
	var batch []*request
	receipts := make([][]logbook.Receipt, 32)
	for w := range receipts {
		entries := []logbook.Entry{storetest.Entry(byte(w+1), 1, "x"), storetest.Entry(byte(w+1), 2, "x")}
		receipts[w] = make([]logbook.Receipt, len(entries))
		held := s.logs[storetest.Production]
		batch = append(batch, &request{apply: func(c *change) error {
			a := appending{held, c.news(storetest.Production), c.tx.Bucket(logsBucket).Bucket(storetest.Production[:]), nil}
			if err := a.all(entries, receipts[w]); err != nil || w%4 != 3 {
				return err
			}
			return refusal // after it wrote
		}})
	}
	s.commit(batch)
	for w, r := range batch {
		err := r.err
		if refused := w%4 == 3; refused != errors.Is(err, refusal) || !refused && err != nil {
			t.Errorf("request %d: got %v", w, err)
		}
	}
	got, err := s.Read(storetest.Production, 0, 1<<20)
	if err != nil || len(got) != 48 {
		t.Errorf("got %d edits (%v), want the 48 of the 24 that were not refused", len(got), err)
	}
	ranges, err := s.Ranges(storetest.Production)
	if err != nil || len(ranges) != 24 {
		t.Errorf("the ranges have %d lines (%v), want 24", len(ranges), err)
	}
	for i, e := range got {
		if w := int(e.Dot.Line[0]) - 1; receipts[w][e.Dot.N-1] != (logbook.Receipt{Outcome: logbook.Taken, Seq: logbook.Seq(i + 1)}) {
			t.Errorf("edit %s was answered %+v and stands at %d", e.Dot, receipts[w][e.Dot.N-1], i+1)
		}
	}
}

// What is refused before a transaction begins costs no scan of the file.
func TestAnUnknownProductionBeginsNoTransaction(t *testing.T) {
	s, _ := open(t)
	begin(t, s)
	before := transaction(t, s)
	for range 3 {
		if _, err := s.Append(logbook.ID{99}, []logbook.Entry{storetest.Entry(1, 1, "x")}); !errors.Is(err, logbook.ErrNoProduction) {
			t.Errorf("got %v, want %v", err, logbook.ErrNoProduction)
		}
	}
	if after := transaction(t, s); after != before {
		t.Errorf("the file went from transaction %d to %d", before, after)
	}
	add(t, s, storetest.Entry(1, 1, "x"))
	if after := transaction(t, s); after != before+1 {
		t.Errorf("an append takes the file from transaction %d to %d, want one more", before, after)
	}
}

// transaction is the last one that was committed.
func transaction(t testing.TB, s *Store) (id int) {
	t.Helper()
	if err := s.view(func(tx *bbolt.Tx) error { id = tx.ID(); return nil }); err != nil {
		t.Fatal(err)
	}
	return id
}
