package bolt

import (
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"

	"go.etcd.io/bbolt"
)

func size(t testing.TB, path string) int64 {
	t.Helper()
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	return info.Size()
}

func TestCompactKeepsEverythingInLessRoom(t *testing.T) {
	s, path := open(t)
	begin(t, s)
	for n := uint64(1); n <= 200; n++ {
		add(t, s, storetest.Entry(1, n, "a lens"), storetest.Entry(1, n, "a clash"))
	}
	if err := errors.Join(s.Keep("device/a", []byte("1")), s.Keep("gone", make([]byte, 1<<20)), s.Keep("gone", nil)); err != nil {
		t.Fatal(err)
	}
	if _, _, err := Compact(path); !errors.Is(err, ErrInUse) {
		t.Errorf("of a store in use: got %v, want %v", err, ErrInUse)
	}
	want, err := s.Read(storetest.Production, 0, 1<<30)
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	was := size(t, path)
	before, after, err := Compact(path)
	if err != nil || before != was || after != size(t, path) || after > 200_000 {
		t.Errorf("from %d to %d bytes (%v); the file had %d and has %d, want less than 200000", before, after, err, was, size(t, path))
	}
	if r := checkWhole(t, path); r.Edits != 200 || r.Clashes != 200 {
		t.Errorf("the compact file holds %+v", r)
	}
	again, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer finish(t, again, path)
	got, err := again.Read(storetest.Production, 0, 1<<30)
	if err != nil || len(got) != len(want) || got[199].Chain != want[199].Chain {
		t.Errorf("got %d edits (%v), want %d with the same chain", len(got), err, len(want))
	}
	if kept, err := again.Kept("device/a"); err != nil || string(kept) != "1" {
		t.Errorf("kept is %q (%v), want 1", kept, err)
	}
	// The next clash is put behind those that are kept.
	add(t, again, storetest.Entry(1, 1, "another clash"))
	clashes, err := again.Clashes(storetest.Production)
	if err != nil || len(clashes) != 201 || clashes[200].Hash != storetest.Entry(1, 1, "another clash").Hash {
		t.Errorf("got %d clashes (%v), want 201 with the new one last", len(clashes), err)
	}
	storetest.MustAgree(t, again)
	if left, err := os.ReadDir(filepath.Dir(path)); err != nil || len(left) != 1 {
		t.Errorf("the folder holds %v (%v), want the store alone", left, err)
	}
}

func TestCompactLeavesADamagedFileAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	content := withHead(wholeFile(t), 40, 2) // heads that name no pages
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, _, err := Compact(path); !errors.Is(err, logbook.ErrDamaged) {
		t.Errorf("got %v, want %v", err, logbook.ErrDamaged)
	}
	if got, err := os.ReadFile(path); err != nil || string(got) != string(content) {
		t.Errorf("the file was changed (%v)", err)
	}
}

// Whoever waits for the old file while it is replaced must not write to it.
func TestOpeningDuringCompactingWritesTheNewFile(t *testing.T) {
	s, path := open(t)
	begin(t, s)
	for n := uint64(1); n <= 50; n++ {
		add(t, s, storetest.Entry(1, n, "a lens"))
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for round := range uint64(12) {
		var both sync.WaitGroup
		both.Go(func() {
			if _, _, err := Compact(path); err != nil && !errors.Is(err, ErrInUse) {
				t.Error(err)
			}
		})
		both.Go(func() {
			s, err := Open(path)
			for errors.Is(err, ErrInUse) { // a slow disk may compact for longer than opening waits
				s, err = Open(path)
			}
			if err != nil {
				t.Error(err)
				return
			}
			_, err = s.Append(storetest.Production, []logbook.Entry{storetest.Entry(2, round+1, "x")})
			if err := errors.Join(err, s.Close()); err != nil {
				t.Error(err)
			}
		})
		both.Wait()
		if r := checkWhole(t, path); r.Edits != 50+int(round)+1 {
			t.Fatalf("round %d: the file holds %d edits, want %d", round, r.Edits, 50+round+1)
		}
	}
}

func TestHoldsSameFindsADifference(t *testing.T) {
	s, path := open(t)
	begin(t, s)
	add(t, s, storetest.Entry(1, 1, "a lens"))
	copied := path + ".copy"
	if err := s.Backup(copied); err != nil {
		t.Fatal(err)
	}
	if err := holdsSame(copied, s.db, Report{}); err != nil {
		t.Errorf("of a copy: %v", err)
	}
	for name, change := range map[string]func() error{
		"a value":    func() error { return s.Keep("a", []byte("b")) },
		"an edit":    func() error { add(t, s, storetest.Entry(1, 2, "x")); return nil },
		"a clash":    func() error { add(t, s, storetest.Entry(1, 1, "clash")); return nil },
		"a log more": func() error { return s.Begin(logbook.ID{9}, logbook.Line{1}) },
		"a count": func() error {
			return s.db.Update(func(tx *bbolt.Tx) error {
				return tx.Bucket(logsBucket).Bucket(storetest.Production[:]).Bucket(clashesBucket).SetSequence(77)
			})
		},
	} {
		copied := filepath.Join(t.TempDir(), "copy")
		if err := errors.Join(s.Backup(copied), change()); err != nil {
			t.Fatal(err)
		}
		if err := holdsSame(copied, s.db, Report{}); !errors.Is(err, logbook.ErrDamaged) {
			t.Errorf("%s: got %v, want %v", name, err, logbook.ErrDamaged)
		}
	}
}

// used is how much of a store's file was ever used; the file has room ahead.
func used(t *testing.T, path string) int64 {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	p := &pages{file: f}
	if _, err := p.head(); err != nil {
		t.Fatal(err)
	}
	return int64(p.high) * p.size
}

// One that reads page by page, however slowly, does not make the file grow: while
// it waits nothing is open. A transaction left open would.
func TestASlowReaderDoesNotMakeTheFileGrow(t *testing.T) {
	grown := func(read func(*Store)) int64 {
		s, path := open(t)
		begin(t, s)
		for n := uint64(1); n <= 400; n++ {
			add(t, s, storetest.Entry(byte(n%64), n, "a lens"))
			if n%10 == 0 { // between two pages of the reader lie ten commits
				read(s)
			}
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		return used(t, path)
	}
	alone := grown(func(*Store) {})
	at := logbook.Seq(0)
	paged := grown(func(s *Store) {
		page, err := s.Read(storetest.Production, at, 1000)
		if err != nil || len(page) == 0 {
			t.Fatalf("after %d: %d edits (%v)", at, len(page), err)
		}
		at = page[len(page)-1].Seq
		if open := s.db.Stats().OpenTxN; open != 0 {
			t.Errorf("%d transactions are open while the reader waits", open)
		}
	})
	var left *bbolt.Tx
	held := grown(func(s *Store) {
		if left == nil {
			var err error
			if left, err = s.db.Begin(false); err != nil {
				t.Fatal(err)
			}
		}
		if head, err := s.Head(storetest.Production); err == nil && head.Seq == 400 {
			if err := left.Rollback(); err != nil {
				t.Fatal(err)
			}
		}
	})
	t.Logf("used: %d bytes alone, %d with a reader, %d with a transaction left open", alone, paged, held)
	if paged > alone+alone/4 || held < 4*alone {
		t.Errorf("used are %d bytes, want about %d; a transaction left open shows as %d", paged, alone, held)
	}
}
