package main

import (
	"bytes"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenwhite/server/command"
	"evenwhite/server/lan/authority"
)

func TestAClockOf1970IsSaidBeforeARootIsDrawn(t *testing.T) {
	folder := t.TempDir()
	_, err := openAuthority(folder, "set7.local", false, time.Unix(0, 0), slog.New(slog.DiscardHandler))
	var f *command.Failure
	if !errors.Is(err, authority.ErrClock) || !errors.As(err, &f) || !strings.Contains(f.Hint, "Set the clock") {
		t.Errorf("got %v", err)
	}
	if exists(filepath.Join(folder, keysName)) {
		t.Error("something was written")
	}
	a, err := openAuthority(folder, "set7.local", false, time.Now(), slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	again, err := openAuthority(folder, "set7.local", false, time.Unix(0, 0), slog.New(slog.DiscardHandler))
	if err != nil || again.Fingerprint() != a.Fingerprint() {
		t.Errorf("with a root at hand it does not go on: %v", err)
	}
}

// Whoever starts the server as another user than the one before is told what is wrong.
func TestKeysThatCannotBeReadAreNotReplaced(t *testing.T) {
	folder := t.TempDir()
	var log bytes.Buffer
	if _, err := openAuthority(folder, "set7.local", false, time.Now(), slog.New(slog.NewTextHandler(&log, nil))); err != nil {
		t.Fatal(err)
	}
	file := authorityFile(folder)
	if err := os.Remove(file); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(file, 0o700); err != nil { // which even root cannot read as a file
		t.Fatal(err)
	}
	_, err := openAuthority(folder, "set7.local", true, time.Now(), slog.New(slog.NewTextHandler(&log, nil)))
	var f *command.Failure
	if !errors.As(err, &f) || !strings.Contains(f.Hint, "nothing was changed") {
		t.Errorf("got %v", err)
	}
}
