// Package overlay is for tests alone: it builds the tests of a room with a rule of the program
// switched off, by changed source that is laid over the real one.
package overlay

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// A Swap is source text that stands in a file once, and what stands there instead.
type Swap struct{ From, To string }

// Lay writes a file with its text changed, and returns the overlay that lays it over the real
// one.
func Lay(t *testing.T, file string, swaps ...Swap) (overlay string) {
	t.Helper()
	real, err := filepath.Abs(file)
	if err != nil {
		t.Fatal(err)
	}
	source, err := os.ReadFile(real)
	if err != nil {
		t.Fatal(err)
	}
	text := string(source)
	for _, s := range swaps {
		if n := strings.Count(text, s.From); n != 1 {
			t.Fatalf("%s: the text to change stands there %d times, want once:\n%s", file, n, s.From)
		}
		text = strings.Replace(text, s.From, s.To, 1)
	}
	folder := t.TempDir()
	changed, overlay := filepath.Join(folder, filepath.Base(file)), filepath.Join(folder, "overlay.json")
	instead, err := json.Marshal(map[string]map[string]string{"Replace": {real: changed}})
	if err != nil {
		t.Fatal(err)
	}
	for name, content := range map[string][]byte{changed: []byte(text), overlay: instead} {
		if err := os.WriteFile(name, content, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return overlay
}

// Build compiles the tests of a folder with an overlay laid over it; "" lays none.
func Build(t *testing.T, overlay, folder string) (program string) {
	t.Helper()
	program = filepath.Join(t.TempDir(), "mutant.test")
	// Neither vet nor what a debugger reads: a hundred programs are built for one run each.
	out, err := exec.Command("go", "test", "-c", "-vet=off", "-ldflags=-s -w", "-overlay", overlay, "-o", program, folder).CombinedOutput()
	if err != nil {
		t.Fatalf("it does not build: %v\n%s", err, out)
	}
	return program
}
