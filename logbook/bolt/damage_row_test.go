package bolt

import (
	"bytes"
	"errors"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/logtest"
	"evenwhite/logbook/storetest"

	"go.etcd.io/bbolt"
)

// stored makes a store of nine edits in three lines and changes one row of it, by
// its sequence, before the store is opened again.
func stored(t *testing.T, seq uint64, change func(row []byte) []byte) (*Store, []logbook.Entry, string) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "log.db")
	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	begin(t, s)
	var entries []logbook.Entry
	for n := uint64(1); n <= 3; n++ {
		for line := byte(1); line <= 3; line++ {
			entries = append(entries, storetest.Entry(line, n, "a lens"))
		}
	}
	add(t, s, entries...)
	err = s.db.Update(func(tx *bbolt.Tx) error {
		edits := tx.Bucket(logsBucket).Bucket(storetest.Production[:]).Bucket(editsBucket)
		return edits.Put(number(seq), change(bytes.Clone(edits.Get(number(seq)))))
	})
	if err := errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	if s, err = Open(path); err != nil {
		t.Fatalf("it does not open: %v", err)
	}
	return s, entries, path
}

const (
	receivedAt = 1
	hashAt     = 1 + 8
	chainAt    = hashAt + 16
	bytesAt    = chainAt + 8
	lineAt     = bytesAt + 1 + 3*16
)

func flipped(at int) func([]byte) []byte {
	return func(row []byte) []byte { row[at] ^= 4; return row }
}

// A row that is not what was stored is not held; the same edit mends it, and is what
// devices that have passed its place hear of.
func TestADamagedRowIsNotHeldAndItsEditMendsIt(t *testing.T) {
	for name, change := range map[string]func([]byte) []byte{
		"a byte of the value":    func(row []byte) []byte { row[len(row)-12] ^= 1; return row },
		"a byte of the hash":     flipped(hashAt),
		"a byte of the line":     flipped(lineAt),
		"the n":                  flipped(lineAt + 8),
		"the production":         flipped(bytesAt + 1),
		"where the device is":    func(row []byte) []byte { row[0] = 0; return row },
		"where, beyond the row":  func(row []byte) []byte { row[0] = 254; return row },
		"all but the chain":      func(row []byte) []byte { clear(row[:chainAt]); clear(row[bytesAt:]); return row },
		"all of it, in the log":  func(row []byte) []byte { clear(row); return row },
		"cut off, in the log":    func(row []byte) []byte { return row[:20] },
		"hash and chain":         func(row []byte) []byte { clear(row[hashAt:bytesAt]); return row },
		"the bytes and the hash": func(row []byte) []byte { row[hashAt] ^= 1; row[len(row)-12] ^= 1; return row },
	} {
		places := []uint64{1, 5, 9}
		if strings.HasSuffix(name, "in the log") { // at its end nothing says what stood there
			places = places[:2]
		}
		for _, seq := range places {
			t.Run(name, func(t *testing.T) {
				s, entries, path := stored(t, seq, change)
				lost := entries[seq-1]
				damage, err := s.Damaged(storetest.Production)
				if err != nil || len(damage) != 1 || damage[0].Seq != logbook.Seq(seq) ||
					!damage[0].Dot.IsZero() && damage[0].Dot != lost.Dot && name != "the n" {
					t.Fatalf("sequence %d: damaged is %+v (%v), want it alone", seq, damage, err)
				}
				mustHoldBut(t, s, entries, lost)
				chain, ok, err := s.ChainAt(storetest.Production, logbook.Seq(seq))
				if !ok || err != nil {
					t.Errorf("no cursor can stand there: %v", err)
				}
				backup := path + ".backup"
				if err := s.Backup(backup); err != nil {
					t.Errorf("what is left is not backed up: %v", err)
				} else if err := Restore(backup, path+".restored"); err != nil {
					t.Errorf("the backup of it is not restored: %v", err)
				}
				r, err := s.Append(storetest.Production, []logbook.Entry{lost, entries[2], lost})
				if err != nil || r[0].Outcome != logbook.Taken || r[1].Outcome != logbook.Repeat && seq != 3 || r[2].Outcome != logbook.Repeat {
					t.Fatalf("it comes again: %+v (%v), want taken, then a repeat", r, err)
				}
				mended := func() {
					t.Helper()
					if damage, err := s.Damaged(storetest.Production); err != nil || len(damage) != 0 {
						t.Errorf("after it came again, damaged is %+v (%v)", damage, err)
					}
					if held, err := s.Ranges(storetest.Production); err != nil || len(held) != 3 || !held.Has(lost.Dot) {
						t.Errorf("held is %v (%v), want all", held, err)
					}
					passed, err := s.Read(storetest.Production, 9, 1<<20)
					if err != nil || len(passed) != 1 || !bytes.Equal(passed[0].Bytes, lost.Bytes) {
						t.Errorf("who has passed the place is told %d edits (%v), want the one", len(passed), err)
					}
					if again, _, err := s.ChainAt(storetest.Production, logbook.Seq(seq)); err != nil || again != chain {
						t.Errorf("a cursor that stands there leads nowhere (%v)", err)
					}
				}
				mended()
				add(t, s, storetest.Entry(4, 1, "x"), storetest.Entry(4, 2, "x"))
				if err := s.Close(); err != nil {
					t.Fatal(err)
				}
				if report := checkWhole(t, path); report.Edits != 11 {
					t.Errorf("the check counts %d edits, want 11", report.Edits)
				}
				if s, err = Open(path); err != nil {
					t.Fatal(err)
				}
				defer finish(t, s, path)
				if got, err := s.Read(storetest.Production, 0, 1<<20); err != nil || len(got) != 11 {
					t.Errorf("opened again it reads %d edits (%v), want 11", len(got), err)
				}
			})
		}
	}
}

