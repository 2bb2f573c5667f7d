package bolt

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"
)

// exchangeFile puts the file opened by name in the place of the one that a store
// writes to and returns what puts it back. What is mapped can still be read.
func exchangeFile(t *testing.T, path, name string, flag int) (back func()) {
	t.Helper()
	at := -1
	links, err := filepath.Glob("/proc/self/fd/*")
	if err != nil {
		t.Fatal(err)
	}
	for _, link := range links {
		if to, err := os.Readlink(link); err == nil && to == path {
			if _, err := fmt.Sscan(filepath.Base(link), &at); err != nil {
				t.Fatal(err)
			}
		}
	}
	if at < 0 {
		t.Fatalf("%s is not open", path)
	}
	kept, err := syscall.Dup(at)
	if err != nil {
		t.Fatal(err)
	}
	other, err := syscall.Open(name, flag, 0)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(syscall.Dup3(other, at, syscall.O_CLOEXEC), syscall.Close(other)); err != nil {
		t.Fatal(err)
	}
	return func() {
		if err := errors.Join(syscall.Dup3(kept, at, syscall.O_CLOEXEC), syscall.Close(kept)); err != nil {
			t.Fatal(err)
		}
	}
}

func mustHold(t *testing.T, s *Store, want logbook.Seq) {
	t.Helper()
	if head, err := s.Head(storetest.Production); err != nil || head.Seq != want {
		t.Errorf("the log ends at %d (%v), want %d", head.Seq, err, want)
	}
	storetest.MustAgree(t, s)
}

func TestAFailingDiskEndsTheWritingOnly(t *testing.T) {
	s, path := open(t)
	begin(t, s)
	add(t, s, storetest.Entry(1, 1, "x"))
	back := exchangeFile(t, path, path, syscall.O_RDONLY)
	if _, err := s.Append(storetest.Production, []logbook.Entry{storetest.Entry(1, 2, "x")}); !errors.Is(err, logbook.ErrBroken) {
		t.Errorf("got %v, want %v", err, logbook.ErrBroken)
	}
	mustHold(t, s, 1)
	back()
	_, appended := s.Append(storetest.Production, []logbook.Entry{storetest.Entry(1, 3, "x")})
	for name, err := range map[string]error{
		"Append": appended, "Keep": s.Keep("a", []byte("1")), "Begin": s.Begin(logbook.ID{5}, logbook.Line{1}),
	} {
		if !errors.Is(err, logbook.ErrBroken) {
			t.Errorf("%s after a failure: got %v, want %v", name, err, logbook.ErrBroken)
		}
	}
	mustHold(t, s, 1)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	again, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer finish(t, again, path)
	mustHold(t, again, 1)
	add(t, again, storetest.Entry(1, 2, "x"))
	mustHold(t, again, 2)
}

// A full disk is forgiven only while the failed transaction is not to be seen.
func TestAFailedCommitThatIsSeenEndsTheWriting(t *testing.T) {
	s, _ := open(t)
	begin(t, s)
	at := transaction(t, s)
	if err := s.failed(syscall.ENOSPC, at+1); !errors.Is(err, logbook.ErrFull) || s.broken != nil {
		t.Errorf("got %v and %v, want %v and none", err, s.broken, logbook.ErrFull)
	}
	if err := s.failed(syscall.EIO, at+1); !errors.Is(err, logbook.ErrBroken) {
		t.Errorf("got %v, want %v", err, logbook.ErrBroken)
	}
	if err := s.failed(syscall.ENOSPC, at); !errors.Is(err, logbook.ErrBroken) || errors.Is(err, logbook.ErrFull) {
		t.Errorf("got %v, want %v", err, logbook.ErrBroken)
	}
}

func TestFullErrorKnowsWhatBboltUnwraps(t *testing.T) {
	for _, no := range []syscall.Errno{syscall.ENOSPC, syscall.EDQUOT, syscall.EFBIG} {
		for _, err := range []error{no, fmt.Errorf("write: %w", no), fmt.Errorf("file resize error: %s", no)} {
			if !errors.Is(fullError(err), logbook.ErrFull) {
				t.Errorf("%v is not taken for a full disk", err)
			}
		}
	}
	if errors.Is(fullError(syscall.EIO), logbook.ErrFull) {
		t.Error("a failing disk is taken for a full one")
	}
}

