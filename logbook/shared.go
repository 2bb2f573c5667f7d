package logbook

import (
	"errors"
	"time"
)

// ErrAway is wrapped where a store beyond this machine gives no answer. Whatever was to be written may
// have been: whoever sends it again hears what became of it.
var ErrAway = errors.New("the store cannot be reached: nothing is known to be stored; reading goes on")

// A SharedStore is one that several processes write. Each of them holds its books, and follows.
type SharedStore interface {
	Store
	// Newest learns what others appended, and returns how many changes (AppendChange) the log had
	// then.
	Newest(production ID) (changes uint64, err error)
	// AppendChange is Append for a change that was made by looking at the book: where another was
	// made since there were so many of them, it is ErrWentOn and nothing is added.
	AppendChange(production ID, changes uint64, entries []Entry) ([]Receipt, error)
	// Changed returns a channel that is closed when, after the call, somebody has appended to the
	// log, has changed what is kept aside, or removed the log, or the store is closed; and a number
	// that is another once what is kept aside is.
	Changed(production ID) (next <-chan struct{}, asides uint64)
	Sharing
}

// Sharing is what small values need that several processes keep.
type Sharing interface {
	// Follow tells of each value under a prefix, and from then on of each that is another or, with
	// nil, gone; now and then of one that is as it was. A name is told of whole.
	Follow(prefix string, told func(KeptValue)) error
	// Swap keeps a value, or with nil removes it, where it is still the old one; nil: none is there.
	Swap(name string, old, value []byte) (done bool, err error)
	// KeepFor keeps a value for so long, by the clock of the store.
	KeepFor(name string, value []byte, life time.Duration) error
}

// BriefUnder is what the names of values begin with that are in no copy of a store.
const BriefUnder = "brief/"

// SharingOf is how the values of a keeper are shared, or nil where one process has them alone.
func SharingOf(keeper any) Sharing {
	s, _ := keeper.(Sharing)
	return s
}
