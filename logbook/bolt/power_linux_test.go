package bolt

import (
	"encoding/hex"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/needed"
	"evenwhite/logbook/storetest"
)

var powerCuts = flag.Int("power.cuts", 1, "how many cuts of the power come after each call")

// poweredIn names the folder in which the half of the test works that loses its power.
const poweredIn = "EVENWHITE_POWERED_IN"

// TestAPowerCutLosesNothingThatWasAnswered writes down what a store has the system do, and makes of that the
// files that a disk may hold after the power failed at any moment: what was written before a sync came
// back is there; of what was written since, some sectors of 512 bytes are and others are not. Each must
// open, be whole, and hold every edit that was answered.
func TestAPowerCutLosesNothingThatWasAnswered(t *testing.T) {
	if folder := os.Getenv(poweredIn); folder != "" {
		powered(t, folder)
		return
	}
	strace := needed.Tool(t, "strace")
	folder, out := t.TempDir(), filepath.Join(t.TempDir(), "trace")
	c := exec.Command(strace, "-f", "-y", "-xx", "-s", "2000000", "-e", "trace=pwrite64,ftruncate,fsync,fdatasync,newfstatat,lstat", "-o", out,
		os.Args[0], "-test.run", "^TestAPowerCutLosesNothingThatWasAnswered$")
	c.Env = append(os.Environ(), poweredIn+"="+folder)
	if said, err := c.CombinedOutput(); err != nil {
		if strings.Contains(string(said), "PTRACE") {
			t.Skipf("SKIPPED, NOT CHECKED: no process may be traced here: %s", said)
		}
		t.Fatalf("%v: %s", err, said)
	}
	trace, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	before, err := os.ReadFile(filepath.Join(folder, "before.db"))
	if err != nil {
		t.Fatal(err)
	}
	deeds := readTrace(t, string(trace), filepath.Join(folder, "log.db"))
	seed := rand.Uint64()
	t.Logf("seed %d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	cuts, syncs, found := 0, 0, 0
	for at := range len(deeds) + 1 {
		if at < len(deeds) && deeds[at].what == "sync" {
			syncs++
		}
		for range *powerCuts {
			if wrong := afterCut(t, before, deeds[:at], chance, true); wrong != "" {
				t.Errorf("after a cut behind call %d of %d: %s", at, len(deeds), wrong)
			}
			cuts++
		}
		if found == 0 && afterCut(t, before, deeds[:at], chance, false) != "" { // the same on a disk that lies
			found = at
		}
	}
	t.Logf("%d cuts of the power in %d calls, %d of them syncs; a disk that says too early that it has written is found at call %d",
		cuts, len(deeds), syncs, found)
	if syncs < 2*answers || found == 0 {
		t.Error("the trace holds too little, or nothing that is lost would be found")
	}
}

// answers is how many edits are answered one after another.
const answers = 12

// powered answers edits of many sizes, and leaves a mark behind each answer.
func powered(t *testing.T, folder string) {
	path := filepath.Join(folder, "log.db")
	s, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	begin(t, s)
	for n := range uint64(20) {
		add(t, s, storetest.Entry(1, n+1, strings.Repeat("of before", int(n)*20)))
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	from, err := os.ReadFile(path)
	if err == nil {
		err = os.WriteFile(filepath.Join(folder, "before.db"), from, 0o600)
	}
	if err != nil {
		t.Fatal(err)
	}
	mark("begins")
	if s, err = Open(path); err != nil {
		t.Fatal(err)
	}
	for n := range uint64(answers) {
		add(t, s, storetest.Entry(2, n+1, strings.Repeat("x", int(n*n)*7)))
		mark(fmt.Sprintf("answered-%d", n+1))
	}
}

// A deed is one call of the traced process that matters to the disk, or a mark.
type deed struct {
	what  string // "write", "size", "sync" or "answered"
	at    int    // offset, size, or which answer
	bytes []byte
}

var (
	writeCall = regexp.MustCompile(`pwrite64\(\d+<([^>]*)>, "((?:\\x[0-9a-f]{2})*)", (\d+), (\d+)`)
	sizeCall  = regexp.MustCompile(`ftruncate\(\d+<([^>]*)>, (\d+)`)
	syncCall  = regexp.MustCompile(`f(?:data)?sync\(\d+<([^>]*)>`)
	markCall  = regexp.MustCompile(`"((?:\\x[0-9a-f]{2})*)"`)
)

// readTrace reads the deeds on one file, in the order of their beginnings, but for syncs: they count
// when they come back.
func readTrace(t *testing.T, trace, path string) (deeds []deed) {
	t.Helper()
	begun, syncing := false, map[string]bool{} // by thread
	for line := range strings.Lines(trace) {
		thread, _, _ := strings.Cut(line, " ")
		name := func(hexed string) string { return string(unhexed(t, hexed)) }
		switch {
		case strings.Contains(line, "fstatat(") || strings.Contains(line, "lstat("):
			found := markCall.FindStringSubmatch(line)
			if found == nil {
				continue
			}
			word, is := strings.CutPrefix(name(found[1]), "/mark/")
			if n, numbered := strings.CutPrefix(word, "answered-"); is && numbered {
				i, err := strconv.Atoi(n)
				if err != nil {
					t.Fatal(err)
				}
				deeds = append(deeds, deed{what: "answered", at: i})
			}
			begun = begun || is && word == "begins"
		case !begun:
		case strings.Contains(line, "sync resumed"):
			if syncing[thread] {
				deeds = append(deeds, deed{what: "sync"})
			}
			delete(syncing, thread)
		case writeCall.MatchString(line):
			if found := writeCall.FindStringSubmatch(line); fileOf(t, found[1]) == path {
				written, size := unhexed(t, found[2]), decimal(t, found[3])
				if len(written) != size {
					t.Fatalf("the trace has %d of %d bytes", len(written), size)
				}
				deeds = append(deeds, deed{"write", decimal(t, found[4]), written})
			}
		case sizeCall.MatchString(line):
			if found := sizeCall.FindStringSubmatch(line); fileOf(t, found[1]) == path {
				deeds = append(deeds, deed{what: "size", at: decimal(t, found[2])})
			}
		case syncCall.MatchString(line):
			is := fileOf(t, syncCall.FindStringSubmatch(line)[1]) == path
			if strings.Contains(line, "unfinished") {
				syncing[thread] = is
			} else if is {
				deeds = append(deeds, deed{what: "sync"})
			}
		}
	}
	return deeds
}

// fileOf is the name of a file in a trace, in plain or in hexadecimal letters.
func fileOf(t *testing.T, text string) string {
	if strings.HasPrefix(text, `\x`) {
		return string(unhexed(t, text))
	}
	return text
}

func unhexed(t *testing.T, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.ReplaceAll(text, `\x`, ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func decimal(t *testing.T, text string) int {
	t.Helper()
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// sector is what a disk writes whole or not at all.
const sector = 512

// afterCut makes a file that a disk may hold after some deeds, and says what is wrong with it, or "". On
// one that is not honest a sync changes nothing.
func afterCut(t *testing.T, before []byte, deeds []deed, chance *rand.Rand, honest bool) (wrong string) {
	t.Helper()
	synced, answered := 0, 0
	for i, d := range deeds {
		switch {
		case d.what == "sync" && honest:
			synced = i
		case d.what == "answered":
			answered = d.at
		}
	}
	path := filepath.Join(t.TempDir(), "after.db")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	put := func(b []byte, at int) {
		if _, err := f.WriteAt(b, int64(at)); err != nil {
			t.Fatal(err)
		}
	}
	put(before, 0)
	for i, d := range deeds {
		switch {
		case d.what == "size" && (i < synced || chance.IntN(2) == 0):
			err = f.Truncate(int64(d.at))
		case d.what == "write" && i < synced:
			put(d.bytes, d.at)
		case d.what == "write":
			for from := 0; from < len(d.bytes); from += sector {
				if chance.IntN(2) == 0 {
					put(d.bytes[from:min(from+sector, len(d.bytes))], d.at+from)
				}
			}
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	defer func() { _ = os.Remove(path) }()
	if report, err := Check(path); err != nil || len(report.Problems)+len(report.Damaged) > 0 {
		return fmt.Sprintf("the check says %v %+v", err, report)
	}
	s, err := Open(path)
	if err != nil {
		return err.Error()
	}
	defer func() { _ = s.Close() }()
	for n := range uint64(answered) {
		want := storetest.Entry(2, n+1, strings.Repeat("x", int(n*n)*7))
		held, err := s.Get(storetest.Production, []logbook.Dot{want.Dot})
		if err != nil || len(held) != 1 || string(held[0].Bytes) != string(want.Bytes) {
			return fmt.Sprintf("edit %d of %d that were answered is not there: %v", n+1, answered, err)
		}
	}
	return ""
}
