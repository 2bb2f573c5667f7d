//go:build mutants

package days_test

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

var mutantTable = flags.String("mutant.table", "", "write which law noticed each rule that was switched off into this file")

// A mutant is a rule of time switched off alone: in one file, source text that stands there
// once, and what stands there instead; and the law that must notice it.
type mutant struct {
	rule string // as it reads when it is broken
	law  string
	file string // in logbook
	from string
	to   string
}

var mutants = []mutant{
	// Which reading speaks.
	{"a reading in another state speaks of a light", "stated twice", "lighting/course.go",
		`if pass(c.readings[i]) && c.states[i].same(state, c.level) {`, `if pass(c.readings[i]) {`},
	{"a change that nobody typed leaves the readings before it standing", "stated twice", "lighting/course.go",
		`return Change{m, before, d, i}, limits.TimesLimit(d) > 2`, `return Change{m, before, d, i}, false`},
	{"the first reading after a clip speaks however late it came", "stated twice", "lighting/course.go",
		`if m.TakenAt-at > c.remeasure {`, `if false {`},
	{"the sky is no line between two readings", "stated twice", "lighting/course.go",
		`if c.sky == nil || m.TakenAt == at {`, `if c != nil {`},

	// What comes later.
	{"a light is judged by the state that it has today", "the past stays", "lighting/course.go",
		`state, first := c.StateAt(at), c.from(at)`, `state, first := c.StateAt(logbook.Ever), c.from(at)`},
	{"what nobody typed ends readings for earlier clips too", "the past stays", "lighting/course.go",
		`if change.Reading.TakenAt <= at {`, `if true {`},
	{"without a white a clip is judged by the light at the end", "the past stays", "setup/read.go",
		`if p.White.Known() || moment == s.upTo {`, `if true {`},
	{"a finding that lists takes says the number of now", "findings keep their time", "deviation/joined.go",
		`taken && !worstTaken || taken == worstTaken && f.Value`, `(taken || !taken || worstTaken) && f.Value`},
	{"a set-up that is wrapped goes on", "what is wrapped stays", "setup/read.go",
		`if at, wrapped := s.wrap(); wrapped {`, `if at, wrapped := s.wrap(); wrapped && at < 0 {`},
	{"the picture shows a set-up as it is now", "one picture", "glance/plane.go",
		`setup.NewReader(b).ReadToWrap(view, now)`, `setup.NewReader(b).Read(view, now)`},

	{"an old clip has no correction", "no time but its own", "advice/correction.go",
		`clip logbook.ID, _ logbook.Millis) (ClipCorrections, error) {`,
		`clip logbook.ID, now logbook.Millis) (ClipCorrections, error) {
	if v, ok := b.Record(clip); ok && now-v.CreatedAt() > 100*24*60*60*1000 {
		return ClipCorrections{}, figure.ErrUnknown
	}`},
	{"a row does not say that a card was shot after the clip", "the past stays", "colorlog/meant.go",
		`Caveats: c.CardCaveats,`, ``},
	{"a reading is as old at a take as it is now", "findings keep their time", "deviation/light.go",
		`name, moment := light.Text("name"), min(at.At, s.Now())`, `name, moment := light.Text("name"), s.Now()`},
	{"settings are compared with those of later clips", "the past stays", "deviation/camera.go",
		`for _, sh := range shots {
		k := reachKey{sh.camera.ID, sh.body.ID, sh.period.White.ID}
		u := usual[k]`, `for _, sh := range shots {
		k := reachKey{sh.camera.ID, sh.body.ID, sh.period.White.ID}
		u := shots[len(shots)-1]`},

	// One truth, and quiet.
	{"a correction takes the white for the light", "one truth", "advice/correction.go",
		`if c.light = light.Color; c.light`, `if c.light = c.s.PeriodOf(c.clip).Reference; c.light`},
	{"what can't be told is an alarm", "quiet", "figure/judged.go",
		`		} else {
			j.Verdict = CantTell
		}`, `		}`},
	{"a light that a camera tells is certain, whatever is not known of it", "quiet", "cameras/error.go",
		`e.assume(all)`, ``},

	// Whites.
	{"what was entered after a white without a list counts", "frozen", "setup/white_rule.go",
		`white.Ref("setUp"), white.CreatedAt(), white.CreatedAt()}`, `white.Ref("setUp"), logbook.Ever >> 1, logbook.Ever >> 1}`},
	{"the list of a white is not read", "frozen", "setup/white_rests.go",
		`if c.entered == logbook.Ever {
		return m
	}`, `if c.entered != 0 {
		return m
	}`},
	{"nobody is told that what a white rests on was struck out", "frozen", "setup/white_rests.go",
		`how = " that was struck out"`, `how = ""`},
	{"the history of a record is read as it came in", "order", "view.go",
		`sort.Slice(all, func(i, j int) bool { return Before(all[i], all[j]) })`, `sort.Slice(all, func(i, j int) bool { return false })`},
}

// TestEachMutantFitsItsSource costs next to nothing: a rule that moves takes its row along.
func TestEachMutantFitsItsSource(t *testing.T) {
	for _, m := range mutants {
		t.Run(m.rule, func(t *testing.T) { m.lay(t) })
	}
}

func (m mutant) lay(t *testing.T) string {
	t.Helper()
	return overlay.Lay(t, filepath.Join("..", filepath.FromSlash(m.file)), overlay.Swap{From: m.from, To: m.to})
}

// TestMutants builds the tests of this room once for each mutant, with the changed file laid
// over the real one, and expects the law to fail. Without a mutant every law must hold.
func TestMutants(t *testing.T) {
	if failed, out := runLaw(overlay.Build(t, "", "."), ""); failed {
		t.Fatalf("a law is broken with no rule switched off:\n%s", out)
	}
	var table strings.Builder
	for _, m := range mutants {
		t.Run(m.rule, func(t *testing.T) {
			failed, out := runLaw(overlay.Build(t, m.lay(t), "."), m.law)
			if !failed {
				t.Fatalf("the law %q does not notice it", m.law)
			}
			left := cutDown.FindStringSubmatch(out)
			if left == nil {
				t.Fatalf("it fails in another way: %s", out)
			}
			t.Logf("%s", out[strings.Index(out, "cut down to"):])
			fmt.Fprintf(&table, "| %s | %s | %s |\n", m.rule, m.law, left[1])
		})
	}
	if rows := strings.Count(table.String(), "\n"); *mutantTable != "" && rows == len(mutants) { // with all noticed
		if err := os.WriteFile(*mutantTable, fmt.Appendf(nil, tableText, time.Now().Format(time.DateOnly), rows, &table), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

const tableText = `# Each rule of time switched off alone

Made on %s by ` + "`make mutants TABLE=logbook/MUTANTS.md`" + `; do not edit it. Each of these %d rules was
switched off alone, by a patch of its source in an overlay (` + "`mutants_test.go`" + `), and the law named
did not hold on days drawn by chance. "Events left" is how short the day was after it was cut down.

| broken rule | noticed by the law | events left |
|---|---|---|
%s`

var cutDown = regexp.MustCompile(`cut down to (\d+) events`)

// runLaw draws days under one law, or under all. Running out of time is not a failure that
// says anything.
func runLaw(program, law string) (failed bool, out string) {
	const tests = "^(TestDaysKeepTheLaws|TestQuietDays)$"
	run := exec.Command(program, "-test.run", tests, "-test.timeout", "10m", "-days.law", law, "-days.seed", "1")
	b, err := run.CombinedOutput()
	out = string(b)
	return err != nil && strings.Contains(out, "--- FAIL") && !strings.Contains(out, "panic: test timed out"), out
}
