package colorimetry

import (
	"bytes"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"evenwhite/logbook/needed"
)

func TestGeneratingChangesNothing(t *testing.T) {
	if runtime.GOARCH != "amd64" {
		t.Skip("SKIPPED: the tables were made on amd64; the last bits differ between processors")
	}
	present(t, "/usr/share/psychtoolbox-3", psychtoolbox)
	source, err := filepath.Abs("tables")
	if err != nil {
		t.Fatal(err)
	}
	tables, checks := t.TempDir(), t.TempDir()
	args := []string{"run", "-C", tables}
	for _, name := range []string{"convert.go", "mat.go", "planck.go"} {
		args = append(args, filepath.Join(source, name))
	}
	output(t, nil, needed.Tool(t, "go"), append(args, "-checks", checks)...)
	made := 0
	for from, committed := range map[string]string{tables: source, checks: "../testdata/colorimetry"} {
		entries, err := os.ReadDir(from)
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range entries {
			made++
			got, err := os.ReadFile(filepath.Join(from, e.Name()))
			if err != nil {
				t.Fatal(err)
			}
			if want, err := os.ReadFile(filepath.Join(committed, e.Name())); err != nil || !bytes.Equal(got, want) {
				t.Errorf("%s is not what is generated (%v): run go generate ./colorimetry/tables", e.Name(), err)
			}
		}
	}
	if made != 5 {
		t.Errorf("%d files were made, want the four tables and the check spectra", made)
	}
}
