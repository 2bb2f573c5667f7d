package colorimetry

import (
	"bytes"
	"context"
	"os"
	"os/exec"
	"testing"
	"time"

	"evenwhite/logbook/needed"
)

// present finds a file that make setup-test installs.
func present(t *testing.T, path, what string) {
	t.Helper()
	if _, err := os.Stat(path); err != nil {
		needed.Missing(t, what)
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