// mustHoldBut expects all of a log but one edit, however it is asked.
func mustHoldBut(t *testing.T, s *Store, entries []logbook.Entry, lost logbook.Entry) {
	t.Helper()
	held, err := s.Ranges(storetest.Production)
	read, readErr := s.Read(storetest.Production, 0, 1<<20)
	if err := errors.Join(err, readErr); err != nil || len(read) != len(entries)-1 {
		t.Fatalf("read are %d edits (%v), want all but one", len(read), err)
	}
	for _, e := range entries {
		got, err := s.Get(storetest.Production, []logbook.Dot{e.Dot})
		if want := e.Dot != lost.Dot; held.Has(e.Dot) != want || (len(got) == 1) != want || err != nil {
			t.Errorf("edit %s: in the ranges %v, found %d (%v); should it be: %v", e.Dot, held.Has(e.Dot), len(got), err, want)
		}
	}
}

// Another edit under the dot of a damaged row is no clash either: nothing is held
// there. The row stays listed until its own edit comes, whatever its dot then is.
func TestAnotherEditUnderTheDotOfADamagedRowIsTaken(t *testing.T) {
	s, entries, path := stored(t, 5, flipped(hashAt))
	other := storetest.EntryOf(storetest.Production, entries[4].Dot.Line[0], entries[4].Dot.N, "another lens")
	for i, want := range []logbook.Outcome{logbook.Taken, logbook.Repeat} {
		if r, err := s.Append(storetest.Production, []logbook.Entry{other}); err != nil || r[0].Outcome != want {
			t.Errorf("call %d: got %+v (%v), want %v", i, r, err, want)
		}
	}
	if damage, err := s.Damaged(storetest.Production); err != nil || len(damage) != 1 {
		t.Errorf("damaged is %+v (%v), want the row still", damage, err)
	}
	if r, err := s.Append(storetest.Production, []logbook.Entry{entries[4]}); err != nil || r[0].Outcome != logbook.Clash {
		t.Errorf("its own edit: got %+v (%v), want a clash with the one that is held now", r, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if report, err := Check(path); err != nil || len(report.Problems) > 0 {
		t.Errorf("the check says %v, %+v", err, report)
	}
}

// When an edit came, and where its device stands, are notes that no hash covers.
func TestANoteThatIsHitCostsNoEdit(t *testing.T) {
	for name, at := range map[string]int{"received": receivedAt, "the chain": chainAt} {
		s, entries, path := stored(t, 5, flipped(at))
		if got, err := s.Read(storetest.Production, 0, 1<<20); err != nil || len(got) != len(entries) {
			t.Errorf("%s: read are %d edits (%v), want all", name, len(got), err)
		}
		add(t, s, storetest.Entry(4, 1, "x"))
		if err := s.Backup(path + ".backup"); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if err := s.Close(); err != nil {
			t.Fatal(err)
		}
	}
}

// A disk that rots while writers and readers are at work costs the edits it hits, and
// they come again.
func TestRowsThatRotUnderLoadComeAgain(t *testing.T) {
	const seed = 7
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	s, path := open(t)
	begin(t, s)
	var entries []logbook.Entry
	for n := uint64(1); n <= 400; n++ {
		entries = append(entries, storetest.Entry(1, n, "a lens"))
	}
	add(t, s, entries...)
	for range logtest.AtLength(40, 8) {
		row := chance.IntN(len(entries))
		rot(t, path, entries[row])
		read, err := s.Read(storetest.Production, 0, 1<<20)
		if err != nil || len(read) != len(entries)-1 {
			t.Fatalf("read are %d of %d edits (%v), want all but one", len(read), len(entries), err)
		}
		n := uint64(len(entries) + 1)
		added := storetest.Entry(1, n, "a lens")
		r, err := s.Append(storetest.Production, []logbook.Entry{added, entries[row]})
		if err != nil || r[0].Outcome != logbook.Taken || r[1].Outcome != logbook.Taken {
			t.Fatalf("got %+v (%v), want both taken", r, err)
		}
		entries = append(entries, added)
		held, err := s.Ranges(storetest.Production)
		if err != nil || len(held[entries[0].Dot.Line]) != 1 {
			t.Fatalf("held is %v (%v), want all in one span", held, err)
		}
	}
}

// rot changes one byte of an edit wherever it stands in the file, behind the back of
// the store.
func rot(t *testing.T, path string, e logbook.Entry) {
	t.Helper()
	file, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	whole, err := io.ReadAll(file)
	if err != nil {
		t.Fatal(err)
	}
	for at := 0; ; {
		next := bytes.Index(whole[at:], e.Bytes)
		if next < 0 {
			return
		}
		at += next + len(e.Bytes)
		if _, err := file.WriteAt([]byte{whole[at-12] ^ 1}, int64(at-12)); err != nil {
			t.Fatal(err)
		}
	}
}
