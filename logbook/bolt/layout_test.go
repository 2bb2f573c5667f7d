package bolt

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"

	"go.etcd.io/bbolt"
)

func TestOpenSaysWhatIsWrong(t *testing.T) {
	t.Run("another process holds the file", func(t *testing.T) {
		_, path := open(t)
		if _, err := Open(path); !errors.Is(err, ErrInUse) {
			t.Errorf("got %v, want %v", err, ErrInUse)
		}
	})
	t.Run("a newer layout", func(t *testing.T) {
		s, path := open(t)
		err := s.db.Update(func(tx *bbolt.Tx) error { return tx.Bucket(metaBucket).Put(layoutKey, number(layout+1)) })
		if err != nil {
			t.Fatal(err)
		}
		s.Close()
		if _, err := Open(path); !errors.Is(err, ErrLayout) || !strings.Contains(err.Error(), "newer") {
			t.Errorf("got %v, want %v", err, ErrLayout)
		}
		back, err := bbolt.Open(path, 0o600, nil)
		if err != nil {
			t.Fatal(err)
		}
		defer back.Close()
		if err := back.Update(func(tx *bbolt.Tx) error { return tx.Bucket(metaBucket).Put(layoutKey, number(layout)) }); err != nil {
			t.Fatal(err)
		}
	})
	t.Run("a bbolt file of another program", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "other.db")
		db, err := bbolt.Open(path, 0o600, nil)
		if err != nil {
			t.Fatal(err)
		}
		err = db.Update(func(tx *bbolt.Tx) error { _, err := tx.CreateBucket([]byte("theirs")); return err })
		if err := errors.Join(err, db.Close()); err != nil {
			t.Fatal(err)
		}
		before, _ := os.ReadFile(path)
		if _, err := Open(path); !errors.Is(err, ErrLayout) {
			t.Errorf("got %v, want %v", err, ErrLayout)
		}
		if after, _ := os.ReadFile(path); !bytes.Equal(before, after) {
			t.Error("the file was changed")
		}
	})
	t.Run("a file that is no store is left as it is", func(t *testing.T) {
		path := filepath.Join(t.TempDir(), "log.db")
		text := bytes.Repeat([]byte("not a store. "), 3000)
		if err := os.WriteFile(path, text, 0o600); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(path); !errors.Is(err, logbook.ErrDamaged) || !strings.Contains(err.Error(), "backup") {
			t.Errorf("got %v, want %v with what to do", err, logbook.ErrDamaged)
		}
		if after, _ := os.ReadFile(path); !bytes.Equal(text, after) {
			t.Error("the file was changed")
		}
	})
}

