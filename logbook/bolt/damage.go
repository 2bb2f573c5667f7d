package bolt

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"maps"
	"slices"

	"evenwhite/logbook"

	"go.etcd.io/bbolt"
)

// A row whose bytes do not give its hash is not held: it is in no range, nobody
// reads it, and its edit is taken when a device brings it. It is then appended
// anew and not put where it stood: a device whose cursor has passed that place
// would never hear of it. What stands in its old place says so (encodeGone), and
// keeps the chain there, on which cursors rest.

// lost is a row that nobody is to read: damaged, or (why empty) the second of one edit.
type lost struct {
	logbook.Damage
	key  []byte // where it lies, if not under its sequence
	sure bool   // the dot is that of the edit that stood there
}

const notItsHash = "its bytes do not give its hash"

// farthest is how far one sequence may be from the next; beyond that it is its key
// that was hit.
const farthest = 1 << 12

// readIndex makes the index of one production's log, whatever it meets.
func readIndex(name []byte, log *bbolt.Bucket) *index {
	x := newIndex()
	copy(x.head.Identity[:], log.Get(identityKey))
	edits, clashes := log.Bucket(editsBucket), log.Bucket(clashesBucket)
	if edits == nil || clashes == nil {
		x.fault = fmt.Errorf("%w: a part of its log is missing", logbook.ErrDamaged)
		return x
	}
	own, foreign := 0, logbook.ID{}
	_ = edits.ForEach(func(key, value []byte) error {
		if r := x.read(edits, key, value); r == nil {
			return nil
		} else if of := productionIn(r); bytes.Equal(of[:], name) {
			own++
		} else {
			foreign = of
			dot, _ := logbook.DotOf(r) // it was read once
			x.forget(dot)
			x.lost[x.head.Seq] = lost{Damage: logbook.Damage{Seq: x.head.Seq, Why: fmt.Sprintf("it is of production %s", of)}}
		}
		return nil
	})
	if own == 0 && !foreign.IsZero() {
		x.fault = fmt.Errorf("%w: all its edits are of production %s", logbook.ErrDamaged, foreign)
	}
	_ = clashes.ForEach(func(_, value []byte) error {
		e, err := decodeClash(value)
		if err == nil {
			err = e.Verify()
		}
		if err != nil {
			x.other = append(x.other, logbook.Damage{Why: fmt.Sprintf("an edit that was kept aside cannot be read (%v)", err)})
			return nil
		}
		x.aside[twin{e.Dot, e.Hash}] = true
		x.crowd.Add(e)
		return nil
	})
	x.doubt()
	return x
}

func productionIn(edit []byte) (id logbook.ID) {
	copy(id[:], edit[min(1, len(edit)):])
	return id
}

// read notes one row of a log. It returns the bytes of an edit that is held.
func (x *index) read(edits *bbolt.Bucket, key, value []byte) []byte {
	next := x.head.Seq + 1
	seq := next
	if len(key) == 8 {
		seq = logbook.Seq(binary.BigEndian.Uint64(key))
	}
	if len(key) != 8 || seq > next+farthest {
		x.lost[seq] = lost{Damage: logbook.Damage{Seq: seq, Why: "its key cannot be right"}, key: bytes.Clone(key)}
		return nil
	}
	if _, known := x.lost[next]; seq > next && !known {
		x.lost[next] = lost{Damage: logbook.Damage{Seq: next, Why: fmt.Sprintf("nothing stands between it and sequence %d", seq)}}
	}
	x.head.Seq, x.head.Chain = seq, chainOf(value)
	if isGone(value) {
		return nil
	}
	r, err := wholeRow(value)
	var dot logbook.Dot
	if r.bytes != nil {
		var bad error
		dot, bad = logbook.DotOf(r.bytes)
		err = errors.Join(err, bad)
	}
	if err != nil {
		x.lost[seq] = lost{Damage: logbook.Damage{Seq: seq, Dot: dot, Why: notItsHash}}
		return nil
	}
	if earlier, ok := x.find(dot); ok {
		l := lost{Damage: logbook.Damage{Seq: seq, Dot: dot}}
		if first, err := rowOf(edits.Get(number(uint64(earlier)))); err != nil || !bytes.Equal(first.hash, r.hash) {
			l.Why = fmt.Sprintf("another edit stands under its dot at sequence %d", earlier)
		}
		x.lost[seq] = l
		return nil
	}
	x.add(dot, seq)
	return r.bytes
}

// doubt forgets the dots of damaged rows that may be damaged themselves: those of a
// line that is not known, and those that are held.
func (x *index) doubt() {
	known := func(line logbook.Line) bool {
		for at := range x.held.Spans(logbook.Dot{Line: line}) {
			return at == line
		}
		return false
	}
	for seq, l := range x.lost {
		if _, held := x.find(l.Dot); held || !known(l.Dot.Line) {
			l.Dot = logbook.Dot{}
			x.lost[seq] = l
		}
	}
}

