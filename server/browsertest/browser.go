// Package browsertest runs scripts in a real browser, for tests: Chromium as a person has it,
// with an empty home and a store of certificates of its own.
package browsertest

import (
	"bytes"
	"crypto/sha256"
	"encoding/json"
	"encoding/pem"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// screens is where scripts put what they photograph.
var screens = flag.String("screens", "", "write pictures of the pages into this folder, to be looked at")

// A Browser is one that a test starts.
type Browser struct {
	Trusts []byte // root certificate in DER; nil: none beside those of the system
	Hosts  string // how names are resolved, such as "MAP set7.local 127.0.0.1"; "": by the system
	Home   string // "": an empty one
	Kill   bool   // the browser is killed at the end, and not closed
	// On makes a command that runs on another machine of a test's network; nil: on this one.
	On func(name string, args ...string) *exec.Cmd
}

// Run starts the browser, runs a script in it and reads into out what the script returned. A
// page whose own policy kept something of it from running fails the test.
func (b Browser) Run(t testing.TB, script string, args, out any) {
	t.Helper()
	node, chromium := Tool(t, "node"), Tool(t, "chromium")
	driver := root(t, "testdata/browser/run.mjs")
	if _, err := os.Stat(root(t, "testdata/browser/node_modules/playwright-core")); err != nil {
		Missing(t, "the npm package playwright-core")
	}
	if b.Home == "" {
		b.Home = t.TempDir()
	}
	b.trust(t)
	path, err := filepath.Abs(script)
	if err != nil {
		t.Fatal(err)
	}
	if *screens != "" {
		if err := os.MkdirAll(*screens, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	told, err := json.Marshal(map[string]any{
		"home": b.Home, "program": chromium, "hosts": b.Hosts, "script": path, "args": args, "screens": *screens,
		"kill": b.Kill,
	})
	if err != nil {
		t.Fatal(err)
	}
	if b.On == nil {
		b.On = exec.Command
	}
	run := b.On(node, driver)
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

// trust puts the root into the store of the browser's home, as a person does.
func (b Browser) trust(t testing.TB) {
	t.Helper()
	if b.Trusts == nil {
		return
	}
	certutil, store := Tool(t, "certutil"), filepath.Join(b.Home, ".pki", "nssdb")
	if err := os.MkdirAll(store, 0o700); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(b.Home, "root.pem")
	if err := os.WriteFile(file, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: b.Trusts}), 0o600); err != nil {
		t.Fatal(err)
	}
	steps := [][]string{{"-N", "--empty-password"}, {"-A", "-t", "C,,", "-n", fmt.Sprintf("root %x", sha256.Sum256(b.Trusts)), "-i", file}}
	if _, err := os.Stat(filepath.Join(store, "cert9.db")); err == nil {
		steps = steps[1:] // it trusts another already
	}
	for _, args := range steps {
		if out, err := exec.Command(certutil, append([]string{"-d", "sql:" + store}, args...)...).CombinedOutput(); err != nil {
			t.Fatalf("certutil %v: %v: %s", args, err, out)
		}
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

// Tool is the path of a program that a test needs.
func Tool(t testing.TB, name string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		Missing(t, name)
	}
	return path
}

// Missing fails a test in CI for want of what is not here, and skips it elsewhere.
func Missing(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("CI") != "" {
		t.Fatalf("%s is missing: make setup-test installs it", what)
	}
	t.Skipf("SKIPPED, NOT CHECKED: %s is missing: make setup-test installs it", what)
}
