package main

import (
	"bufio"
	"io"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
)

var backupWritten = regexp.MustCompile(`msg="a backup is written and whole" file=(\S+)`)

// The way round: a server backs itself up while devices write, is killed and lost,
// and an older backup of it, from the second folder, is restored elsewhere. The
// devices then bring what came after.
func TestAnAutomaticBackupIsRestoredAndRefilled(t *testing.T) {
	program, err := exec.LookPath("evenwhite") // this test's own binary: see TestMain
	if err != nil {
		t.Fatal(err)
	}
	card := t.TempDir()
	read, write := io.Pipe()
	c := &crash{t: t, program: program, folder: filepath.Join(t.TempDir(), "data"), acked: map[logbook.Dot]string{},
		options: []string{"--backup-every", "1s", "--backup-to", card}, stderr: write}
	c.changed.L = &c.mu
	t.Cleanup(c.kill)
	files := make(chan string, 1000)
	go func() {
		for lines := bufio.NewScanner(read); lines.Scan(); {
			if found := backupWritten.FindStringSubmatch(lines.Text()); found != nil {
				files <- found[1]
			}
		}
	}()
	c.start()
	c.admit(3, rand.New(rand.NewPCG(1, 1)))
	c.writeEach(20)
	before := len(c.acked)
	backup := ""
	for edits := 0; edits < before; {
		if backup = <-files; !strings.HasPrefix(backup, card) {
			continue
		}
		report, err := bolt.Check(backup)
		if err != nil || len(report.Problems) > 0 {
			t.Fatalf("%s: %v %v", backup, err, report.Problems)
		}
		edits = report.Edits
	}
	c.writeEach(10)
	if len(c.acked) != before+30 {
		t.Fatalf("%d edits are acknowledged, want %d", len(c.acked), before+30)
	}
	c.kill()
	c.folder, c.options = filepath.Join(t.TempDir(), "restored"), nil
	if out, err := exec.Command(program, "restore", "--admit", "all", "--data", c.folder, backup).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	if report, err := bolt.Check(databaseOf(c.folder)); err != nil || report.Edits >= before+30 {
		t.Fatalf("the restored folder holds %d edits (%v); the test is to lack some of %d", report.Edits, err, before+30)
	}
	c.start()
	c.renew()
	c.converge()
}

// writeEach lets every device write and exchange until it has all.
func (c *crash) writeEach(n int) {
	c.t.Helper()
	for _, d := range c.devices {
		for range n {
			d.write()
		}
		for more := true; more; {
			var err error
			if more, err = c.once(d, c.address()); err != nil {
				c.t.Fatal(err)
			}
		}
	}
}
