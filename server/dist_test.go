package main

import (
	"bufio"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"evenwhite/logbook/needed"
)

// TestTheProgramThatIsHandedOutStartsAlone builds it as make dist does, and starts it where no other
// program is found.
func TestTheProgramThatIsHandedOutStartsAlone(t *testing.T) {
	t.Parallel()
	if runtime.GOOS != "linux" || runtime.GOARCH != "amd64" {
		t.Skip("the one for linux/amd64 is started")
	}
	if _, err := os.Stat("phone/dist/index.html"); err != nil {
		needed.MissingFor(t, "the phone app", "make app")
	}
	folder := t.TempDir()
	program := filepath.Join(folder, "evenwhite-linux-amd64")
	build := exec.Command("make", "--no-print-directory", "-C", "..", "dist", "TARGETS=linux/amd64", "DIST="+folder, "-o", "app")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	server := exec.Command(program, "serve", "--data", filepath.Join(folder, "data"), "--listen", "127.0.0.1:0", "--demo")
	server.Env = []string{"PATH=" + filepath.Join(folder, "nothing"), "HOME=" + folder}
	server.Stderr = os.Stderr
	out, err := server.StdoutPipe()
	if err == nil {
		err = server.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	defer func() {
		_ = server.Process.Signal(os.Interrupt)
		if err := server.Wait(); err != nil {
			t.Errorf("it ended with %v", err)
		}
	}()
	url := ""
	lines := bufio.NewScanner(out)
	for lines.Scan() && lines.Text() != readyLine {
		if found := listensOn.FindStringSubmatch(lines.Text()); found != nil {
			url = found[1]
		}
	}
	go func() {
		for lines.Scan() {
		}
	}()
	for path, want := range map[string]string{"/healthz": "", "/app/": "<ew-app>", "/app/sw.js": "index.html"} {
		r, err := http.Get(url + path)
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r.Body)
		_ = r.Body.Close()
		if err != nil || r.StatusCode != http.StatusOK || !strings.Contains(string(text), want) {
			t.Errorf("%s: got %s (%v) %.200s, want %q in it", path, r.Status, err, text, want)
		}
	}
}
