package logbook

import "sync"

// A Keeper is what a room above keeps of the records of a book, so that an answer about
// all of them costs what changed since it was asked for last.
type Keeper interface {
	// Change is told of a record that may read otherwise than when it was told of it last,
	// or that is new: one that an edit set, that has other twins, or another kind under its
	// id. The view is of the record apart. What refers to a record is not told of.
	Change(apart View)
}

// keptOf holds the keepers of a book. They are brought up to date by whoever asks, so that
// a push waits for none of them: readers that ask at once take turns.
type keptOf struct {
	mu  sync.Mutex
	all map[string]*kept
}

type kept struct {
	keeper  Keeper
	pending map[*record]struct{}
}

// Kept returns the keeper of a name, told of all that changed. The first to ask begins it,
// and it is told of every record.
func (b *Book) Kept(name string, begin func() Keeper) Keeper {
	b.Settle()
	b.kept.mu.Lock()
	defer b.kept.mu.Unlock()
	k := b.kept.all[name]
	if k == nil {
		k = &kept{begin(), map[*record]struct{}{}}
		if b.kept.all == nil {
			b.kept.all = map[string]*kept{}
		}
		b.kept.all[name] = k
		for _, records := range b.byKind {
			for _, r := range records {
				k.keeper.Change(b.alone(r))
			}
		}
		return k.keeper
	}
	for r := range k.pending {
		for _, m := range b.members(r) {
			if _, waits := k.pending[m]; m == r || !waits {
				k.keeper.Change(b.alone(m))
			}
		}
	}
	clear(k.pending)
	return k.keeper
}

// touch notes for the keepers that a record changes. It is called by whoever changes the
// book, while nobody reads it.
func (b *Book) touch(r *record) {
	for _, k := range b.kept.all {
		k.pending[r] = struct{}{}
	}
}
