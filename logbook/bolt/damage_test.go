package bolt

import (
	"bytes"
	"errors"
	"fmt"
	"hash/fnv"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
	"evenwhite/logbook/storetest"

	"go.etcd.io/bbolt"
)

// wholeFile is the bytes of a store with several levels of pages.
func wholeFile(t testing.TB) []byte {
	t.Helper()
	madeOnce.Do(func() { made = makeWholeFile(t) })
	return bytes.Clone(made)
}

var (
	madeOnce sync.Once
	made     []byte
)

func makeWholeFile(t testing.TB) []byte {
	t.Helper()
	s, path := open(t)
	begin(t, s)
	for n := uint64(1); n <= 300; n += 3 {
		text := "a lens with a name that can be found"
		if n == 100 {
			text = strings.Repeat(text, 300) // on pages that belong together
		}
		add(t, s, storetest.Entry(1, n, text), storetest.Entry(2, n, text), storetest.Entry(1, n, "a clash"))
	}
	// The pages of what is kept for a moment are the last ones, and free.
	if err := errors.Join(s.Keep("device/a", []byte("1")), s.Keep("moment", make([]byte, 20_000)), s.Keep("moment", nil)); err != nil {
		t.Fatal(err)
	}
	backup := path + ".backup" // without the room that a store keeps ahead
	if err := s.Backup(backup); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(backup)
	if err != nil {
		t.Fatal(err)
	}
	return whole
}

// noticed opens, checks and restores a damaged file. None of it may end the
// process or change the file. It reports whether the check noticed.
func noticed(t *testing.T, folder string, content []byte) bool {
	t.Helper()
	path := filepath.Join(folder, "log.db")
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	report, checked := Check(path)
	if checked != nil && !errors.Is(checked, logbook.ErrDamaged) && !errors.Is(checked, ErrLayout) {
		t.Errorf("the check says %v, want %v", checked, logbook.ErrDamaged)
	}
	for _, text := range report.Problems {
		if !strings.Contains(text, adviseBackup) && !strings.Contains(text, adviseTorn) {
			t.Errorf("the problem %q does not say what to do", text)
		}
	}
	found := checked != nil || !report.Whole()
	unfit := checked != nil || len(report.Problems) > 0
	restored := filepath.Join(folder, "restored.db")
	if err := Restore(path, restored); (err != nil) != unfit || err != nil && !strings.HasPrefix(err.Error(), path) {
		t.Errorf("the check of %s says %v, %+v; restoring says %v", path, checked, report, err)
	}
	os.Remove(restored)
	if after, err := os.ReadFile(path); err != nil || !bytes.Equal(after, content) {
		t.Errorf("the file was changed (%v)", err)
	}
	s, err := Open(path)
	if err != nil {
		if !errors.Is(err, logbook.ErrDamaged) && !errors.Is(err, ErrLayout) {
			t.Errorf("opening says %v, want %v", err, logbook.ErrDamaged)
		}
		if after, err := os.ReadFile(path); err != nil || !bytes.Equal(after, content) {
			t.Errorf("the file was changed by opening (%v)", err)
		}
		return found
	}
	_, err = s.Read(storetest.Production, 0, 1<<30)
	if err != nil && !errors.Is(err, logbook.ErrDamaged) && !errors.Is(err, logbook.ErrNoProduction) {
		t.Errorf("reading says %v, want %v", err, logbook.ErrDamaged)
	}
	if err := s.Close(); err != nil {
		t.Error(err)
	}
	return found
}

