//go:build mutants

package logbook_test

import (
	flags "flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook/overlay"
)

var (
	mutantRuns  = flags.Int("mutant.runs", 3000, "how many schedules of faults a mutant must survive to count as unnoticed")
	mutantTable = flags.String("mutant.table", "", "write what failed for each rule into this file")
)

// A mutant is a rule of the merge or the exchange switched off alone: in one file,
// source text that stands there once, and what stands there instead.
type mutant struct {
	rule  string // as it reads when it is broken
	file  place
	swaps []swap
	by    place // the test that must fail
}

type swap struct{ From, To string }

// A place is a file or a test, by the folder in which it stands.
type place struct{ room, name string }

// TestEachMutantFitsItsSource costs next to nothing: a rule that moves takes its row along.
func TestEachMutantFitsItsSource(t *testing.T) {
	for _, m := range mutants {
		t.Run(m.rule, func(t *testing.T) { m.lay(t) })
	}
}

// TestMutants builds the tests of a room once for each mutant, with the changed file
// laid over the real one, and expects the named test to fail.
func TestMutants(t *testing.T) {
	var table strings.Builder
	for _, m := range mutants {
		t.Run(m.rule, func(t *testing.T) {
			laid := m.lay(t)
			failed, out := runMutant(overlay.Build(t, laid, "../"+m.by.room), m.by)
			if !failed {
				t.Fatalf("%s does not notice it: %s", m.by.name, out)
			}
			how := firstWords.FindString(firstSeed.ReplaceAllString(out, ""))
			left := ""
			if found := cutDown.FindStringSubmatch(out); found != nil {
				left = found[1]
			}
			t.Logf("%s: %s\n%s", m.by.name, how, out[max(0, strings.Index(out, "cut down to")):])
			fmt.Fprintf(&table, "| %s | `%s` | %s |\n", m.rule, m.by.name, left)
		})
	}
	if rows := strings.Count(table.String(), "\n"); *mutantTable != "" && rows == len(mutants) { // with all noticed
		if err := os.WriteFile(*mutantTable, fmt.Appendf(nil, tableText, time.Now().Format(time.DateOnly), rows, &table), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// tableText is what stands in the file of the table.
const tableText = `# Each rule switched off alone

Made on %s by ` + "`make mutants TABLE=logbook/MUTANTS.md`" + `; do not edit it. Each of the %d rules of the
merge and the exchange was switched off alone, by a patch of its source in an overlay
(` + "`mutants_test.go`" + `), and the named test failed.

"Steps left" is how short the failing schedule of faults was after it was cut down; other
tests than the schedules have none.

| broken rule | noticed by | steps left |
|---|---|---|
%s`

func (m mutant) lay(t *testing.T) (laid string) {
	t.Helper()
	var swaps []overlay.Swap
	for _, s := range m.swaps {
		swaps = append(swaps, overlay.Swap(s))
	}
	return overlay.Lay(t, filepath.Join("..", m.file.room, m.file.name), swaps...)
}

// firstWords are the first that a failing test says; cutDown is how many steps the
// schedule then has; firstSeed is what the schedules say at their beginning.
var (
	firstWords = regexp.MustCompile(`(?m)(schedule \d+, seed \d+: .{0,120}|panic: .{0,120}|\w+_test\.go:\d+: .{0,120})`)
	cutDown    = regexp.MustCompile(`cut down to (\d+) steps`)
	firstSeed  = regexp.MustCompile(`.*schedules from seed.*|.*-crash\.seed=.*`)
)

// runMutant runs one test of a mutant. Running out of time is not a failure that
// says anything.
func runMutant(program string, test place) (failed bool, out string) {
	args := []string{"-test.run", "^" + test.name + "$", "-test.timeout", "5m"}
	switch test {
	case schedules:
		args = append(args, "-sim.runs", fmt.Sprint(*mutantRuns))
	case crashes:
		args = append(args, "-crash.kills", "190")
	}
	run := exec.Command(program, args...)
	run.Dir = filepath.Join("..", test.room)
	b, err := run.CombinedOutput()
	out = string(b)
	return err != nil && strings.Contains(out, "--- FAIL: "+test.name) && !strings.Contains(out, "panic: test timed out"), out
}
