package answers

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

func TestGeneratingChangesNothing(t *testing.T) {
	folder := t.TempDir()
	if out, err := exec.Command("go", "run", "generate.go", folder).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for generated, committed := range map[string]string{"answers.gen.go": "answers.gen.go", "handset.gen.go": "../handset/answers.gen.go"} {
		want, err := os.ReadFile(filepath.Join(folder, generated))
		if err != nil {
			t.Fatal(err)
		}
		if got, err := os.ReadFile(committed); err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s is not what is generated (%v): run go generate ./logbook/answers", committed, err)
		}
	}
}
