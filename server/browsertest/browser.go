// Package browsertest runs scripts in a real browser, for tests: Chromium, or another, as a person has it,
// with an empty home and a store of certificates of its own.
package browsertest

import (
	"bytes"
	"encoding/json"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"evenwhite/logbook/needed"
)

// screens is where scripts put what they photograph.
var screens = flag.String("screens", "", "write pictures of the pages into this folder, to be looked at")

// A Browser is one that a test starts.
type Browser struct {
	Engine Engine
	Trusts []byte // root certificate in DER; nil: none beside those of the system
	// Hosts says how names are resolved, such as "MAP set7.local 127.0.0.1"; "": by the system. To others than Chromium it is
	// the name of this machine.
	Hosts string
	Home  string // "": an empty one
	Kill  bool   // the browser is killed at the end, and not closed
	// On makes a command that runs on another machine of a test's network; nil: on this one.
	On func(name string, args ...string) *exec.Cmd
}

// Run starts the browser, runs a script in it and reads into out what the script returned. A
// page whose own policy kept something of it from running fails the test.
func (b Browser) Run(t testing.TB, script string, args, out any) {
	t.Helper()
	node := needed.Tool(t, "node")
	if b.Home == "" {
		b.Home = t.TempDir()
	}
	driver, is := b.Engine.drivenBy(t, b)
	path, err := filepath.Abs(script)
	if err != nil {
		t.Fatal(err)
	}
	if *screens != "" {
		if err := os.MkdirAll(*screens, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	for name, value := range map[string]any{"home": b.Home, "script": path, "args": args, "screens": *screens, "kill": b.Kill} {
		is[name] = value
	}
	told, err := json.Marshal(is)
	if err != nil {
		t.Fatal(err)
	}
	if b.On == nil {
		b.On = exec.Command
	}
	run := b.On(node, root(t, driver))
	run.Stdin = bytes.NewReader(told)
	var said bytes.Buffer
	run.Stderr = &said
	text, err := run.Output()
	if err != nil {
		t.Fatalf("the browser: %v: %s", err, said.Bytes())
	}
	answer := struct {
		Result     any      `json:"result"`
		Violations []string `json:"violations"`
	}{Result: out}
	if err := json.Unmarshal(text, &answer); err != nil {
		t.Fatalf("%v: %s", err, text)
	}
	for _, v := range answer.Violations {
		t.Errorf("its own policy kept from running: %s", v)
	}
}

// root finds a file by its path from the top of this module.
func root(t testing.TB, path string) string {
	t.Helper()
	folder, err := os.Getwd()
	if err != nil {
		t.Fatal(err)
	}
	for {
		if _, err := os.Stat(filepath.Join(folder, "go.mod")); err == nil {
			return filepath.Join(folder, path)
		}
		if filepath.Dir(folder) == folder {
			t.Fatal("no go.mod above this test")
		}
		folder = filepath.Dir(folder)
	}
}
