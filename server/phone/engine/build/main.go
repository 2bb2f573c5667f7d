// Build makes the engine of the phone as it is sent: how it is compiled and packed is said
// here and nowhere else.
//
//	go run ./server/phone/engine/build FOLDER
//
// writes evenwhite-engine.wasm and the wasm_exec.js of the same toolchain into FOLDER.
package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
)

func main() {
	if len(os.Args) != 2 {
		fmt.Fprintln(os.Stderr, "use: go run ./server/phone/engine/build FOLDER")
		os.Exit(2)
	}
	if err := build(os.Args[1]); err != nil {
		fmt.Fprintln(os.Stderr, "the engine of the phone was not built:", err)
		os.Exit(1)
	}
}

func build(folder string) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	said, err := command("env", "GOROOT", "GOVERSION")
	if err != nil {
		return err
	}
	root, release, _ := strings.Cut(strings.TrimSpace(said), "\n")
	change := func(m memory) error {
		m.withoutTags()
		return m.withoutLines()
	}
	if !knows(release) {
		fmt.Fprintf(os.Stderr, "the engine of the phone is larger than it need be: of its tables those of %s are known, and this is %s\n",
			knownGo, release)
		change = func(memory) error { return nil }
	}
	runtime, err := os.ReadFile(filepath.Join(root, "lib", "wasm", "wasm_exec.js"))
	if err != nil {
		return err
	}
	module, err := compiled("evenwhite/server/phone/engine")
	if err == nil {
		module, err = packed(module, change)
	}
	if err == nil {
		err = os.WriteFile(filepath.Join(folder, "evenwhite-engine.wasm"), module, 0o644)
	}
	if err == nil {
		err = os.WriteFile(filepath.Join(folder, "wasm_exec.js"), runtime, 0o644)
	}
	return err
}

// fast are the packages that are compiled with inlining, which makes an engine larger: what a
// phone waits for while it reads all days is mostly there.
var fast = []string{"runtime", "internal/runtime/...", "internal/abi", "evenwhite/logbook"}

func compiled(program string) ([]byte, error) {
	work, err := os.MkdirTemp("", "evenwhite-engine")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(work)
	made := filepath.Join(work, "program.wasm")
	args := []string{"build", "-trimpath", "-buildvcs=false", "-ldflags=-s -w", "-o", made, "-gcflags=all=-l"}
	for _, room := range fast {
		args = append(args, "-gcflags="+room+"=")
	}
	if _, err := command(append(args, program)...); err != nil {
		return nil, err
	}
	return os.ReadFile(made)
}

// command runs the go tool for WebAssembly. GOFLAGS of whoever builds are left out, so that the
// same source gives the same bytes.
func command(args ...string) (string, error) {
	run := exec.Command("go", args...)
	run.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm", "GOFLAGS=")
	run.Stderr = os.Stderr
	out, err := run.Output()
	if err != nil {
		err = fmt.Errorf("go %s: %w", strings.Join(args, " "), err)
	}
	return string(out), err
}
