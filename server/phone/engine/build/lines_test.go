package main

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/logbook/needed"
)

func TestAProgramRunsWithoutItsLines(t *testing.T) {
	needed.Tool(t, "node")
	said, err := command("env", "GOROOT", "GOVERSION")
	if err != nil {
		t.Fatal(err)
	}
	root, release, _ := strings.Cut(strings.TrimSpace(said), "\n")
	if !knows(release) {
		t.Skipf("SKIPPED, NOT CHECKED: this is %s, and %s is known", release, knownGo)
	}
	whole, err := compiled("./testdata/fault")
	if err != nil {
		t.Fatal(err)
	}
	ended := func(module []byte) (out, trace string) {
		file := filepath.Join(t.TempDir(), "fault.wasm")
		if err := os.WriteFile(file, module, 0o600); err != nil {
			t.Fatal(err)
		}
		run := exec.Command("node", filepath.Join(root, "lib", "wasm", "wasm_exec_node.js"), file)
		var failed strings.Builder
		run.Stderr = &failed
		text, err := run.Output()
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			t.Fatalf("a program that faults ended with %v", err)
		}
		return string(text), failed.String()
	}
	lean, err := packed(whole, memory.withoutLines)
	if err != nil {
		t.Fatal(err)
	}
	out, trace := ended(whole)
	leanOut, leanTrace := ended(lean)
	if !strings.Contains(out, "88894 runtime error") || leanOut != out {
		t.Errorf("it said %q, and without lines %q", out, leanOut)
	}
	const line = "fault/main.go:"
	if !strings.Contains(trace, line) || strings.Contains(leanTrace, line) || !strings.Contains(leanTrace, "main.fall(") {
		t.Errorf("with lines it ended by\n%s\nwithout by\n%s", trace, leanTrace)
	}
}

func TestATableThatIsNotThereIsTold(t *testing.T) {
	if err := make(memory, 4096).withoutLines(); !errors.Is(err, errTable) {
		t.Errorf("got %v", err)
	}
}