func TestDamageIsNoticed(t *testing.T) {
	whole := wholeFile(t)
	page := int(order.Uint32(whole[pageHead+8:]))
	last := len(whole)/page - 1
	for name, change := range map[string]func([]byte) []byte{
		"a letter inside an edit":    func(b []byte) []byte { return bytes.ReplaceAll(b, []byte("can be found"), []byte("Can be found")) },
		"a letter inside a clash":    func(b []byte) []byte { return bytes.ReplaceAll(b, []byte("a clash"), []byte("A clash")) },
		"cut off within a page":      func(b []byte) []byte { return b[:len(b)-page/2] },
		"cut off after six pages":    func(b []byte) []byte { return b[:6*page] },
		"cut off in the second page": func(b []byte) []byte { return b[:page+100] },
		"cut off in the first page":  func(b []byte) []byte { return b[:100] },
		"an empty file":              func([]byte) []byte { return nil },
		"both first pages lost":      func(b []byte) []byte { clear(b[:2*page]); return b },
		"no store at all":            func(b []byte) []byte { return bytes.Repeat([]byte("not a store. "), 3000) },
		"all but the heads lost":     func(b []byte) []byte { clear(b[2*page:]); return b },
		"one head lost":              func(b []byte) []byte { clear(b[:page]); return b },
		"the other head lost":        func(b []byte) []byte { clear(b[page : 2*page]); return b },
		"a head that names no pages": func(b []byte) []byte { return withHead(b, 40, 2) },
		"a root beyond the end":      func(b []byte) []byte { return withHead(b, 16, uint64(last+1)) },
		"free pages that are in use": func(b []byte) []byte { return withHead(b, 32, order.Uint64(b[pageHead+16:])) },
	} {
		t.Run(name, func(t *testing.T) {
			if !noticed(t, t.TempDir(), change(bytes.Clone(whole))) {
				t.Error("the check found nothing")
			}
		})
	}
	t.Run("nothing", func(t *testing.T) {
		if noticed(t, t.TempDir(), whole) {
			t.Error("the check found damage in a whole file")
		}
	})
}

// The other head is whole: the store opens, and the check goes on behind it.
func TestALostHeadCostsTheLastCommitAtMost(t *testing.T) {
	whole := wholeFile(t)
	page := int(order.Uint32(whole[pageHead+8:]))
	for lost := range 2 {
		b := bytes.Clone(whole)
		clear(b[lost*page : (lost+1)*page])
		path := filepath.Join(t.TempDir(), "log.db")
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		report, err := Check(path)
		if err != nil || report.Edits != 200 || len(report.Problems) != 1 || !strings.Contains(report.Problems[0], adviseTorn) {
			t.Errorf("head %d: the check says %+v (%v), want 200 edits and the one advice to go on", lost, report, err)
		}
		s, err := Open(path)
		if err != nil {
			t.Fatalf("head %d: %v", lost, err)
		}
		add(t, s, storetest.Entry(3, 1, "x"))
		finish(t, s, path)
	}
}

func TestEveryCutIsNoticed(t *testing.T) {
	whole := wholeFile(t)
	page := int(order.Uint32(whole[pageHead+8:]))
	if used := inUse(t, whole); used[uint64(len(whole)/page-1)] {
		t.Fatal("the last page is in use; want one that only the length shows")
	}
	for cut := 0; cut < len(whole); cut += page {
		if !noticed(t, t.TempDir(), whole[:cut]) {
			t.Errorf("the check did not notice that %d of %d bytes are left", cut, len(whole))
		}
	}
}

// A file that another program wrote may have a list of its free pages.
func TestAFalseListOfFreePagesIsNoticed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	if err := os.WriteFile(path, wholeFile(t), 0o600); err != nil {
		t.Fatal(err)
	}
	db, err := bbolt.Open(path, 0o600, nil)
	if err != nil {
		t.Fatal(err)
	}
	err = db.Update(func(tx *bbolt.Tx) error { return tx.Bucket(keptBucket).Put([]byte("a"), []byte("b")) })
	if err := errors.Join(err, db.Close()); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if noticed(t, t.TempDir(), whole) {
		t.Error("the check found damage in a whole file with a list")
	}
	page := int(order.Uint32(whole[pageHead+8:]))
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	head, err := (&pages{file: f}).head()
	if err != nil {
		t.Fatal(err)
	}
	list := int(head.freelist)*page + pageHead
	for name, id := range map[string]uint64{
		"in use": head.root, "a head": 1, "beyond the end": head.high, "twice": order.Uint64(whole[list+8:]),
	} {
		b := bytes.Clone(whole)
		order.PutUint64(b[list:], id)
		path := filepath.Join(t.TempDir(), "log.db")
		if err := os.WriteFile(path, b, 0o600); err != nil {
			t.Fatal(err)
		}
		if s, err := Open(path); !errors.Is(err, logbook.ErrDamaged) {
			t.Errorf("a free page that is %s: got %v, want %v", name, err, logbook.ErrDamaged)
			s.Close()
		}
	}
}

