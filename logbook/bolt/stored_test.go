package bolt

import (
	"compress/gzip"
	"io"
	"os"
	"path/filepath"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/storetest"
)

// What an earlier version stored opens, to the last byte. The files in
// testdata/stored were written by the versions that they are named after: layout-1-first
// by the first with a store, layout-2-first by the first of layout 2. When the layout or
// the form of an edit changes, one is added and none removed.
func TestWhatEarlierVersionsStoredOpens(t *testing.T) {
	files, err := filepath.Glob("../../testdata/stored/*.db.gz")
	if err != nil || len(files) < 3 {
		t.Fatalf("testdata/stored holds %q (%v), want a file of each version", files, err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			path := unpacked(t, file)
			checkWhole(t, path)
			s, err := Open(path)
			if err != nil {
				t.Fatal(err)
			}
			defer finish(t, s, path)
			l, err := logbook.OpenLog(s, storetest.Production, kinds.Rules, func() logbook.Line { return logbook.Line{9} })
			if err != nil {
				t.Fatal(err)
			}
			if damage, err := l.Damaged(); err != nil || len(damage) != 0 {
				t.Errorf("damaged are %+v (%v)", damage, err)
			}
			stored, err := s.Read(storetest.Production, 0, 1<<20)
			if err != nil || len(stored) != 8 {
				t.Fatalf("read are %d edits (%v), want 8", len(stored), err)
			}
			for _, e := range stored {
				read, err := logbook.DecodeEdit(e.Bytes)
				if err != nil {
					t.Fatal(err)
				}
				if again, err := logbook.EncodeEdit(read); err != nil || string(again) != string(e.Bytes) {
					t.Errorf("edit %s is written anew as other bytes (%v)", e.Dot, err)
				}
			}
			a, err := exchange.NewPeer(l).Exchange(exchange.Request{}, logbook.ID{8}, 0)
			if err != nil || len(a.Edits) != 8 {
				t.Errorf("a new device gets %d edits (%v), want 8", len(a.Edits), err)
			}
			l.Read(func(b *logbook.Book) {
				clip, ok := b.RecordOf(kinds.Clip, logbook.ID{2, 14: 7})
				if at := clip.Field("kelvin"); !ok || at.Shown.Value != "4400" || len(at.Heads) != 1 {
					t.Errorf("the clip shows %+v, want 4400 alone", at)
				}
				if refused := b.Refused(); len(refused) != 2 {
					t.Errorf("refused are %d edits, want those of 24 K and of -3 K", len(refused))
				}
			})
			if clashes, err := l.Clashes(); err != nil || len(clashes) != 1 {
				t.Errorf("kept aside are %d (%v), want 1", len(clashes), err)
			}
			add(t, s, storetest.Entry(7, 1, "it goes on"))
		})
	}
}

func unpacked(t *testing.T, file string) string {
	t.Helper()
	f, err := os.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	z, err := gzip.NewReader(f)
	if err != nil {
		t.Fatal(err)
	}
	content, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "log.db")
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}
