package bolt

import (
	"bytes"
	"errors"
	"os"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"
)

// readings are what a server asks of a store, apart from each other.
func readings(s *Store) map[string]func() error {
	return map[string]func() error{
		"Productions": func() error { _, err := s.Productions(); return err },
		"Head":        func() error { _, err := s.Head(storetest.Production); return err },
		"Read":        func() error { _, err := s.Read(storetest.Production, 0, 1<<30); return err },
		"Read at the end": func() error {
			_, err := s.Read(storetest.Production, 199, 1)
			return err
		},
		"Get": func() error {
			_, err := s.Get(storetest.Production, []logbook.Dot{{Line: logbook.Line{1}, N: 1}})
			return err
		},
		"ChainAt":   func() error { _, _, err := s.ChainAt(storetest.Production, 100); return err },
		"Clashes":   func() error { _, err := s.Clashes(storetest.Production); return err },
		"Kept":      func() error { _, err := s.Kept("device/a"); return err },
		"KeptUnder": func() error { _, err := s.KeptUnder(""); return err },
		"Ranges":    func() error { _, err := s.Ranges(storetest.Production); return err },
	}
}

// reopened closes a store.
func reopened(t *testing.T, s *Store, path string) string {
	t.Helper()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// failing counts the readings that say that the file is damaged; any other error
// is a fault of the test.
func failing(t *testing.T, s *Store, where string) int {
	t.Helper()
	n := 0
	for name, read := range readings(s) {
		err := read()
		if err != nil && !errors.Is(err, logbook.ErrDamaged) {
			t.Errorf("%s: %s says %v, want nothing or %v", where, name, err, logbook.ErrDamaged)
		}
		if err != nil {
			n++
		}
	}
	return n
}

// A disk that rots under a running server costs what can't be read, and neither
// the process nor the reading of the rest.
func TestAPageThatIsDamagedWhileTheStoreIsOpenEndsItsReadingOnly(t *testing.T) {
	path := t.TempDir() + "/log.db"
	whole := wholeFile(t)
	if err := os.WriteFile(path, whole, 0o600); err != nil {
		t.Fatal(err)
	}
	used := inUse(t, whole)
	page := int(order.Uint32(whole[pageHead+8:]))
	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { finish(t, s, path) }()
	file, err := os.OpenFile(path, os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	put := func(b []byte, at int) {
		if _, err := file.WriteAt(b, int64(at)); err != nil {
			t.Fatal(err)
		}
	}
	noticed, served, known := 0, 0, 0
	for id := range used {
		at := int(id) * page
		if overflow := order.Uint64(whole[at:]) != id; overflow {
			continue // it has no head of its own
		}
		put(bytes.Repeat([]byte{0xff}, page), at)
		n := failing(t, s, "a damaged page")
		put(whole[at:at+page], at)
		damage, err := s.Damaged(storetest.Production)
		if err != nil {
			t.Fatal(err)
		}
		if n > 0 || len(damage) > known {
			noticed++
		}
		known = len(damage)
		if n < len(readings(s)) {
			served++
		}
	}
	if noticed == 0 || served < noticed {
		t.Errorf("of %d pages, %d were noticed; with %d of them something could still be read", len(used), noticed, served)
	}
	if n := failing(t, s, "all is as before"); n != 0 {
		t.Errorf("%d readings fail although every page is whole again", n)
	}
	t.Run("a letter inside an edit", func(t *testing.T) {
		if s, err = Open(reopened(t, s, path)); err != nil {
			t.Fatal(err)
		}
		before, err := s.Read(storetest.Production, 0, 1<<30)
		if err != nil {
			t.Fatal(err)
		}
		at := bytes.Index(whole, []byte("can be found"))
		put([]byte("Can"), at)
		defer put([]byte("can"), at)
		after, err := s.Read(storetest.Production, 0, 1<<30)
		damage, known := s.Damaged(storetest.Production)
		if err := errors.Join(err, known); err != nil || len(after) != len(before)-1 || len(damage) != 1 || damage[0].Dot.IsZero() {
			t.Errorf("reading finds %d of %d edits (%v) and the damage %+v, want all but the damaged one, and which it is",
				len(after), len(before), err, damage)
		}
	})
	t.Run("a file that is cut off", func(t *testing.T) {
		if err := file.Truncate(int64(4 * page)); err != nil {
			t.Fatal(err)
		}
		if failing(t, s, "a file that was cut off") == 0 {
			t.Error("nobody noticed")
		}
		if err := file.Truncate(int64(len(whole))); err != nil {
			t.Fatal(err)
		}
		put(whole, 0)
	})
}