// Pages may be whole and what stands on them wrong.
func TestWrongContentIsNoticed(t *testing.T) {
	const served = "" // the rest is: what to do is said once for all rows
	type change func(log, edits, clashes *bbolt.Bucket, tx *bbolt.Tx) error
	put := func(seq uint64, e logbook.Entry, chain logbook.Chain) change {
		return func(_, edits, _ *bbolt.Bucket, _ *bbolt.Tx) error {
			return edits.Put(number(seq), encodeStored(e, chain))
		}
	}
	three := logbook.Chain{}
	for n := uint64(1); n <= 3; n++ {
		three = three.Next(storetest.Entry(1, n, "x").Hash)
	}
	foreign := storetest.EntryOf(logbook.ID{9}, 1, 4, "x")
	twice := storetest.Entry(1, 2, "y")
	for _, c := range []struct {
		name, says, advice string
		change             change
	}{
		{"an edit is missing", "sequence 2: nothing stands between", served, func(_, edits, _ *bbolt.Bucket, _ *bbolt.Tx) error { return edits.Delete(number(2)) }},
		{"the chain is another", "sequence 3: the chain breaks there", served, put(3, storetest.Entry(1, 3, "x"), logbook.Chain{1})},
		{"an edit is another", "sequence 2: the chain breaks there", served, put(2, storetest.Entry(1, 2, "z"), logbook.Chain{}.Next(storetest.Entry(1, 1, "x").Hash).Next(storetest.Entry(1, 2, "x").Hash))},
		{"an edit stands twice", "another edit stands under its dot at sequence 2", served, put(4, twice, three.Next(twice.Hash))},
		{"an edit is of another production", "it is of production", served, put(4, foreign, three.Next(foreign.Hash))},
		{"a row is short", "sequence 4: its bytes do not give its hash", served, func(_, edits, _ *bbolt.Bucket, _ *bbolt.Tx) error { return edits.Put(number(4), []byte{33, 1}) }},
		{"a row is no edit", "sequence 4: its bytes do not give its hash", served, func(_, edits, _ *bbolt.Bucket, _ *bbolt.Tx) error { return edits.Put(number(4), make([]byte, 60)) }},
		{"a key is far away", "sequence 1099511627776: its key cannot be right", served, put(1<<40, twice, three.Next(twice.Hash))},
		{"a key is too long", "its key cannot be right", served, func(_, edits, _ *bbolt.Bucket, _ *bbolt.Tx) error {
			return edits.Put(append(number(4), 0), []byte{33, 1})
		}},
		{"a clash is of no edit", "which is not there", adviseBackup, func(_, _, clashes *bbolt.Bucket, _ *bbolt.Tx) error {
			return clashes.Put(number(9), encodeClash(storetest.Entry(7, 1, "x")))
		}},
		{"a clash is the edit itself", "is that edit", served, func(_, _, clashes *bbolt.Bucket, _ *bbolt.Tx) error {
			return clashes.Put(number(9), encodeClash(storetest.Entry(1, 1, "x")))
		}},
		{"a clash is short", "kept aside cannot be read", served, func(_, _, clashes *bbolt.Bucket, _ *bbolt.Tx) error { return clashes.Put(number(9), []byte{1}) }},
		{"the edits are missing", "part of its log is missing", adviseBackup, func(log, _, _ *bbolt.Bucket, _ *bbolt.Tx) error { return log.DeleteBucket(editsBucket) }},
		{"the identity is missing", "part of its log is missing", adviseBackup, func(log, _, _ *bbolt.Bucket, _ *bbolt.Tx) error { return log.Delete(identityKey) }},
		{"the kept values are missing", "part of the store is missing", adviseBackup, func(_, _, _ *bbolt.Bucket, tx *bbolt.Tx) error { return tx.DeleteBucket(keptBucket) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "log.db")
			s, err := Open(path)
			if err != nil {
				t.Fatal(err)
			}
			begin(t, s)
			add(t, s, storetest.Entry(1, 1, "x"), storetest.Entry(1, 2, "x"), storetest.Entry(1, 3, "x"))
			err = s.db.Update(func(tx *bbolt.Tx) error {
				log := tx.Bucket(logsBucket).Bucket(storetest.Production[:])
				return c.change(log, log.Bucket(editsBucket), log.Bucket(clashesBucket), tx)
			})
			if err := errors.Join(err, s.Close()); err != nil {
				t.Fatal(err)
			}
			report, err := Check(path)
			said := strings.Join(append(report.Problems, report.Remarks...), "\n") + fmt.Sprint(report.Damaged)
			if err != nil || !strings.Contains(said, c.says) || !strings.Contains(said, c.advice) {
				t.Errorf("the check says %q (%v), want %q and what to do", said, err, c.says)
			}
			again, err := Open(path)
			if err != nil {
				t.Fatalf("it does not open: %v", err)
			}
			defer again.Close()
			if _, err := again.Append(logbook.ID{0, 14: 9}, nil); !errors.Is(err, logbook.ErrNoProduction) {
				t.Errorf("another production: got %v", err)
			}
			if err := again.Begin(logbook.ID{0, 14: 9}, logbook.Line{9}); err != nil {
				t.Errorf("another production cannot be begun: %v", err)
			}
		})
	}
}

