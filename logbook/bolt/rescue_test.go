package bolt

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"
)

// rescued are the edits that are read out of a file.
func rescued(t *testing.T, content []byte) map[logbook.Dot]logbook.Entry {
	t.Helper()
	path := filepath.Join(t.TempDir(), "log.db")
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	all := map[logbook.Dot]logbook.Entry{}
	err := Rescue(path, func(production logbook.ID, e logbook.Entry) error {
		if production != storetest.Production {
			t.Errorf("%s is of production %s", e.Dot, production)
		}
		if _, twice := all[e.Dot]; twice {
			t.Errorf("%s is handed out twice", e.Dot)
		}
		all[e.Dot] = e
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func TestRescueReadsWhatIsLeftOfAFileThatDoesNotOpen(t *testing.T) {
	whole := wholeFile(t)
	size := int(order.Uint32(whole[pageHead+8:]))
	held := rescued(t, whole)
	if len(held) != 200 {
		t.Fatalf("of a whole file %d edits are read, want 200", len(held))
	}
	for _, n := range []uint64{1, 298} {
		for line := byte(1); line <= 2; line++ {
			want := storetest.Entry(line, n, "a lens with a name that can be found")
			got := held[want.Dot]
			if got.Hash != want.Hash || !bytes.Equal(got.Bytes, want.Bytes) || got.Via != want.Via {
				t.Errorf("got %+v, want %+v", got, want)
			}
		}
	}
	spoil := bytes.Repeat([]byte{0xff}, size)
	for id := range inUse(t, whole) {
		content := bytes.Clone(whole)
		copy(content[int(id)*size:], spoil)
		left := rescued(t, content)
		overflow := order.Uint64(whole[int(id)*size:]) != id
		if len(left) < 100 && !overflow {
			t.Errorf("with page %d damaged %d of 200 edits are read", id, len(left))
		}
		for dot, e := range left {
			if e.Hash != held[dot].Hash || !bytes.Equal(e.Bytes, held[dot].Bytes) {
				t.Errorf("with page %d damaged %s is another edit", id, dot)
			}
		}
	}
	t.Run("without its heads, and cut off", func(t *testing.T) {
		content := bytes.Clone(whole[:len(whole)/2])
		copy(content, bytes.Repeat([]byte{0xff}, 2*size))
		if n := len(rescued(t, content)); n < 50 || n > 200 {
			t.Errorf("got %d edits", n)
		}
	})
	t.Run("of a log so small that it stands within a page", func(t *testing.T) {
		s, path := open(t)
		begin(t, s)
		add(t, s, storetest.Entry(1, 1, "a lens"))
		content, err := os.ReadFile(reopened(t, s, path))
		if err != nil {
			t.Fatal(err)
		}
		if n := len(rescued(t, content)); n != 1 {
			t.Errorf("got %d edits, want 1", n)
		}
	})
	t.Run("of what is no store", func(t *testing.T) {
		if n := len(rescued(t, []byte("somebody's notes"))); n != 0 {
			t.Errorf("got %d edits, want none", n)
		}
	})
}
