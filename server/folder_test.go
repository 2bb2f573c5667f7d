package main

import (
	"os"
	"path/filepath"
	"testing"
)

// A first start, or a restore, that was killed before the database got its name leaves
// a file: the next one is not kept from going on.
func TestAFolderInWhichAFirstStartWasKilledIsUsed(t *testing.T) {
	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, ".evenwhite-2718281828"), []byte("half of a store"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := makeFolder(folder); err != nil {
		t.Fatalf("got %v, want that the folder is used", err)
	}
	store, err := openStore(folder)
	if err != nil {
		t.Fatal(err)
	}
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
}
