package exchange_test

import (
	"bufio"
	flags "flag"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"
)

var (
	simWrite   = flags.String("sim.write", "", "write seeds and digests of schedules into this file, for another build to compare")
	simCompare = flags.String("sim.compare", "", "run the schedules of this file and compare their digests")
	simAlike   = flags.Int("sim.alike", 150, "how many schedules to write")
)

// TestSchedulesAlikeInEveryBuild: the server and the engine of a phone are two
// builds of the same code, on different machines. The same schedule must lead both
// to the same, bit for bit.
func TestSchedulesAlikeInEveryBuild(t *testing.T) {
	switch {
	case *simWrite != "":
		writeDigests(t, *simWrite)
	case *simCompare != "":
		compareDigests(t, *simCompare)
	default:
		t.Skip("one build has nothing to be compared with: make test compares two")
	}
}

func writeDigests(t *testing.T, name string) {
	first := *simFrom
	if first == 0 {
		first = rand.Uint64() >> 1
	}
	var out strings.Builder
	for n := range *simAlike {
		seed := first + uint64(n)
		r := run(drawSchedule(seed))
		if r.err != nil {
			t.Fatalf("seed %d: %v", seed, r.err)
		}
		fmt.Fprintf(&out, "%d %s\n", seed, r.digest)
	}
	if err := os.WriteFile(name, []byte(out.String()), 0o600); err != nil {
		t.Fatal(err)
	}
}

func compareDigests(t *testing.T, name string) {
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	seeds, different := 0, 0
	var first, seed uint64
	for lines := bufio.NewScanner(f); lines.Scan(); seeds++ {
		var want string
		if _, err := fmt.Sscan(lines.Text(), &seed, &want); err != nil {
			t.Fatalf("%q: %v", lines.Text(), err)
		}
		if seeds == 0 {
			first = seed
		}
		if r := run(drawSchedule(seed)); r.err != nil || r.digest != want {
			different++
			t.Errorf("seed %d: got digest %s (%v), the other build %s", seed, r.digest, r.err, want)
		}
	}
	if seeds == 0 {
		t.Fatalf("%s holds no digests", name)
	}
	t.Logf("%d schedules, seeds %d to %d, in two builds: %d led to different states", seeds, first, seed, different)
}