// withHead changes a number in both heads and mends their sums.
func withHead(b []byte, at int, value uint64) []byte {
	page := int(order.Uint32(b[pageHead+8:]))
	for _, start := range []int{0, page} {
		head := b[start+pageHead:][:headSize]
		order.PutUint64(head[at:], value)
		sum := fnv.New64a()
		sum.Write(head[:headSize-8])
		order.PutUint64(head[headSize-8:], sum.Sum64())
	}
	return b
}

// inUse is the pages of a file that hold something.
func inUse(t *testing.T, content []byte) map[uint64]bool {
	t.Helper()
	path := filepath.Join(t.TempDir(), "log.db")
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	p := &pages{file: f, met: map[uint64]bool{}}
	head, err := p.head()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := p.walk(head.root, nil, nil, 0); err != nil {
		t.Fatal(err)
	}
	return p.met
}

// Each page in turn loses its content, its kind, its keys, its length, or is
// another page's.
func TestDamageOfAnyPageInUseIsNoticed(t *testing.T) {
	whole := wholeFile(t)
	page := int(order.Uint32(whole[pageHead+8:]))
	used := inUse(t, whole)
	if len(used) < 20 {
		t.Fatalf("%d pages are in use, want a file of some levels", len(used))
	}
	folder := t.TempDir()
	for at := 2 * page; at < len(whole); at += page * logtest.AtLength(1, 7) {
		id := uint64(at / page)
		for name, change := range map[string]func([]byte){
			"content": func(p []byte) { clear(p) },
			"kind":    func(p []byte) { order.PutUint16(p[8:], order.Uint16(p[8:])^3) },
			"count":   func(p []byte) { order.PutUint16(p[10:], 0xfff0) },
			"length":  func(p []byte) { order.PutUint32(p[12:], 1<<30) },
			"a key":   func(p []byte) { copy(p[pageHead+4:], "\xff\xff\xff\x7f\xff\xff\xff\x7f") },
			"another": func(p []byte) { copy(p, whole[at-page:at]) },
		} {
			b := bytes.Clone(whole)
			change(b[at : at+page])
			if got := noticed(t, folder, b); got != used[id] {
				t.Errorf("page %d, in use: %v, changed in its %s: noticed: %v", id, used[id], name, got)
			}
		}
	}
}

func TestNoDamageEndsTheProcess(t *testing.T) {
	whole := wholeFile(t)
	page := int(order.Uint32(whole[pageHead+8:]))
	folder := t.TempDir()
	const seed = 1
	t.Logf("seed %d", seed)
	random := rand.New(rand.NewSource(seed))
	for range logtest.AtLength(400, 60) {
		b := bytes.Clone(whole)
		at := random.Intn(len(b))
		if random.Intn(2) == 0 {
			at = at/page*page + random.Intn(400) // where a page says what is in it
		}
		for i := at; i < min(at+1+random.Intn(6), len(b)); i++ {
			b[i] = byte(random.Intn(256))
		}
		if random.Intn(8) == 0 {
			b = b[:random.Intn(len(b))]
		}
		noticed(t, folder, b)
	}
}
