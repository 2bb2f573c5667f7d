package exchange

import (
	"maps"

	"evenwhite/logbook"
)

// What the tests of the exchange look at from outside.
const (
	TakenAtOnce  = takenAtOnce
	PassagesHeld = passagesHeld
)

// AllEdits are those that a device holds.
func (r *Replica) AllEdits() map[logbook.Dot]*logbook.Edit {
	all := map[logbook.Dot]*logbook.Edit{}
	for _, e := range r.Edits(false) {
		all[e.Dot] = e
	}
	return all
}

// HoldsCopy reports whether a device holds the very edit.
func (r *Replica) HoldsCopy(e *logbook.Edit) bool {
	return r.book.Held(e.Dot) && sameEdit(r.book.Edit(e.Dot), e)
}

// CountEdits counts those that a device holds.
func (r *Replica) CountEdits() (n int) {
	for _, s := range r.book.Holding().Spans(logbook.Dot{}) {
		n += int(s.To - s.From + 1)
	}
	return n
}

// Running is the last dot of the running line; zero where none runs.
func (r *Replica) Running() logbook.Dot { return logbook.Dot{Line: r.line, N: r.n} }

// RunAs goes on in the line of another, as a copy of a running program does.
func (r *Replica) RunAs(other *Replica) { r.line, r.n = other.line, other.n }

// TakeOver takes over what another knows of logs, as a start does.
func (r *Replica) TakeOver(other *Replica) {
	for id, k := range other.logs {
		own := *k
		own.holds, own.contested, own.aside = k.holds.Clone(), maps.Clone(k.contested), maps.Clone(k.aside)
		own.asked = nil
		r.logs[id] = &own
	}
}

// AtHand counts the passages at hand, those that are in order, and their bytes.
func (p *Peer) AtHand() (held, inOrder, size int) {
	return len(p.passages.held), len(p.passages.order), p.passages.size
}

// RowsBehind writes the rows of edits behind those of an answer.
func RowsBehind(before []byte, edits []*logbook.Edit, hashes []logbook.Hash) []byte {
	w := newRowsWriter(before, nil)
	for i, e := range edits {
		w.edit(e, hashes[i])
	}
	w.check()
	return w.out
}

// ReadUnchecked reads the edits of rows without the check behind them, which hardly
// any changed text would pass.
func ReadUnchecked(
	text string, production logbook.ID, held func([]logbook.Dot) (map[logbook.Dot]logbook.RecordRef, error),
) ([]*logbook.Edit, error) {
	r := newRowsReader(production, MaxPush)
	if err := r.readRows(text, func(string) bool { r.end(); return true }); err != nil {
		return nil, err
	}
	r.checks = nil
	return r.whole(held)
}
