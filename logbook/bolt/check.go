package bolt

import (
	"errors"
	"fmt"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
)

// A Report says what a check found. No problems: every page, every hash and the
// chain agree.
type Report struct {
	Productions int
	Edits       int
	Clashes     int
	Asides      int // edits outside the logs that wait for an owner, or stay there
	// Missing counts the edits that others name as seen and that are not here: no
	// damage, for they may come yet.
	Missing  int
	Problems []string // what is wrong and what to do
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
		return logs.ForEachBucket(func(name []byte) error {
			report.Productions++
			c := logCheck{&report, newIndex(), map[logbook.Dot]bool{}, name, logs.Bucket(name)}
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
	named  map[logbook.Dot]bool // by an edit that came before them
	name   []byte
	log    *bbolt.Bucket
}

func (c logCheck) problem(format string, args ...any) {
	c.report.problem("production %s: %s: %s", productionName(c.name), fmt.Sprintf(format, args...), adviseBackup)
}

func productionName(name []byte) string {
	if len(name) != len(logbook.ID{}) {
		return fmt.Sprintf("%x", name)
	}
	return logbook.ID(name).String()
}

func (c logCheck) all() {
	edits, clashes := c.log.Bucket(editsBucket), c.log.Bucket(clashesBucket)
	if edits == nil || clashes == nil || len(c.log.Get(identityKey)) != 8 || len(c.name) != len(logbook.ID{}) {
		c.problem("a part of its log is missing")
		return
	}
	var chain logbook.Chain
	next := logbook.Seq(1)
	_ = edits.ForEach(func(key, value []byte) error {
		s, err := decodeStored(key, value)
		if err != nil {
			c.problem("the edit after sequence %d cannot be read (%v)", next-1, err)
			return err
		}
		chain = chain.Next(s.Hash)
		c.edit(s, next, chain)
		chain = s.Chain // a broken link is reported once
		next = s.Seq + 1
		c.report.Edits++
		return nil
	})
	c.report.Missing += len(c.named)
	_ = clashes.ForEach(func(_, value []byte) error {
		c.clash(value)
		c.report.Clashes++
		return nil
	})
	_ = eachAside(c.log, func(_ logbook.Aside, damaged error) {
		c.report.Asides++
		if damaged != nil {
			c.problem("an edit that is kept outside the log cannot be read (%v)", damaged)
		}
	})
}

// edit compares an edit with its hash, its place and its own words.
func (c logCheck) edit(s logbook.Stored, want logbook.Seq, chain logbook.Chain) {
	if s.Seq != want {
		c.problem("sequence %d follows %d", s.Seq, want-1)
	}
	if earlier, ok := c.held.find(s.Dot); ok {
		c.problem("edit %s stands at sequence %d and again at %d", s.Dot, earlier, s.Seq)
	} else {
		c.held.add(s.Dot, s.Seq)
		delete(c.named, s.Dot)
	}
	e, err := logbook.DecodeEdit(s.Bytes)
	switch {
	case logbook.HashOf(s.Bytes) != s.Hash:
		c.problem("edit %s at sequence %d is not what was stored", s.Dot, s.Seq)
	case s.Chain != chain:
		c.problem("the chain breaks at sequence %d", s.Seq)
	case err != nil:
		c.problem("sequence %d: %v", s.Seq, err)
	case e.Production != logbook.ID(c.name):
		c.problem("edit %s at sequence %d is of production %s", s.Dot, s.Seq, e.Production)
	default:
		c.names(e)
	}
}

// names notes which edits an edit names that are not here yet.
func (c logCheck) names(e *logbook.Edit) {
	for i := range e.Set {
		for _, d := range e.Set[i].Over {
			if _, ok := c.held.find(d); !ok {
				c.named[d] = true
			}
		}
	}
}

// clash looks at an entry that was kept aside: its dot is held, with other bytes.
func (c logCheck) clash(value []byte) {
	e, err := decodeClash(value)
	if err == nil {
		err = e.Verify()
	}
	if err != nil {
		c.problem("an entry that was kept aside cannot be read (%v)", err)
		return
	}
	seq, ok := c.held.find(e.Dot)
	if !ok {
		c.problem("an entry was kept aside for edit %s, which is not there", e.Dot)
		return
	}
	held, err := rowOf(c.log.Bucket(editsBucket).Get(number(uint64(seq))))
	if err != nil || logbook.Hash(held.hash) == e.Hash {
		c.problem("the entry kept aside for edit %s is that edit", e.Dot)
	}
}
