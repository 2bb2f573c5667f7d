package growth

import (
	"crypto/sha256"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// Log opens a log of a size in a store of its own, once for all benchmarks of a process,
// which may write to it. It stays open.
func Log(b testing.TB, size Size) *logbook.Log {
	b.Helper()
	openMu.Lock()
	defer openMu.Unlock()
	if l := open[size]; l != nil {
		return l
	}
	folder, err := os.MkdirTemp("", "evenwhite-growth-open-")
	if err != nil {
		b.Fatal(err)
	}
	defer os.RemoveAll(folder) // the store keeps the file
	l, _ := Open(b, Copy(b, size, filepath.Join(folder, "log.db")))
	open[size] = l
	return l
}

var (
	openMu sync.Mutex
	open   = map[Size]*logbook.Log{}
	drawn  uint64
)

// NextLine is a line that nobody has written under, for edits that a benchmark pushes.
func NextLine() (l logbook.Line) {
	openMu.Lock()
	defer openMu.Unlock()
	drawn++
	binary.BigEndian.PutUint64(l[:], drawn)
	return l
}

// Open opens the log in a file that Copy made, and the store beneath it, which the
// caller closes.
func Open(b testing.TB, path string) (*logbook.Log, *bolt.Store) {
	b.Helper()
	store, err := bolt.Open(path)
	if err != nil {
		b.Fatal(err)
	}
	l, err := logbook.OpenLog(store, Production, kinds.Rules, logtest.Lines(0xfe))
	if err != nil {
		b.Fatal(err)
	}
	return l, store
}

// Copy puts a store file with a log of a size at path, and returns path. The file is made
// once and kept in the folder of temporary files, under a name that changes with the edits.
func Copy(b testing.TB, size Size, path string) string {
	b.Helper()
	made := filepath.Join(os.TempDir(), fmt.Sprintf("evenwhite-growth-%s-%x.db", size.Name, sample(size)))
	err := copyFile(path, made)
	if errors.Is(err, os.ErrNotExist) {
		if err = makeFile(size, made); err == nil {
			err = copyFile(path, made)
		}
	}
	if err != nil {
		b.Fatal(err)
	}
	return path
}

// sample is a hash of what begins a log: an edit of this room nearly always changes it.
func sample(size Size) []byte {
	h := sha256.New()
	fmt.Fprint(h, size.Edits, size.Devices)
	n := 0
	for e := range size.All() {
		bytes, err := logbook.EncodeEdit(e)
		if n++; n > 2500 || err != nil {
			break
		}
		h.Write(bytes)
	}
	return h.Sum(nil)[:6]
}

func copyFile(to, from string) error {
	in, err := os.Open(from)
	if err != nil {
		return err
	}
	defer in.Close()
	out, err := os.Create(to)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, in)
	return errors.Join(err, out.Sync(), out.Close()) // else the first commit waits for all of it
}

// makeFile gives the file its name when it is whole: other processes may make it too.
func makeFile(size Size, path string) error {
	folder, err := os.MkdirTemp(filepath.Dir(path), "evenwhite-growth-new-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	unfinished := filepath.Join(folder, "log.db")
	store, err := bolt.Open(unfinished)
	if err != nil {
		return err
	}
	err = fill(store, size.All())
	if err := errors.Join(err, store.Close()); err != nil {
		return err
	}
	return os.Rename(unfinished, path)
}

// atOnce is how many edits share a commit.
const atOnce = 10_000

func fill(store logbook.Store, edits iter.Seq[*logbook.Edit]) error {
	if err := store.Begin(Production, logbook.Line{0xff}); err != nil {
		return err
	}
	var entries []logbook.Entry
	write := func() error {
		_, err := store.Append(Production, entries)
		entries = entries[:0]
		return err
	}
	for e := range edits {
		entry, err := Entry(e)
		if err != nil {
			return err
		}
		if entries = append(entries, entry); len(entries) == atOnce {
			if err := write(); err != nil {
				return err
			}
		}
	}
	return write()
}

// Entry is an edit as its device brings it to a store.
func Entry(e *logbook.Edit) (logbook.Entry, error) {
	bytes, err := logbook.EncodeEdit(e)
	return logbook.Entry{Dot: e.Dot, Hash: logbook.HashOf(bytes), Bytes: bytes, Via: e.Device, Received: e.At}, err
}
