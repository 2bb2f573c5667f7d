package bolt

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"
)

func TestBackup(t *testing.T) {
	s, path := open(t)
	begin(t, s)
	for n := uint64(1); n <= 200; n++ {
		add(t, s, storetest.Entry(1, n, "a lens"))
	}
	folder := t.TempDir()
	backup, restored := filepath.Join(folder, "backup.db"), filepath.Join(folder, "restored.db")
	stop := make(chan struct{})
	var writing sync.WaitGroup
	writing.Go(func() {
		for n := uint64(1); ; n++ {
			select {
			case <-stop:
				return
			default:
				if _, err := s.Append(storetest.Production, []logbook.Entry{storetest.Entry(2, n, "b")}); err != nil {
					t.Error(err)
					return
				}
			}
		}
	})
	err := s.Backup(backup)
	close(stop)
	writing.Wait()
	if err != nil {
		t.Fatal(err)
	}
	if r := checkWhole(t, backup); r.Edits < 200 {
		t.Errorf("the backup holds %d edits, want at least 200", r.Edits)
	}
	if err := s.Backup(backup); !errors.Is(err, os.ErrExist) {
		t.Errorf("got %v, want a refusal to write over %s", err, backup)
	}
	if err := Restore(backup, path); !errors.Is(err, os.ErrExist) {
		t.Errorf("got %v, want a refusal to write over the store", err)
	}
	if err := Restore(backup, restored); err != nil {
		t.Fatal(err)
	}
	again, err := Open(restored)
	if err != nil {
		t.Fatal(err)
	}
	defer finish(t, again, restored)
	if got, err := again.Read(storetest.Production, 0, 1<<30); err != nil || len(got) < 200 {
		t.Errorf("got %d edits (%v), want at least 200", len(got), err)
	}
	left, err := os.ReadDir(folder)
	if err != nil || len(left) != 2 {
		t.Errorf("the folder holds %v (%v), want the two files alone", left, err)
	}
}

func TestWhatIsNotWholeAsItWasWrittenGetsNoName(t *testing.T) {
	s, path := open(t)
	begin(t, s)
	add(t, s, storetest.Entry(1, 1, "a lens"))
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	at := bytes.Index(whole, []byte("a lens"))
	for name, change := range map[string]func([]byte) []byte{
		"cut short":       func(b []byte) []byte { return b[:2*os.Getpagesize()] },
		"another byte":    func(b []byte) []byte { b[at] ^= 1; return b },
		"nothing written": func([]byte) []byte { return nil },
	} {
		err := writeFile(filepath.Join(folder, "backup"), func(to *os.File) error {
			_, err := to.Write(change(bytes.Clone(whole)))
			return err
		}, s.explains)
		if !errors.Is(err, logbook.ErrDamaged) {
			t.Errorf("%s: got %v, want that it is damaged", name, err)
		}
		if left := names(t, folder); len(left) > 0 {
			t.Errorf("%s: %q are left", name, left)
		}
	}
}
