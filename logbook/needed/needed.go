// Package needed says what a test needs of the machine: where that is not here the test fails in
// CI, and is skipped elsewhere, in words that one finds in what it printed.
package needed

import (
	"os"
	"os/exec"
	"runtime"
	"testing"
)

// Tool is the path of a program that make setup-test installs.
func Tool(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		Missing(t, name)
	}
	return path
}

// Missing ends a test for want of what make setup-test installs.
func Missing(t testing.TB, what string) {
	t.Helper()
	MissingFor(t, what, "make setup-test installs it")
}

// MissingFor ends a test for want of something, and says what to do.
func MissingFor(t testing.TB, what, todo string) {
	t.Helper()
	switch {
	case runtime.GOOS == "js":
		t.Skipf("SKIPPED: WebAssembly starts no programs; the native run checks with %s", what)
	case os.Getenv("CI") != "":
		t.Fatalf("NOT CHECKED, and CI is set: %s is not here: %s", what, todo)
	}
	t.Skipf("SKIPPED, NOT CHECKED: %s is not here: %s", what, todo)
}

// Part fails a test in CI for want of what one part of it needs; elsewhere the rest goes on.
func Part(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("CI") != "" {
		Missing(t, what)
	}
	t.Logf("SKIPPED, NOT CHECKED: %s is not here: make setup-test installs it", what)
}
