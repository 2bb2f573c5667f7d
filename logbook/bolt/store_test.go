package bolt

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"sync"
	"testing"
	"time"

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
	if err != nil || len(report.Problems) > 0 {
		t.Errorf("%s does not pass the check: %v %v", path, err, report.Problems)
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

func TestReopenedStoreHoldsEverything(t *testing.T) {
	s, path := open(t)
	begin(t, s)
	add(t, s, storetest.Entry(1, 1, "a"), storetest.Entry(1, 3, "b"), storetest.Entry(1, 1, "clash"))
	if err := s.Keep("device/a", []byte("1")); err != nil {
		t.Fatal(err)
	}
	head, err := s.Head(storetest.Production)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	again, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer again.Close()
	ranges, err := again.Ranges(storetest.Production)
	if err != nil || fmt.Sprint(ranges) != "map[0100000000000000:[{1 1} {3 3}]]" {
		t.Errorf("ranges are %v (%v)", ranges, err)
	}
	if got, err := again.Head(storetest.Production); err != nil || got != head {
		t.Errorf("head is %+v (%v), want %+v", got, err, head)
	}
	if clashes, err := again.Clashes(storetest.Production); err != nil || len(clashes) != 1 {
		t.Errorf("got %d clashes (%v), want one", len(clashes), err)
	}
	if kept, err := again.Kept("device/a"); err != nil || string(kept) != "1" {
		t.Errorf("kept is %q (%v), want 1", kept, err)
	}
}

func TestAFailedRequestDoesNotHarmTheOthers(t *testing.T) {
	s, _ := open(t)
	begin(t, s)
	var all sync.WaitGroup
	for w := byte(1); w <= 32; w++ {
		all.Go(func() {
			production := storetest.Production
			if w%4 == 0 {
				production = logbook.ID{99}
			}
			_, err := s.Append(production, []logbook.Entry{storetest.Entry(w, 1, "x")})
			if unknown := w%4 == 0; unknown != errors.Is(err, logbook.ErrNoProduction) {
				t.Errorf("writer %d: got %v", w, err)
			}
		})
	}
	all.Wait()
	if got, err := s.Read(storetest.Production, 0, 1<<20); err != nil || len(got) != 24 {
		t.Errorf("got %d edits (%v), want the 24 of the known production", len(got), err)
	}
}

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

func TestDamageIsNoticed(t *testing.T) {
	s, path := open(t)
	begin(t, s)
	for n := uint64(1); n <= 300; n++ {
		add(t, s, storetest.Entry(1, n, "a lens with a name that can be found"))
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	damage := func(t *testing.T, name string, change func([]byte) []byte) {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "log.db")
			if err := os.WriteFile(path, change(bytes.Clone(whole)), 0o600); err != nil {
				t.Fatal(err)
			}
			report, err := Check(path)
			if err == nil && len(report.Problems) == 0 {
				t.Error("the check found nothing")
			}
			if err := Restore(path, path+".restored"); err == nil {
				t.Error("a damaged backup was restored")
			}
		})
	}
	damage(t, "a letter inside an edit", func(b []byte) []byte {
		// Every copy in the file, for old pages hold earlier ones.
		return bytes.ReplaceAll(b, []byte("can be found"), []byte("Can be found"))
	})
	damage(t, "cut off after a few pages", func(b []byte) []byte { return b[:6*os.Getpagesize()] })
	damage(t, "a page of zeros in the middle", func(b []byte) []byte {
		at := 5 * os.Getpagesize()
		copy(b[at:], make([]byte, os.Getpagesize()))
		return b
	})
	damage(t, "an empty file", func([]byte) []byte { return []byte{} })
	damage(t, "both first pages overwritten", func(b []byte) []byte {
		copy(b, bytes.Repeat([]byte{0xee}, 2*os.Getpagesize()))
		return b
	})
}

// BenchmarkPush compares durable appends at the store's door with one bare bbolt
// transaction each, in the same run.
func BenchmarkPush(b *testing.B) {
	for _, writers := range []int{1, 64} {
		b.Run(fmt.Sprintf("writers=%d", writers), func(b *testing.B) {
			var ratios []float64
			for b.Loop() {
				ratios = append(ratios, ratioToBare(b, writers))
			}
			sort.Float64s(ratios)
			b.ReportMetric(ratios[len(ratios)/2], fmt.Sprintf("server.push_ratio_%d", writers))
		})
	}
}

func ratioToBare(b *testing.B, writers int) float64 {
	const bare = 150
	each := max(bare/writers, 24)
	dir, err := os.MkdirTemp(b.TempDir(), "push")
	if err != nil {
		b.Fatal(err)
	}
	db, err := bbolt.Open(filepath.Join(dir, "bare.db"), 0o600, options(false))
	if err != nil {
		b.Fatal(err)
	}
	begun := time.Now()
	for n := 0; n < bare; n++ {
		e := storetest.Entry(1, uint64(n+1), "a lens")
		err := db.Update(func(tx *bbolt.Tx) error {
			bucket, err := tx.CreateBucketIfNotExists([]byte("edits"))
			if err != nil {
				return err
			}
			return bucket.Put(dotKey(e.Dot), e.Bytes)
		})
		if err != nil {
			b.Fatal(err)
		}
	}
	bareRate := bare / time.Since(begun).Seconds()
	if err := db.Close(); err != nil {
		b.Fatal(err)
	}
	path := filepath.Join(dir, "log.db")
	s, err := Open(path)
	if err != nil {
		b.Fatal(err)
	}
	defer finish(b, s, path)
	begin(b, s)
	begun = time.Now()
	var all sync.WaitGroup
	for w := 1; w <= writers; w++ {
		all.Go(func() {
			for n := 1; n <= each; n++ {
				if _, err := s.Append(storetest.Production, []logbook.Entry{storetest.Entry(byte(w), uint64(n), "a lens")}); err != nil {
					b.Error(err)
				}
			}
		})
	}
	all.Wait()
	return float64(writers*each) / time.Since(begun).Seconds() / bareRate
}
