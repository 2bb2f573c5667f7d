package main

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/bolt"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

var (
	crashKills = flag.Int("crash.kills", 0, "how many kills more than 10 the crash test makes")
	crashSeed  = flag.Uint64("crash.seed", 0, "what the crash test draws by chance; 0: another at each run")
	crashTime  = flag.Duration("crash.time", 0, "end the crash test after so long although kills are left")
)

// TestNothingAcknowledgedIsLostInACrash kills the real server, on a real file,
// without warning, while eight devices push to it over HTTP. After each kill the
// file must pass its check and every acknowledged edit must be there with its
// bytes; where a backup took its place, or a byte of a row was flipped, once the devices
// have exchanged. At the end all devices and the file must show the same.
func TestNothingAcknowledgedIsLostInACrash(t *testing.T) {
	seed := *crashSeed
	if seed == 0 {
		seed = rand.Uint64() >> 1
	}
	t.Logf("-crash.seed=%d", seed)
	chance := rand.New(rand.NewPCG(seed, 1))
	program, err := exec.LookPath("evenwhite") // this test's own binary: see TestMain
	if err != nil {
		t.Fatal(err)
	}
	c := &crash{t: t, program: program, folder: filepath.Join(t.TempDir(), "data"), acked: map[logbook.Dot]string{}}
	c.changed.L = &c.mu
	c.start()
	t.Cleanup(c.kill)
	c.admit(8, chance)

	var running sync.WaitGroup
	for _, d := range c.devices {
		running.Go(func() { c.work(d) })
	}
	begin := time.Now()
	kills, early, steps := 0, 0, []int(nil)
	for ; kills < 10+*crashKills && (*crashTime == 0 || time.Since(begin) < *crashTime) && !t.Failed(); kills++ {
		if len(steps) == 0 {
			steps = dealt(chance)
		}
		if steps[0] == stepEarly {
			early++
		}
		c.round(chance, steps[0])
		steps = steps[1:]
	}
	c.end()
	running.Wait()
	if t.Failed() {
		return
	}
	c.converge()
	t.Logf("%d kills, %d of them before the server was ready again; %d edits were acknowledged, %d exchanges were cut off; "+
		"%d restores of %d backups, which lacked %d edits; %d rows were damaged",
		kills, early, len(c.acked), c.cut, c.restored, len(c.backups), c.lacked, c.damaged)
}

// round lets the devices write, kills the server at a moment drawn by chance, looks at
// what it left, and starts it again. A step may come in between.
func (c *crash) round(chance *rand.Rand, step int) {
	budget := 20 + chance.IntN(logtest.AtLength(300, 100))
	target := c.grant(budget, 1+chance.IntN(budget*3/4))
	if len(c.backups) == 0 || chance.IntN(4) == 0 {
		c.backup()
	}
	c.awaitAcked(target)
	<-time.After(time.Duration(chance.IntN(5000)) * time.Microsecond)
	c.kill()
	c.check()
	switch step {
	case stepEarly:
		c.startHalf(time.Duration(chance.IntN(60)) * time.Millisecond)
		c.check()
	case stepRestore, stepDamage:
		c.quiet()
		if step == stepDamage {
			c.damage(chance)
		} else {
			c.restore(chance)
		}
		c.start()
		if step == stepRestore {
			c.renew()
		}
		c.bring()
		c.compare(c.promised())
		return
	}
	promised := c.promised()
	c.start()
	c.compare(promised)
}

// check reads the file that a kill left.
func (c *crash) check() {
	c.t.Helper()
	report, err := bolt.Check(databaseOf(c.folder))
	if err != nil || len(report.Problems)+len(report.Damaged) > 0 {
		c.t.Errorf("after a kill: %v, %+v", err, report)
	}
}

// compare pulls everything as a new device would and expects every promised edit.
func (c *crash) compare(promised map[logbook.Dot]string) {
	c.t.Helper()
	var request crashRequest
	for more := true; more; {
		a, err := c.devices[0].readable(c.address(), request)
		if err != nil {
			c.t.Errorf("a full pull: %v", err)
			return
		}
		for _, e := range a.Edits {
			if want, ok := promised[e.Dot]; ok {
				if got := bytesOf(e); got != want {
					c.t.Errorf("edit %s came back with other bytes", e.Dot)
				}
				delete(promised, e.Dot)
			}
		}
		request.Cursor, request.Run, more = a.Cursor, a.Run, a.More
	}
	for d := range promised {
		c.t.Errorf("the acknowledged edit %s is gone, and %d more", d, len(promised)-1)
		return
	}
}

// converge lets all exchange until three rounds move nothing, then kills the
// server once more and compares what each shows with what the file holds.
func (c *crash) converge() {
	c.t.Helper()
	for quiet, round := 0, 0; quiet < 3; round++ {
		if round > 60 {
			c.t.Fatal("the devices do not come to rest")
		}
		quiet++
		for _, d := range c.devices {
			for more := true; more; {
				before := d.held
				var err error
				if more, err = c.once(d, c.address()); err != nil {
					c.t.Fatal(err)
				}
				if d.held != before {
					quiet = 0
				}
			}
		}
	}
	c.compare(c.promised())
	c.kill()
	c.check()
	store, err := bolt.Open(databaseOf(c.folder))
	if err != nil {
		c.t.Fatal(err)
	}
	defer store.Close()
	l, err := logbook.OpenLog(store, c.production, kinds.Rules, drawLine)
	if err != nil {
		c.t.Fatal(err)
	}
	var want string
	l.Read(func(b *logbook.Book) { want = shownBy(b) })
	for i, d := range c.devices {
		if got := shownBy(d.replica.Book()); got != want {
			c.t.Errorf("device %d shows\n%s\nthe server's file shows\n%s", i, got, want)
		}
	}
}

// shownBy writes down what a book shows of what the devices wrote.
func shownBy(b *logbook.Book) string {
	out := ""
	for i := range kinds.Specs {
		for _, v := range b.AllRecords(kinds.Specs[i].Kind) {
			out += fmt.Sprintf("%s %s %s deleted %v\n", v.Kind, v.ID, v.ETag(), v.Deleted())
			for _, f := range v.Fields() {
				out += fmt.Sprintf("  %s=%s conflict %v, %d heads\n", f.Name, f.Shown.Value, f.Conflict, len(f.Heads))
			}
			out += fmt.Sprintf("  struck out here, changed there: %d\n", len(v.DeletionConflicts()))
		}
	}
	for _, r := range b.Refused() {
		out += fmt.Sprintf("refused %s: %s\n", r.Edit.Dot, r.Reason)
	}
	return out
}
