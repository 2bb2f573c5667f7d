package storetest

import (
	"errors"
	"os"
	"path/filepath"
	"syscall"
	"testing"
)

// MountSmall mounts a file system of a few megabytes on a folder; that needs root.
func MountSmall(t *testing.T, folder, size string) {
	t.Helper()
	if err := syscall.Mount("tmpfs", folder, "tmpfs", 0, "size="+size); err != nil {
		t.Skipf("SKIPPED: no disk can be filled here, for mounting one needs root: %v", err)
	}
	t.Cleanup(func() { _ = syscall.Unmount(folder, syscall.MNT_DETACH) }) // the test may have done so
}

// FillUp takes all room that is left in a folder and returns what gives it back.
func FillUp(t *testing.T, folder string) (free func()) {
	t.Helper()
	name := filepath.Join(folder, "filler")
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	for err == nil {
		_, err = f.Write(make([]byte, 4096))
	}
	if !errors.Is(err, syscall.ENOSPC) {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	return func() {
		if err := os.Remove(name); err != nil {
			t.Fatal(err)
		}
	}
}