// dots are those of the edits that are held at sequences.
func (x *index) dots(at map[logbook.Seq]bool) map[logbook.Seq]logbook.Dot {
	found := map[logbook.Seq]logbook.Dot{}
	for key, l := range x.leafs {
		for i, seq := range l {
			if seq > 0 && at[logbook.Seq(seq)] {
				found[logbook.Seq(seq)] = logbook.Dot{Line: key.line, N: key.n*leafSize + uint64(i)}
			}
		}
	}
	return found
}

// drop forgets the rows at sequences.
func (x *index) drop(seqs []logbook.Seq) {
	if len(seqs) == 0 {
		return
	}
	at := make(map[logbook.Seq]bool, len(seqs))
	for _, seq := range seqs {
		delete(x.lost, seq)
		at[seq] = true
	}
	for _, d := range x.dots(at) {
		x.forget(d)
	}
}

func (x *index) forget(d logbook.Dot) {
	x.leafs[leafKey{d.Line, d.N / leafSize}][d.N%leafSize] = 0
	x.held.Drop(d)
}

func (x *index) clone() *index {
	c := *x
	c.leafs, c.held, c.aside, c.lost = maps.Clone(x.leafs), *x.held.Clone(), maps.Clone(x.aside), maps.Clone(x.lost)
	for key, l := range c.leafs {
		copied := *l
		c.leafs[key] = &copied
	}
	return &c
}

// lose notes rows that turned out to be damaged while the store is open. Another
// index takes the place of the one that a commit may be reading.
func (s *Store) lose(production logbook.ID, rows []lost) {
	if len(rows) == 0 {
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	was := s.logs[production]
	if was == nil { // it was removed meanwhile
		return
	}
	x := was.clone()
	at := map[logbook.Seq]bool{}
	for _, l := range rows {
		at[l.Seq] = true
	}
	dots := x.dots(at)
	for _, l := range rows {
		if _, known := x.lost[l.Seq]; known {
			continue
		}
		if l.Dot, l.sure = dots[l.Seq]; l.sure {
			x.forget(l.Dot)
		}
		x.lost[l.Seq] = l
	}
	s.logs[production] = x
}

// index is that of a log as it is now.
func (s *Store) index(production logbook.ID) *index {
	s.mu.RLock()
	defer s.mu.RUnlock()
	return s.logs[production]
}

// Damaged implements logbook.Store.
func (s *Store) Damaged(production logbook.ID) (out []logbook.Damage, err error) {
	err = s.lookUp(production, func(x *index) { out = x.damage() })
	return out, err
}

// Lost counts the damaged rows of all logs.
func (s *Store) Lost() (n int) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	for _, x := range s.logs {
		n += len(x.damage())
	}
	return n
}

func (x *index) damage() (out []logbook.Damage) {
	for _, l := range x.lost {
		if l.Why != "" {
			out = append(out, l.Damage)
		}
	}
	slices.SortFunc(out, func(a, b logbook.Damage) int { return cmp.Compare(a.Seq, b.Seq) })
	return append(out, x.other...)
}

// mend clears the rows that were damaged and held an edit which is appended now.
// at is where the index had it, or 0; now, where it stands from now on.
func (a appending) mend(edits *bbolt.Bucket, e logbook.Entry, at, now logbook.Seq) error {
	var rows []lost
	if at > 0 && a.news.dots[e.Dot] == 0 {
		rows = append(rows, lost{Damage: logbook.Damage{Seq: at}})
	}
	for _, l := range a.held.lost {
		if !l.Page && l.Why != "" && !slices.Contains(a.news.left, l.Seq) && (l.sure && l.Dot == e.Dot || a.was(edits, l, e)) {
			rows = append(rows, l)
		}
	}
	for _, l := range rows {
		var err error
		if l.key != nil {
			err = edits.Delete(l.key)
		} else {
			key := number(uint64(l.Seq))
			err = edits.Put(key, encodeGone(chainOf(edits.Get(key)), now))
		}
		if err != nil {
			return err
		}
		a.news.left = append(a.news.left, l.Seq)
	}
	return nil
}

// was reports whether a damaged row held an edit: by what is left of it, or by the
// chain before and behind it.
func (a appending) was(edits *bbolt.Bucket, l lost, e logbook.Entry) bool {
	key := l.key
	if key == nil {
		key = number(uint64(l.Seq))
	}
	var before logbook.Chain
	if l.Seq > 1 {
		before = chainOf(edits.Get(number(uint64(l.Seq) - 1)))
	}
	chain, left := before.Next(e.Hash), edits.Get(key)
	if bytes.HasSuffix(left, e.Bytes) || bytes.Contains(left, e.Hash[:]) || bytes.Contains(left, chain[:]) {
		return true
	}
	behind, err := rowOf(edits.Get(number(uint64(l.Seq) + 1)))
	return err == nil && logbook.Chain(behind.chain) == chain.Next(logbook.Hash(behind.hash))
}
