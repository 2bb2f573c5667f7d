package main

import (
	"bufio"
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"evenwhite/logbook/needed"
)

var shellBlock = regexp.MustCompile("(?s)```sh\n(.*?)```")

// shown begins a line of the README that shows what a command prints, or a part of
// one line of it.
const shown = "# → "

// TestTheReadmeShowsWhatItsCommandsPrint types the README's day and its seven
// questions into a shell beside a real server.
func TestTheReadmeShowsWhatItsCommandsPrint(t *testing.T) {
	for _, tool := range []string{"bash", "curl", "jq"} {
		needed.Tool(t, tool)
	}
	readme, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	program, err := exec.LookPath("evenwhite") // this test's own binary: see TestMain
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	url, _, _ := serveIn(t, program, filepath.Join(folder, "evenwhite-data"), "--demo")

	var typed strings.Builder
	var want []string
	for _, block := range shellBlock.FindAllStringSubmatch(string(readme), -1) {
		for line := range strings.Lines(block[1]) {
			if after, ok := strings.CutPrefix(line, shown); ok {
				want = append(want, strings.TrimSpace(after))
			}
		}
		typed.WriteString(block[1])
	}
	if len(want) < 15 {
		t.Fatalf("the README shows %d lines, want at least one for each question", len(want))
	}
	script := strings.NewReplacer("http://127.0.0.1:8480", url,
		"curl -s", "curl -sS --fail-with-body").Replace(typed.String())
	shell := exec.Command("bash", "-eu", "-o", "pipefail", "-c", script)
	shell.Dir = folder
	if err := os.CopyFS(filepath.Join(folder, "testdata", "production"), os.DirFS("../testdata/production")); err != nil {
		t.Fatal(err)
	}
	// A reader has the program in the folder, and not on the PATH.
	if err := os.Symlink(program, filepath.Join(folder, "evenwhite")); err != nil {
		t.Fatal(err)
	}
	others := slices.DeleteFunc(filepath.SplitList(os.Getenv("PATH")), func(d string) bool { return d == filepath.Dir(program) })
	shell.Env = append(os.Environ(), "PATH="+strings.Join(others, string(filepath.ListSeparator)))
	out, err := shell.CombinedOutput()
	if err != nil {
		t.Fatalf("%v after:\n%s", err, last(out, 2000))
	}
	rest := string(out)
	for _, line := range want {
		_, after, ok := strings.Cut(rest, line)
		if !ok {
			t.Fatalf("the README shows\n    %s\nbut what is printed from there on is\n%s", line, last([]byte(rest), 2000))
		}
		rest = after
	}
	for _, file := range []string{"plane.svg", "drift.svg", "swatches.svg"} {
		if picture, err := os.ReadFile(filepath.Join(folder, file)); err != nil || !bytes.Contains(picture, []byte("<title")) {
			t.Errorf("%s (%v) is no picture with a title: %s", file, err, last(picture, 200))
		}
	}
	if logs, _ := filepath.Glob(filepath.Join(folder, "*-color-log.csv")); len(logs) != 1 {
		t.Errorf("got the colour logs %q, want one", logs)
	}
}

func last(out []byte, most int) []byte { return out[max(0, len(out)-most):] }

// serveIn starts a real server in a folder; more are options of the command. It is stopped
// by stop, or else when the test ends.
func serveIn(t *testing.T, program, data string, more ...string) (url, code string, stop func()) {
	t.Helper()
	server := exec.Command(program, append([]string{"serve", "--listen", "127.0.0.1:0", "--data", data}, more...)...)
	out, err := server.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := server.Start(); err != nil {
		t.Fatal(err)
	}
	stop = sync.OnceFunc(func() {
		_ = server.Process.Signal(os.Interrupt)
		timer := time.AfterFunc(time.Minute, func() { _ = server.Process.Kill() })
		defer timer.Stop()
		if err := server.Wait(); err != nil {
			t.Errorf("the server ended with %v", err)
		}
	})
	t.Cleanup(stop)
	lines := bufio.NewScanner(out)
	said, ready := awaitReady(lines)
	if !ready {
		t.Fatal("the server was not ready")
	}
	go func() {
		for lines.Scan() {
		}
	}()
	return said.url, said.code, stop
}