func TestMigrations(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	db, err := bbolt.Open(path, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	var ran []uint64
	step := func(n uint64) func(*bbolt.Tx) error {
		return func(tx *bbolt.Tx) error {
			ran = append(ran, n)
			return migrations[0](tx)
		}
	}
	steps := map[uint64]func(*bbolt.Tx) error{0: step(0), 1: step(1)}
	for _, to := range []uint64{1, 2, 2} {
		if err := migrate(db, to, steps); err != nil {
			t.Fatal(err)
		}
	}
	if fmt.Sprint(ran) != "[0 1]" {
		t.Errorf("steps %v ran, want each once", ran)
	}
	steps[2] = func(tx *bbolt.Tx) error {
		return errors.Join(tx.Bucket(keptBucket).Put([]byte("half"), nil), errors.New("no room for it"))
	}
	if err := migrate(db, 3, steps); err == nil || !strings.Contains(err.Error(), "from layout 2 to 3") {
		t.Errorf("got %v, want the failing step named", err)
	}
	err = db.View(func(tx *bbolt.Tx) error {
		if at, err := layoutOf(tx); at != 2 || err != nil || tx.Bucket(keptBucket).Get([]byte("half")) != nil {
			t.Errorf("after a failed step the layout is %d (%v), want 2 and nothing half-written", at, err)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// layout1Row is a row as layout 1 had it.
func layout1Row(e logbook.Stored) []byte {
	b := number(uint64(e.Received))
	b = append(append(append(b, e.Via[:]...), e.Hash[:]...), e.Chain[:]...)
	return append(b, e.Bytes...)
}

// A file of layout 1 has longer rows and an index beside the edits.
func TestAFileOfLayout1IsBroughtUpToDate(t *testing.T) {
	s, path := open(t)
	begin(t, s)
	add(t, s, storetest.Entry(1, 1, "a"), storetest.Entry(1, 2, "b"), storetest.Entry(1, 1, "clash"))
	want, err := s.Read(storetest.Production, 0, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	err = s.db.Update(func(tx *bbolt.Tx) error {
		log := tx.Bucket(logsBucket).Bucket(storetest.Production[:])
		dots, err := log.CreateBucket(dotsBucket)
		if err != nil {
			return err
		}
		for _, e := range want {
			if err := log.Bucket(editsBucket).Put(number(uint64(e.Seq)), layout1Row(e)); err != nil {
				return err
			}
			if err := dots.Put(append(bytes.Clone(e.Dot.Line[:]), number(e.Dot.N)...), number(uint64(e.Seq))); err != nil {
				return err
			}
		}
		return tx.Bucket(metaBucket).Put(layoutKey, number(1))
	})
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	if r := checkWhole(t, path); r.Edits != 2 || r.Clashes != 1 {
		t.Errorf("the check of the old file counts %+v, want 2 edits and a clash", r)
	}
	restored := path + ".restored"
	if err := Restore(path, restored); err != nil {
		t.Fatalf("a backup of layout 1 is not restored: %v", err)
	}
	for _, path := range []string{path, restored} {
		again, err := Open(path)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := again.Read(storetest.Production, 0, 1<<20); err != nil || fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("it holds %v (%v), want %v", got, err, want)
		}
		err = again.view(func(tx *bbolt.Tx) error {
			if at, err := layoutOf(tx); at != layout || err != nil {
				t.Errorf("the layout is %d (%v), want %d", at, err, layout)
			}
			if tx.Bucket(logsBucket).Bucket(storetest.Production[:]).Bucket(dotsBucket) != nil {
				t.Error("the old index is still there")
			}
			return nil
		})
		if err != nil {
			t.Error(err)
		}
		storetest.MustAgree(t, again)
		add(t, again, storetest.Entry(1, 3, "c"), storetest.Entry(1, 2, "another clash"))
		storetest.MustAgree(t, again)
		finish(t, again, path)
	}
}

func TestRowsKeepWhoBroughtAnEdit(t *testing.T) {
	e := storetest.Entry(1, 1, "a lens")
	long := storetest.Entry(1, 1, strings.Repeat("x", 400)+"sixteen letters!")
	for name, c := range map[string]struct {
		entry logbook.Entry
		via   logbook.ID
		head  int
	}{
		"its author":             {e, e.Via, 33},
		"another device":         {e, logbook.ID{9, 15: 9}, 49},
		"none":                   {e, logbook.ID{}, 49},
		"the first of its bytes": {e, logbook.ID(e.Bytes[:16]), 49},
		"bytes far behind":       {long, logbook.ID([]byte("sixteen letters!")), 49},
	} {
		c.entry.Via = c.via
		chain := logbook.Chain{1, 2, 3}
		value := encodeStored(c.entry, chain)
		got, err := decodeStored(number(7), value)
		if want := (logbook.Stored{Entry: c.entry, Seq: 7, Chain: chain}); err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: got %+v (%v), want %+v", name, got, err, want)
		}
		if head := len(value) - len(c.entry.Bytes); head != c.head {
			t.Errorf("%s: the row has %d bytes beside the edit, want %d", name, head, c.head)
		}
		old, err := decodeStored(number(7), layout1Row(got))
		if err != nil || !reflect.DeepEqual(old, got) {
			t.Errorf("%s: a row of layout 1 is %+v (%v), want %+v", name, old, err, got)
		}
		for n := range value[:len(value)-len(c.entry.Bytes)] {
			if _, err := decodeStored(number(7), value[:n]); !errors.Is(err, logbook.ErrDamaged) {
				t.Errorf("%s: cut off after %d bytes: got %v, want %v", name, n, err, logbook.ErrDamaged)
			}
		}
	}
}

func TestOpeningAFileOfThisLayoutDoesNotWriteIt(t *testing.T) {
	s, path := open(t)
	begin(t, s)
	add(t, s, storetest.Entry(1, 1, "a"))
	for range 2 {
		before := transaction(t, s)
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
		var err error
		if s, err = Open(path); err != nil {
			t.Fatal(err)
		}
		if after := transaction(t, s); after != before {
			t.Errorf("opening took the file from transaction %d to %d", before, after)
		}
	}
	finish(t, s, path)
}
