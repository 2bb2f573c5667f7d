package api

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// What a disk does not take any more is held in memory, and nothing stays behind.
func TestASpoolGivesBackWhatItWasGiven(t *testing.T) {
	folder := t.TempDir()
	t.Setenv("TMPDIR", folder)
	for name, full := range map[string]func(*spool){
		"a disk with room": func(*spool) {},
		"no place for files": func(s *spool) {
			s.file.Close()
			s.file = nil
		},
		"a disk that is full from the second piece on": func(s *spool) {
			path := filepath.Join(folder, "full")
			if err := os.WriteFile(path, []byte("first, "), 0o600); err != nil {
				t.Fatal(err)
			}
			defer os.Remove(path)
			s.file.Close()
			s.file, _ = os.Open(path) // to which nothing can be written
		},
	} {
		s := NewSpool().(*spool)
		if s.file == nil {
			t.Fatal("there is no file")
		}
		write := func(text string) {
			if n, err := s.Write([]byte(text)); n != len(text) || err != nil {
				t.Errorf("%s: wrote %d of %q, %v", name, n, text, err)
			}
		}
		if name != "no place for files" {
			write("first, ")
		}
		full(s)
		if name == "no place for files" {
			write("first, ")
		}
		write("second, ")
		write("third")
		if held := s.rest.Len() > 0; held == (name == "a disk with room") {
			t.Errorf("%s: held in memory: %t", name, held)
		}
		var out strings.Builder
		if n, err := s.WriteTo(&out); out.String() != "first, second, third" || int(n) != out.Len() || err != nil {
			t.Errorf("%s: got %q, %d bytes, %v", name, &out, n, err)
		}
		if err := s.Close(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	if left, err := os.ReadDir(folder); err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
}
