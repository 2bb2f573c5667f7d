package main

import (
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
	log := slog.New(slog.DiscardHandler)
	for name, open := range map[string]func(folder string) error{
		"authority.pem": func(folder string) error {
			_, err := openAuthority(folder, "set7.local", true, time.Now(), log)
			return err
		},
		"tokens.pem": func(folder string) error {
			_, err := openKey(folder, log)
			return err
		},
	} {
		folder := t.TempDir()
		if err := open(folder); err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(folder, keysName, name)
		if err := os.Remove(file); err != nil {
			t.Fatal(err)
		}
		if err := os.Mkdir(file, 0o700); err != nil { // which even root cannot read as a file
			t.Fatal(err)
		}
		err := open(folder)
		var f *command.Failure
		if !errors.As(err, &f) || !strings.Contains(f.Hint, "nothing was changed") {
			t.Errorf("%s: got %v", name, err)
		}
		if info, err := os.Stat(file); err != nil || !info.IsDir() {
			t.Errorf("%s was replaced (%v)", name, err)
		}
	}
}
