package colorimetry

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"runtime"
	"testing"
	"time"
)

// missing skips a test for want of an independent program, and says so loudly.
// On the build server (CI is set) everything that make setup-test installs must
// be there: what was not checked counts as failed.
func missing(t *testing.T, what string) {
	t.Helper()
	switch {
	case runtime.GOOS == "js":
		t.Skip("SKIPPED: WebAssembly starts no programs; the native run compares with " + what)
	case os.Getenv("CI") != "":
		t.Fatalf("NOT CHECKED: %s is not here, and CI is set; make setup-test installs it", what)
	}
	t.Skipf("SKIPPED, NOT CHECKED: %s is not here; make setup-test installs it", what)
}

// program finds a program that make setup-test installs.
func program(t *testing.T, name, what string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		missing(t, what)
	}
	return path
}

// present finds a file that make setup-test installs.
func present(t *testing.T, path, what string) {
	t.Helper()
	if _, err := os.Stat(path); err != nil {
		missing(t, what)
	}
}

// output runs a program that must succeed within two minutes.
func output(t *testing.T, stdin []byte, name string, args ...string) []byte {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	cmd := exec.CommandContext(ctx, name, args...)
	var out, complaint bytes.Buffer
	cmd.Stdin, cmd.Stdout, cmd.Stderr = bytes.NewReader(stdin), &out, &complaint
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s %v: %v: %s", name, args, err, &complaint)
	}
	return out.Bytes()
}
