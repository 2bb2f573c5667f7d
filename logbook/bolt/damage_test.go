package bolt

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"evenwhite/logbook/storetest"
)

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
