package growth

import (
	"crypto/sha256"
	"path/filepath"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

func digest(t *testing.T, edits func(func(*logbook.Edit) bool)) (sum logbook.Hash, n int) {
	h := sha256.New()
	for e := range edits {
		bytes, err := logbook.EncodeEdit(e)
		if err != nil {
			t.Fatal(err)
		}
		h.Write(bytes)
		n++
	}
	return logbook.Hash(h.Sum(nil)), n
}

func TestALogIsTheSameEachTime(t *testing.T) {
	size := Size{"small", 8000, 40}
	first, n := digest(t, size.All())
	if n != size.Edits {
		t.Errorf("got %d edits, want %d", n, size.Edits)
	}
	if again, _ := digest(t, size.All()); again != first {
		t.Errorf("got %x at the second walk, want %x", again, first)
	}
	if other, _ := digest(t, Size{"small", 8000, 80}.All()); other == first {
		t.Error("got the same edits of 80 devices as of 40")
	}
}

func TestALogIsALikelyOne(t *testing.T) {
	book := logbook.NewBook(Production, kinds.Rules)
	size := Size{"small", 20_000, 100}
	devices, lines := map[logbook.ID]bool{}, map[logbook.Line]bool{}
	found := map[string]int{}
	for e := range size.All() {
		if err := book.Apply(e); err != nil {
			t.Fatalf("edit %s is refused: %v", e.Dot, err)
		}
		devices[e.Device], lines[e.Dot.Line] = true, true
		found["edits of "+string(e.Kind)]++
		if _, ok := e.Change(logbook.DeletedField); ok {
			found["struck out"]++
		}
		if len(e.Set) == 1 && len(e.Set[0].Field) > 5 && e.Set[0].Field[:5] == logbook.SamePrefix {
			found["twins answered"]++
		}
	}
	for _, v := range book.Records(kinds.Clip) {
		for _, f := range v.Fields() {
			if f.Conflict {
				found["conflicts of clips"]++
			}
		}
	}
	if len(devices) != size.Devices || len(lines) < 200 || len(lines) > 300 {
		t.Errorf("got %d devices and %d lines, want %d and some 250", len(devices), len(lines), size.Devices)
	}
	wanted := map[string]int{
		"edits of clip": 10_000, "edits of take": 2_000, "struck out": 10, "twins answered": 3, "conflicts of clips": 100,
	}
	for what, least := range wanted {
		if found[what] < least {
			t.Errorf("%s: got %d, want at least %d", what, found[what], least)
		}
	}
}

func TestALogOpensFromItsFile(t *testing.T) {
	size := Size{"small", 3000, 20}
	folder := t.TempDir()
	t.Setenv("TMPDIR", folder)
	path := Copy(t, size, filepath.Join(t.TempDir(), "log.db"))
	l, store := Open(t, path)
	defer store.Close()
	head, err := l.Head()
	if err != nil || head.Seq != logbook.Seq(size.Edits) {
		t.Errorf("got a log of %d edits (%v), want %d", head.Seq, err, size.Edits)
	}
	if made, _ := filepath.Glob(filepath.Join(folder, "*")); len(made) != 1 {
		t.Errorf("got %v kept for the next process, want one file", made)
	}
}
