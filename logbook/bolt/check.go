package bolt

import (
	"bytes"
	"fmt"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
)

// A Report says what a check found. No problems: every page, every hash, the
// chain and the index agree.
type Report struct {
	Productions int
	Edits       int
	Clashes     int
	Problems    []string
}

// mostProblems bounds a report; the first ones tell the story.
const mostProblems = 50

func (r *Report) problem(format string, args ...any) {
	if len(r.Problems) < mostProblems {
		r.Problems = append(r.Problems, fmt.Sprintf(format, args...))
	}
}

// Check reads a store file without changing it. An error means that it could not
// be read at all, or that another process holds it.
func Check(path string) (report Report, err error) {
	db, err := openFile(path, true)
	if err != nil {
		return Report{}, err
	}
	defer db.Close()
	defer func() {
		if fault := recover(); fault != nil {
			report.problem("a page cannot be read: %v", fault)
		}
	}()
	err = db.View(func(tx *bbolt.Tx) error {
		for fault := range tx.Check() {
			report.problem("pages: %v", fault)
		}
		if len(report.Problems) > 0 {
			return nil // what hangs on broken pages says nothing more
		}
		at, err := layoutOf(tx)
		if err != nil {
			return err
		}
		if at != layout {
			return fmt.Errorf("%w: it has layout %d, this version checks %d", ErrLayout, at, layout)
		}
		logs := tx.Bucket(logsBucket)
		return logs.ForEachBucket(func(name []byte) error {
			report.Productions++
			report.checkLog(logbook.ID(name), logs.Bucket(name))
			return nil
		})
	})
	if err != nil {
		return report, fmt.Errorf("%s: %w", path, err)
	}
	return report, nil
}

func (r *Report) checkLog(production logbook.ID, log *bbolt.Bucket) {
	edits, dots, clashes := log.Bucket(editsBucket), log.Bucket(dotsBucket), log.Bucket(clashesBucket)
	if edits == nil || dots == nil || clashes == nil || len(log.Get(identityKey)) != 8 {
		r.problem("production %s: a part of its log is missing", production)
		return
	}
	var chain logbook.Chain
	next := logbook.Seq(1)
	c := edits.Cursor()
	for key, value := c.First(); key != nil; key, value = c.Next() {
		s, err := decodeStored(key, value)
		if err != nil {
			r.problem("production %s, sequence %d: %v", production, next, err)
			return
		}
		chain = r.checkEdit(production, s, next, chain)
		if held := dots.Get(dotKey(s.Dot)); !bytes.Equal(held, key) {
			r.problem("production %s, sequence %d: the index does not lead to edit %s", production, s.Seq, s.Dot)
		}
		next = s.Seq + 1
		r.Edits++
	}
	if have := dots.Stats().KeyN; have != int(next-1) {
		r.problem("production %s: the index has %d rows for %d edits", production, have, next-1)
	}
	r.Clashes += clashes.Stats().KeyN
}

// checkEdit compares an edit with its hash, its place and its own words, and
// returns the chain after it.
func (r *Report) checkEdit(production logbook.ID, s logbook.Stored, want logbook.Seq, chain logbook.Chain) logbook.Chain {
	chain = chain.Next(s.Hash)
	switch e, err := logbook.DecodeEdit(s.Bytes); {
	case s.Seq != want:
		r.problem("production %s: sequence %d follows %d", production, s.Seq, want-1)
	case logbook.HashOf(s.Bytes) != s.Hash:
		r.problem("production %s, sequence %d: the edit %s is not what was stored", production, s.Seq, s.Dot)
	case s.Chain != chain:
		r.problem("production %s, sequence %d: the chain is broken", production, s.Seq)
	case err != nil:
		r.problem("production %s, sequence %d: %v", production, s.Seq, err)
	case e.Production != production:
		r.problem("production %s, sequence %d: the edit %s is of production %s", production, s.Seq, s.Dot, e.Production)
	}
	return chain
}
