package bolt

import "evenwhite/logbook"

// An index finds the edits of one log by dot, and knows which clashes are kept and
// where the log ends: what each exchange asks needs no transaction.
type index struct {
	head  logbook.Head
	leafs map[leafKey]*leaf
	held  logbook.Held
	aside map[twin]bool
	crowd logbook.Crowd        // of those
	lost  map[logbook.Seq]lost // rows that nobody is to read
	other []logbook.Damage     // of what was kept aside
	fault error                // why nothing of the log can be used
}

// A leaf has the sequences of 16 numbers of a line that run on; 0 where none is held.
// Nearly every line holds all its numbers, and those of several lines come in turn: a row for
// each stretch that came in a row would take four times as much.
type leaf [leafSize]uint32

const leafSize = 16

type leafKey struct {
	line logbook.Line
	n    uint64 // over leafSize
}

// A twin is a clash as far as it matters: the same bytes again are the same one.
type twin struct {
	dot  logbook.Dot
	hash logbook.Hash
}

func newIndex() *index {
	return &index{leafs: map[leafKey]*leaf{}, aside: map[twin]bool{}, crowd: logbook.Crowd{}, lost: map[logbook.Seq]lost{}}
}

func (x *index) find(d logbook.Dot) (logbook.Seq, bool) {
	l := x.leafs[leafKey{d.Line, d.N / leafSize}]
	if l == nil {
		return 0, false
	}
	seq := l[d.N%leafSize]
	return logbook.Seq(seq), seq > 0
}

// add notes a dot that is not held.
func (x *index) add(d logbook.Dot, seq logbook.Seq) {
	x.held.Add(d)
	key := leafKey{d.Line, d.N / leafSize}
	l := x.leafs[key]
	if l == nil {
		l = new(leaf)
		x.leafs[key] = l
	}
	l[d.N%leafSize] = uint32(seq)
}
