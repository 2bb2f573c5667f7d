package bolt

import (
	"errors"
	"fmt"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
)

// A Report says what a check found. Neither problems nor damage: every page, every
// hash and the chain agree, where nothing is remarked either.
type Report struct {
	Productions int
	Edits       int
	Clashes     int
	Asides      int // edits outside the logs that wait for an owner, or stay there
	// Missing counts the edits that others name as seen and that are not here: no
	// damage, for they may come yet.
	Missing  int
	Damaged  []RowDamage         // edits that are not held and without which the rest is served
	Removed  []logbook.KeptValue // the marks of productions that were removed
	Remarks  []string            // what is not as it was written and costs no edit
	Problems []string            // what keeps a production, or the store, from being served; and what to do
}

// Whole reports whether nothing at all was found.
func (r Report) Whole() bool { return len(r.Problems)+len(r.Damaged)+len(r.Remarks) == 0 }

// RowDamage is a damaged row of a production.
type RowDamage struct {
	Production logbook.ID
	logbook.Damage
}

func (d RowDamage) String() string {
	place, dot := "", ""
	if d.Seq > 0 {
		place = fmt.Sprintf(" at sequence %d", d.Seq)
	}
	if !d.Dot.IsZero() {
		dot = fmt.Sprintf(" (edit %s)", d.Dot)
	}
	return fmt.Sprintf("production %s%s%s: %s", d.Production, place, dot, d.Why)
}

// mostProblems bounds a report; the first ones say enough.
const mostProblems = 50

func (r *Report) problem(format string, args ...any) {
	if len(r.Problems) < mostProblems {
		r.Problems = append(r.Problems, fmt.Sprintf(format, args...))
	}
}

// Advice on problems.
const (
	adviseBackup = "keep the file, restore the latest backup into another folder, and let the phones bring what came after"
	adviseTorn   = "start the server and let every phone exchange once"
)

// Check reads a store file without changing it. An error means that it could not
// be read at all, or that another process holds it. When an edit came and who
// brought it are notes that no hash covers.
func Check(path string) (report Report, err error) {
	db, torn, err := openWhole(path)
	if err != nil {
		return Report{}, err
	}
	defer func() { err = errors.Join(err, db.Close()) }()
	if torn {
		report.problem("one of the two head pages cannot be read, so that the last commit may be missing: %s", adviseTorn)
	}
	defer func() {
		if fault := recover(); fault != nil {
			report.problem("a page cannot be read: %v: %s", fault, adviseBackup)
		}
	}()
	err = db.View(func(tx *bbolt.Tx) error {
		if !torn { // bbolt's own check ends at a head that is torn; verifyPages went on
			for fault := range tx.Check() {
				report.problem("pages: %v: %s", fault, adviseBackup)
			}
		}
		at, err := layoutOf(tx)
		if err != nil {
			return err
		}
		if at < oldest || at > layout {
			return fmt.Errorf("%w: it has layout %d, this version checks %d to %d: use the version that wrote it, or a newer one",
				ErrLayout, at, oldest, layout)
		}
		logs := tx.Bucket(logsBucket)
		if logs == nil || tx.Bucket(keptBucket) == nil {
			report.problem("a part of the store is missing: %s", adviseBackup)
			return nil
		}
		report.Removed = keptUnder(tx, logbook.RemovedUnder)
		return logs.ForEachBucket(func(name []byte) error {
			report.Productions++
			c := logCheck{&report, nil, map[logbook.Dot]bool{}, name, logs.Bucket(name)}
			c.all()
			return nil
		})
	})
	if err != nil {
		return report, fmt.Errorf("%s: %w", path, err)
	}
	return report, nil
}

// logCheck is the check of one production's log.
type logCheck struct {
	report *Report
	held   *index
	named  map[logbook.Dot]bool // by edits that are here
	name   []byte
	log    *bbolt.Bucket
}

func (c logCheck) problem(format string, args ...any) {
	c.report.problem("production %s: %s: %s", productionName(c.name), fmt.Sprintf(format, args...), adviseBackup)
}

func (c logCheck) remark(seq logbook.Seq, what string) {
	if len(c.report.Remarks) < mostProblems {
		c.report.Remarks = append(c.report.Remarks, RowDamage{logbook.ID(c.name), logbook.Damage{Seq: seq, Why: what}}.String())
	}
}

func productionName(name []byte) string {
	if len(name) != len(logbook.ID{}) {
		return fmt.Sprintf("%x", name)
	}
	return logbook.ID(name).String()
}

func (c logCheck) all() {
	if len(c.log.Get(identityKey)) != 8 || len(c.name) != len(logbook.ID{}) {
		c.problem("a part of its log is missing")
		return
	}
	if c.held = readIndex(c.name, c.log); c.held.fault != nil {
		c.problem("%v", c.held.fault)
		return
	}
	for _, d := range c.held.damage() {
		c.report.Damaged = append(c.report.Damaged, RowDamage{logbook.ID(c.name), d})
	}
	before, sure := logbook.Chain{}, true
	_ = c.log.Bucket(editsBucket).ForEach(func(key, value []byte) error {
		s, err := decodeStored(key, value)
		_, lost := c.held.lost[s.Seq]
		if err != nil || lost {
			before, sure = chainOf(value), false
			return nil
		}
		if sure && before.Next(s.Hash) != s.Chain { // a broken link is reported once
			c.remark(s.Seq, "the chain breaks there; the edit is whole")
		}
		c.edit(s)
		before, sure = s.Chain, true
		return nil
	})
	for d := range c.named {
		if !c.held.held.Has(d) {
			c.report.Missing++
		}
	}
	_ = c.log.Bucket(clashesBucket).ForEach(func(_, value []byte) error {
		if e, err := decodeClash(value); err == nil && e.Verify() == nil {
			c.clash(e)
		}
		c.report.Clashes++
		return nil
	})
	_ = eachAside(c.log, func(_ logbook.Aside, damaged error) {
		c.report.Asides++
		if damaged != nil {
			c.remark(0, fmt.Sprintf("an edit that is kept outside the log cannot be read (%v)", damaged))
		}
	})
}

// edit looks at an edit that is held: its hash is its own.
func (c logCheck) edit(s logbook.Stored) {
	c.report.Edits++
	e, err := logbook.DecodeEdit(s.Bytes)
	if err != nil {
		c.remark(s.Seq, fmt.Sprintf("this version cannot read edit %s (%v)", s.Dot, err))
		return
	}
	for d := range e.Names {
		c.named[d] = true
	}
}

// clash looks at an entry that was kept aside: its dot is held, with other bytes, or
// damaged.
func (c logCheck) clash(e logbook.Entry) {
	seq, ok := c.held.find(e.Dot)
	if !ok {
		if len(c.held.lost) == 0 {
			c.problem("an entry was kept aside for edit %s, which is not there", e.Dot)
		}
		return
	}
	held, err := rowOf(c.log.Bucket(editsBucket).Get(number(uint64(seq))))
	if err != nil || logbook.Hash(held.hash) == e.Hash {
		c.remark(seq, "what was kept aside for its edit is that edit")
	}
}
