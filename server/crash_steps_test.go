package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"

	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
)

// What may come between a kill and the next start.
const (
	stepNothing = iota
	stepEarly   // the next start is killed as well
	stepRestore // the data are lost, and a backup takes their place
	stepDamage  // one byte of a row is flipped
)

// dealt are the steps of ten kills, in an order drawn by chance: each kind comes.
func dealt(chance *rand.Rand) []int {
	steps := []int{stepNothing, stepNothing, stepNothing, stepNothing, stepEarly, stepEarly, stepRestore, stepRestore, stepDamage, stepDamage}
	chance.Shuffle(len(steps), func(i, j int) { steps[i], steps[j] = steps[j], steps[i] })
	return steps
}

// backup has the running server write one, while devices push.
func (c *crash) backup() {
	c.t.Helper()
	file := filepath.Join(c.t.TempDir(), fmt.Sprintf("%d.backup", len(c.backups)))
	if out, err := exec.Command(c.program, "backup", "--data", c.folder, file).CombinedOutput(); err != nil {
		c.t.Errorf("no backup: %v: %s", err, out)
		return
	}
	c.backups = append(c.backups, file)
}

// restore puts any of the backups into the place of the data.
func (c *crash) restore(chance *rand.Rand) {
	c.t.Helper()
	backup := c.backups[chance.IntN(len(c.backups))]
	c.folder = filepath.Join(c.t.TempDir(), "restored")
	if out, err := exec.Command(c.program, "restore", "--admit", "all", "--data", c.folder, backup).CombinedOutput(); err != nil {
		c.t.Errorf("no restore: %v: %s", err, out)
	}
	report, err := bolt.Check(databaseOf(c.folder))
	if err != nil || !report.Whole() {
		c.t.Errorf("what was restored: %v, %+v", err, report)
	}
	c.restored++
	c.lacked += max(0, len(c.promised())-report.Edits)
}

// damage flips one bit of an acknowledged edit's row, wherever its bytes stand: pages that
// are free may hold them as well.
func (c *crash) damage(chance *rand.Rand) {
	c.t.Helper()
	path := databaseOf(c.folder)
	whole, err := os.ReadFile(path)
	if err != nil {
		c.t.Fatal(err)
	}
	promised := c.promised()
	dots := make([]logbook.Dot, 0, len(promised))
	for d := range promised {
		dots = append(dots, d)
	}
	slices.SortFunc(dots, func(a, b logbook.Dot) int {
		if a.Less(b) {
			return -1
		}
		return 1
	})
	edit := []byte(promised[dots[chance.IntN(len(dots))]])
	hit, bit := chance.IntN(len(edit)), byte(1)<<chance.IntN(8)
	for at := 0; ; at++ {
		next := bytes.Index(whole[at:], edit)
		if next < 0 {
			break
		}
		at += next
		whole[at+hit] ^= bit
	}
	if err := os.WriteFile(path, whole, 0o600); err != nil {
		c.t.Fatal(err)
	}
	report, err := bolt.Check(path)
	if err != nil || len(report.Problems) > 0 || len(report.Damaged) != 1 {
		c.t.Errorf("after a row was damaged: %v, %+v; want that one damaged row is listed", err, report)
	}
	c.damaged++
}

// quiet lets no device write any more and waits until each has given up on the server
// that was killed.
func (c *crash) quiet() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.budget = 0
	for c.waiting < len(c.devices) && !c.ended {
		c.changed.Wait()
	}
}

// bring lets each device exchange until nothing more moves. The devices must be quiet.
func (c *crash) bring() {
	c.t.Helper()
	for _, d := range c.devices {
		for more := true; more; {
			var err error
			if more, err = c.once(d, c.address()); err != nil {
				c.t.Errorf("after damage or a restore: %v", err)
				return
			}
		}
	}
}
