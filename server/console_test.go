package main

import (
	"bytes"
	"errors"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/server/command"
)

func TestConsole(t *testing.T) {
	folder := t.TempDir()
	half := strings.Repeat("x", 1<<20)
	c, err := openConsole(folder, map[string]task{
		"echo": func(w io.Writer, query url.Values) error {
			_, err := io.WriteString(w, query.Get("word"))
			return err
		},
		"refuse": func(io.Writer, url.Values) error {
			return command.FailAs(command.ExitDamaged, errors.New("page 7 is torn"), "look for a backup")
		},
		"break": func(w io.Writer, _ url.Values) error {
			_, err := io.WriteString(w, half)
			return errors.Join(err, errors.New("too late to be heard"))
		},
	})
	if err != nil {
		t.Fatal(err)
	}
	t.Run("carries a task's words there and back", func(t *testing.T) {
		var out bytes.Buffer
		err := callConsole(folder, "echo", url.Values{"word": {"a & b = ç"}}, &out)
		if err != nil || out.String() != "a & b = ç" {
			t.Errorf("got %q, error %v", out.String(), err)
		}
	})
	t.Run("carries a failure with its hint and exit status", func(t *testing.T) {
		err := callConsole(folder, "refuse", nil, io.Discard)
		var f *command.Failure
		if !errors.As(err, &f) || f.Code != command.ExitDamaged || f.Hint != "look for a backup" || err.Error() != "page 7 is torn" {
			t.Errorf("got %#v", err)
		}
	})
	t.Run("does not pass half an answer off as a whole one", func(t *testing.T) {
		if err := callConsole(folder, "break", nil, io.Discard); err == nil {
			t.Error("got no error")
		}
	})
	t.Run("refuses a task that it does not know", func(t *testing.T) {
		if err := callConsole(folder, "fly", nil, io.Discard); err == nil || errors.Is(err, errNotRunning) {
			t.Errorf("got %v", err)
		}
	})
	t.Run("answers nobody who does not know the secret", func(t *testing.T) {
		other := t.TempDir()
		b, err := os.ReadFile(filepath.Join(folder, consoleName))
		if err != nil {
			t.Fatal(err)
		}
		wrong := bytes.Replace(b, []byte(`"secret":"`), []byte(`"secret":"x`), 1)
		if err := os.WriteFile(filepath.Join(other, consoleName), wrong, 0o600); err != nil {
			t.Fatal(err)
		}
		var out bytes.Buffer
		if err := callConsole(other, "echo", url.Values{"word": {"in"}}, &out); !errors.Is(err, errNotRunning) || out.Len() > 0 {
			t.Errorf("got %q, error %v; want the word that no server runs there", out.String(), err)
		}
	})
	t.Run("is gone when the server stops", func(t *testing.T) {
		stale, err := os.ReadFile(filepath.Join(folder, consoleName))
		if err != nil {
			t.Fatal(err)
		}
		c.stop()
		if err := callConsole(folder, "echo", nil, io.Discard); !errors.Is(err, errNotRunning) {
			t.Errorf("got %v, want %v", err, errNotRunning)
		}
		if err := os.WriteFile(filepath.Join(folder, consoleName), stale, 0o600); err != nil {
			t.Fatal(err)
		}
		if err := callConsole(folder, "echo", nil, io.Discard); !errors.Is(err, errNotRunning) {
			t.Errorf("with the file of a crash: got %v, want %v", err, errNotRunning)
		}
	})
}

// What keeps the file from being written keeps nobody from being served.
func TestAConsoleWhoseFileCannotBeWrittenGoesOn(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "data")
	echo := func(w io.Writer, _ url.Values) error { _, err := io.WriteString(w, "in"); return err }
	c, err := openConsole(folder, map[string]task{"echo": echo})
	if err != nil || c.silent() == nil {
		t.Fatalf("got %v, and of the file %v", err, c.silent())
	}
	if err := os.Mkdir(folder, 0o700); err != nil {
		t.Fatal(err)
	}
	if err := c.announce(); err != nil || c.silent() != nil {
		t.Errorf("once it can be written: %v, %v", err, c.silent())
	}
	var out bytes.Buffer
	if err := callConsole(folder, "echo", nil, &out); err != nil || out.String() != "in" {
		t.Errorf("got %q (%v)", out.String(), err)
	}
	c.stop()
	if err := c.announce(); err != nil || exists(filepath.Join(folder, consoleName)) {
		t.Errorf("a console that has stopped says that it is there (%v)", err)
	}
}

func TestWriteWhole(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "color-log.csv")
	write := func(text string, fault error) error {
		return writeWhole(path, 0o644, func(w io.Writer) error {
			_, err := io.WriteString(w, text)
			return errors.Join(err, fault)
		})
	}
	if err := write("first", nil); err != nil {
		t.Fatal(err)
	}
	if err := write("half of the sec", errors.New("the power went")); err == nil {
		t.Error("the fault is not shown")
	}
	b, err := os.ReadFile(path)
	if err != nil || string(b) != "first" {
		t.Errorf("got %q, error %v; want what was there before", b, err)
	}
	entries, err := os.ReadDir(folder)
	if err != nil || len(entries) != 1 {
		t.Errorf("got %v, error %v; want nothing left beside it", entries, err)
	}
}
