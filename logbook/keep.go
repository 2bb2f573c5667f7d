package logbook

import (
	"math"
	"sync"
)

// A Keeper is what a room above keeps of the records of a book, so that an answer about
// all of them costs what changed since it was asked for last.
type Keeper interface {
	// Change is told of a record that may read otherwise than when it was told of it last,
	// or that is new: one that an edit set, that has other twins, or another kind under its
	// id. The view is of the record apart. What refers to a record is not told of.
	Change(apart View)
}

// A BatchKeeper only notes what it is told of, and looks when it was told of all, so that
// what several changes lead to is looked at once.
type BatchKeeper interface {
	Keeper
	// Look looks at so many of what it noted at most, and reports whether that was all.
	Look(b *Book, most int) (done bool)
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

// A Keep names a keeper and says how it begins.
type Keep struct {
	Name  string
	Begin func() Keeper
}

// Kept returns the keeper, told of all that changed. The first to ask begins it, and it is
// told of every record.
func (b *Book) Kept(keep Keep) Keeper {
	keeper, _ := b.tell(keep, math.MaxInt)
	return keeper
}

// Prepare begins a keeper, or tells it of more, but of at most so many records: of a long
// log in steps, between which others get their turn. It reports whether all is told.
func (b *Book) Prepare(keep Keep, most int) (done bool) {
	_, done = b.tell(keep, most)
	return done
}

func (b *Book) tell(keep Keep, most int) (keeper Keeper, done bool) {
	b.noteAll()
	b.Settle()
	b.kept.mu.Lock()
	defer b.kept.mu.Unlock()
	k := b.kept.all[keep.Name]
	if k == nil {
		k = &kept{keep.Begin(), map[*record]struct{}{}}
		if b.kept.all == nil {
			b.kept.all = map[string]*kept{}
		}
		b.kept.all[keep.Name] = k
		for _, records := range b.byKind {
			for _, r := range records {
				k.pending[r] = struct{}{}
			}
		}
	}
	for r := range k.pending {
		if most--; most < 0 {
			return k.keeper, false
		}
		delete(k.pending, r)
		for _, m := range b.members(r) {
			if _, waits := k.pending[m]; !waits {
				k.keeper.Change(b.alone(m))
			}
		}
	}
	if batch, ok := k.keeper.(BatchKeeper); ok {
		return k.keeper, batch.Look(b, most)
	}
	return k.keeper, true
}

// touch notes for the keepers that a record changes. It is called by whoever changes the
// book, while nobody reads it.
func (b *Book) touch(r *record) {
	for _, k := range b.kept.all {
		k.pending[r] = struct{}{}
	}
}
