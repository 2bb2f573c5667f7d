package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"evenwhite/logbook/bolt"
)

// TestAProductionThatDamageClosesIsGoneBackTo plays that row of the README: it answers 500 with what to do and is marked,
// all others are served, and a backup in a new folder has it again.
func TestAProductionThatDamageClosesIsGoneBackTo(t *testing.T) {
	h := openHub(t, 1)
	kept := "/v1/productions/" + h.production.String()
	h.day(kept, 1)
	closed := h.begins(`{"title":"The Pier",` + strings.SplitN(gaugeRow, ",", 2)[1])
	h.day(closed, 2)
	good := filepath.Join(t.TempDir(), "good.backup")
	machine(t, "backup", "--data", h.folder, good)
	h.stop()
	store, err := bolt.Open(databaseOf(h.folder))
	if err != nil {
		t.Fatal(err)
	}
	head, err := store.Head(h.production)
	if err != nil {
		t.Fatal(err)
	}
	if err := store.Close(); err != nil {
		t.Fatal(err)
	}
	file, err := os.ReadFile(databaseOf(h.folder))
	if err != nil {
		t.Fatal(err)
	}
	hits := 0
	for from, of := 0, append([]byte("identity"), head.Identity[:]...); ; hits++ { // a part of its log loses its name
		at := bytes.Index(file[from:], of)
		if at < 0 {
			break
		}
		file[bytes.LastIndex(file[:from+at], []byte("edits"))+3] = 'u'
		from += at + len(of)
	}
	if hits == 0 {
		t.Fatal("what is to be damaged is not in the file")
	}
	if err := os.WriteFile(databaseOf(h.folder), file, 0o600); err != nil {
		t.Fatal(err)
	}

	h.start()
	for path, want := range map[string]string{
		closed: `500 .*restore the newest backup`, kept: `200 `, "/v1/productions": `200 .*"title":"Gauge Row".*"damaged":"`,
		"/readyz": `200 .*"degraded".*` + h.production.String(),
	} {
		status, text := h.ask("GET", path, "")
		if got := fmt.Sprintf("%d %s", status, text); !regexp.MustCompile(want).MatchString(got) {
			t.Errorf("GET %s: got %s, want %s", path, got, want)
		}
	}
	h.day(kept, 3) // all others go on
	for name, want := range map[string]string{
		"check": `the file is damaged: production ` + h.production.String(), "doctor": `TROUBLE  server +it warns\n.*` + h.production.String(),
		"backup": `the file is damaged: production`,
	} {
		args := []string{name, "--data", h.folder}
		if name == "backup" {
			args = append(args, filepath.Join(t.TempDir(), "later.backup"))
		}
		out, err := exec.Command("evenwhite", args...).CombinedOutput()
		if err == nil || !regexp.MustCompile(want).Match(out) {
			t.Errorf("evenwhite %v: got %v and %s, want %s", args, err, out, want)
		}
	}
	carried := filepath.Join(t.TempDir(), "kept.bundle") // what no device holds yet
	machine(t, "bundle", "write", "--data", h.folder, "--production", strings.TrimPrefix(kept, "/v1/productions/"), carried)
	h.restore(good)
	machine(t, "bundle", "take", "--data", h.folder, carried)
	if !h.has(closed, 2) || !h.has(kept, 1, 3) {
		t.Error("after it was gone back to a backup something is missing")
	}
}
