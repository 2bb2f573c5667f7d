package bolt

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/logbook/storetest"
)

// tracedIn names the folder in which the traced half of the test works.
const tracedIn = "EVENWHITE_TRACED_IN"

// mark leaves a word in a trace of system calls.
func mark(word string) { _, _ = os.Lstat("/mark/" + word) }

// TestPromisesWaitForTheDisk holds every promise that waits until the disk says so to a trace
// of the system calls: what was written is synced before it is answered, and a new
// name after the file that it names and before anybody is told.
func TestPromisesWaitForTheDisk(t *testing.T) {
	if folder := os.Getenv(tracedIn); folder != "" {
		traced(t, folder)
		return
	}
	strace, err := exec.LookPath("strace")
	if err != nil {
		t.Skip("SKIPPED, NOT CHECKED: strace is not here, so that no system call was looked at")
	}
	folder := t.TempDir()
	out := filepath.Join(t.TempDir(), "trace")
	c := exec.Command(strace, "-f", "-y", "-e", "trace=fsync,fdatasync,linkat,rename,renameat,renameat2,lstat,newfstatat,statx", "-o", out,
		os.Args[0], "-test.run", "^TestPromisesWaitForTheDisk$")
	c.Env = append(os.Environ(), tracedIn+"="+folder)
	if said, err := c.CombinedOutput(); err != nil {
		if strings.Contains(string(said), "PTRACE") {
			t.Skipf("SKIPPED, NOT CHECKED: no process may be traced here: %s", said)
		}
		t.Fatalf("%v: %s", err, said)
	}
	text, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	calls := strings.Split(string(text), "\n")
	for _, want := range []struct{ from, to, what string }{
		{"begin", "opened", "linkat .evenwhite- log.db, then sync folder"},
		{"opened", "appended", "sync log.db"},
		{"appended", "kept", "sync log.db"},
		{"kept", "backed-up", "sync .evenwhite-, then linkat .evenwhite- copy.db, then sync folder"},
		{"backed-up", "compacted", "sync .evenwhite-, then rename .evenwhite- log.db, then sync folder"},
	} {
		if missing := inOrder(between(calls, want.from, want.to), strings.Split(want.what, ", then "), folder); missing != "" {
			t.Errorf("until %s there is no %q in its place", want.to, missing)
		}
	}
}

// traced does, one after another, what is answered only once it is durable.
func traced(t *testing.T, folder string) {
	path := filepath.Join(folder, "log.db")
	mark("begin")
	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	begin(t, s)
	mark("opened")
	add(t, s, storetest.Entry(1, 1, "a lens"))
	mark("appended")
	if err := s.Keep("device/a", []byte("1")); err != nil {
		t.Fatal(err)
	}
	mark("kept")
	if err := s.Backup(filepath.Join(folder, "copy.db")); err != nil {
		t.Fatal(err)
	}
	mark("backed-up")
	_, _, err = Compact(path)
	if err := errors.Join(s.Close(), err); err == nil {
		t.Fatal("a store that is open was compacted")
	}
	if _, _, err := Compact(path); err != nil {
		t.Fatal(err)
	}
	mark("compacted")
}

func between(calls []string, from, to string) (part []string) {
	on := false
	for _, call := range calls {
		switch {
		case strings.Contains(call, `"/mark/`+from+`"`):
			on = true
		case strings.Contains(call, `"/mark/`+to+`"`):
			return part
		case on && !strings.Contains(call, "resumed"):
			part = append(part, call)
		}
	}
	return nil
}

// inOrder looks for calls one after another, each given as its kind and what it names,
// and returns the first that is not there.
func inOrder(calls, wanted []string, folder string) (missing string) {
	for _, want := range wanted {
		words := strings.Fields(want)
		found := -1
		for i, call := range calls {
			if isCall(call, words, folder) {
				found = i
				break
			}
		}
		if found < 0 {
			return want
		}
		calls = calls[found+1:]
	}
	return ""
}

func isCall(call string, words []string, folder string) bool {
	kinds := map[string][]string{"sync": {"fsync(", "fdatasync("}, "linkat": {"linkat("}, "rename": {"rename(", "renameat(", "renameat2("}}
	is := false
	for _, kind := range kinds[words[0]] {
		is = is || strings.Contains(call, kind)
	}
	for _, name := range words[1:] {
		if name == "folder" {
			is = is && strings.Contains(call, "<"+folder+">")
		} else {
			is = is && strings.Contains(call, folder+"/"+name)
		}
	}
	return is
}
