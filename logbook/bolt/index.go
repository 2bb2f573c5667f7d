package bolt

import (
	"slices"
	"sort"

	"evenwhite/logbook"
)

// An index finds the edits of one log by dot, and knows which clashes are kept and
// where the log ends: what each exchange asks needs no transaction.
type index struct {
	head  logbook.Head
	runs  map[logbook.Line][]run
	held  logbook.Ranges
	aside map[twin]bool
}

// A run is edits of one line whose numbers and sequences rise together by one.
type run struct {
	from, to uint64
	seq      logbook.Seq // of from
}

// A twin is a clash as far as it matters: the same bytes again are the same one.
type twin struct {
	dot  logbook.Dot
	hash logbook.Hash
}

func newIndex() *index {
	return &index{runs: map[logbook.Line][]run{}, held: logbook.Ranges{}, aside: map[twin]bool{}}
}

// place is the first run of a line that ends at n or later.
func place(runs []run, n uint64) int {
	return sort.Search(len(runs), func(i int) bool { return runs[i].to >= n })
}

func (x *index) find(d logbook.Dot) (logbook.Seq, bool) {
	runs := x.runs[d.Line]
	if i := place(runs, d.N); i < len(runs) && runs[i].from <= d.N {
		return runs[i].seq + logbook.Seq(d.N-runs[i].from), true
	}
	return 0, false
}

// add notes a dot that is not held.
func (x *index) add(d logbook.Dot, seq logbook.Seq) {
	x.held.Add(d)
	runs := x.runs[d.Line]
	i := place(runs, d.N)
	if i > 0 {
		if last := &runs[i-1]; last.to+1 == d.N && last.seq+logbook.Seq(d.N-last.from) == seq {
			last.to++
			return
		}
	}
	x.runs[d.Line] = slices.Insert(runs, i, run{d.N, d.N, seq})
}