func TestAFullDiskLosesNothingAndIsForgiven(t *testing.T) {
	folder := t.TempDir()
	storetest.MountSmall(t, folder, "4m")
	path := filepath.Join(folder, "log.db")
	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	begin(t, s)
	add(t, s, storetest.Entry(1, 1, "x"), storetest.Entry(1, 2, "x"))
	free := storetest.FillUp(t, folder)
	n := uint64(2)
	for err == nil { // pages that are free within the file are still written
		if _, err = s.Append(storetest.Production, []logbook.Entry{storetest.Entry(1, n+1, strings.Repeat("x", 3000))}); err == nil {
			n++
		}
	}
	if !errors.Is(err, logbook.ErrFull) {
		t.Fatalf("after %d edits: got %v, want %v", n, err, logbook.ErrFull)
	}
	mustHold(t, s, logbook.Seq(n))
	manyMeetFullDisk(t, s)
	mustHold(t, s, logbook.Seq(n))
	if err := s.Keep("name", make([]byte, 100_000)); !errors.Is(err, logbook.ErrFull) {
		t.Errorf("keeping: got %v, want %v", err, logbook.ErrFull)
	}
	if err := s.Backup(filepath.Join(folder, "backup")); !errors.Is(err, logbook.ErrFull) {
		t.Errorf("a backup: got %v, want %v", err, logbook.ErrFull)
	}
	if _, err := Open(filepath.Join(folder, "other.db")); !errors.Is(err, logbook.ErrFull) {
		t.Errorf("a new store: got %v, want %v", err, logbook.ErrFull)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	checkWhole(t, path)
	if s, err = Open(path); err != nil {
		t.Fatalf("on a full disk the store does not open: %v", err)
	}
	mustHold(t, s, logbook.Seq(n))
	free()
	add(t, s, storetest.Entry(1, n+1, strings.Repeat("x", 3000)), storetest.Entry(1, n+2, "x"))
	mustHold(t, s, logbook.Seq(n+2))
	if left, err := filepath.Glob(filepath.Join(folder, "*")); err != nil || len(left) != 1 {
		t.Errorf("the folder holds %v (%v), want the store alone", left, err)
	}
	if left, err := filepath.Glob(filepath.Join(folder, unfinished+"*")); err != nil || len(left) != 0 {
		t.Errorf("unfinished files are left: %v (%v)", left, err)
	}
	finish(t, s, path)
}

// manyMeetFullDisk appends large edits from many writers: each hears that the disk is full.
func manyMeetFullDisk(t *testing.T, s *Store) {
	t.Helper()
	var all sync.WaitGroup
	for w := byte(10); w < 42; w++ {
		all.Go(func() {
			r, err := s.Append(storetest.Production, []logbook.Entry{storetest.Entry(w, 1, strings.Repeat("x", 60_000))})
			if !errors.Is(err, logbook.ErrFull) || r != nil {
				t.Errorf("writer %d: got %v (%v), want %v", w, r, err, logbook.ErrFull)
			}
		})
	}
	all.Wait()
}

// A disk that is full while many write refuses the large and takes the small.
func TestAFullDiskDoesNotPoisonSmallEdits(t *testing.T) {
	folder := t.TempDir()
	storetest.MountSmall(t, folder, "4m")
	path := filepath.Join(folder, "log.db")
	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	begin(t, s)
	add(t, s, storetest.Entry(1, 1, "x"))
	if err := s.Keep("room", make([]byte, 300_000)); err != nil {
		t.Fatal(err)
	}
	if err := s.Keep("room", nil); err != nil { // leaves pages free within the file
		t.Fatal(err)
	}
	add(t, s, storetest.Entry(1, 2, "x"))
	free := storetest.FillUp(t, folder)
	defer free()
	batch, receipts := make([]*request, 20), make([][]logbook.Receipt, 20)
	for i := range batch {
		text := "x"
		count := 1
		if i%5 == 0 {
			text, count = strings.Repeat("x", 60_000), 20
		}
		var entries []logbook.Entry
		for n := range count {
			entries = append(entries, storetest.Entry(byte(50+i), uint64(n+1), text))
		}
		receipts[i] = make([]logbook.Receipt, count)
		held := s.logs[storetest.Production]
		batch[i] = &request{apply: func(c *change) error {
			a := appending{held, c.news(storetest.Production), c.tx.Bucket(logsBucket).Bucket(storetest.Production[:]), nil}
			return a.all(entries, receipts[i])
		}}
	}
	s.commit(batch)
	for i, r := range batch {
		if large := i%5 == 0; large && !errors.Is(r.err, logbook.ErrFull) || !large && r.err != nil {
			t.Errorf("request %d: got %v", i, r.err)
		}
	}
	mustHold(t, s, 18)
	finish(t, s, path)
}
