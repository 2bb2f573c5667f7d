package logbook

import "errors"

// Hash is the 16-byte hash of an edit's canonical bytes (the first half of
// SHA-256). It parts a repeat from a clash; it is never an identity.
type Hash [16]byte

// Seq counts the edits of one production's log in one store, from 1. A restored
// store issues numbers again: only together with the chain do they name a place.
type Seq uint64

// Chain is a hash over all edits of a log up to a sequence, in order:
// chain(n) = SHA-256(chain(n−1) ‖ hash(n)), first 8 bytes.
type Chain [8]byte

// Entry is an edit on its way into a store.
type Entry struct {
	Dot      Dot
	Hash     Hash
	Bytes    []byte // the author's canonical bytes, stored unchanged
	Via      ID     // the device that brought it
	Received Millis
	Notes    []KeptValue // kept as by Keep, in the one commit in which the entry is taken; else not
}

// Stored is an edit in a store.
type Stored struct {
	Entry
	Seq   Seq
	Chain Chain // the chain at Seq
}

// Outcome says what became of an entry.
type Outcome int

// The outcomes of an append. A clash is a dot that is held with another hash:
// the entry is kept aside and the log is not changed. One is crowded out where the
// device that brought it has brought as many as are kept of one (Crowd): it is a clash
// that is not kept.
const (
	Taken Outcome = iota
	Repeat
	Clash
	CrowdedOut
)

// Receipt answers one entry, after the commit.
type Receipt struct {
	Outcome Outcome
	Seq     Seq // of the edit that is held under the dot
}

// Head is the end of a production's log. Identity is drawn when the log begins
// and stays with the store's file.
type Head struct {
	Identity Line
	Seq      Seq
	Chain    Chain
}

// Errors of stores.
var (
	ErrNoProduction = errors.New("the production is not in this store")
	ErrFull         = errors.New("the disk is full: nothing was written; make room on it")
	// ErrBroken is wrapped by all writes after one of which it is not known how much
	// of it reached the disk. Reading goes on.
	ErrBroken = errors.New("the disk failed while the store was written: " +
		"nothing more is written; look to the disk, then start the program again")
	ErrClosed = errors.New("the store is closed")
	// ErrRemoved is wrapped where a production was removed from the store for good.
	ErrRemoved = errors.New("the production was removed from here")
	// ErrWentOn is wrapped where something came in that the caller has not seen.
	ErrWentOn = errors.New("the log went on meanwhile: nothing was removed")
)

// A Store keeps edits durably, per production and in the order in which they
// came. All methods may be called at once by many goroutines. Bytes that a
// store hands out are the caller's own copies; no method holds a transaction
// open after it returns.
//
// The contract is small on purpose; storetest holds every store to it.
type Store interface {
	// Productions lists the productions in the store, by id.
	Productions() ([]ID, error)
	// Begin makes an empty log for a production. A second call changes nothing; of a
	// production that was removed it is ErrRemoved.
	Begin(production ID, identity Line) error
	// Append adds entries and returns after they are durable, one receipt each,
	// in order. All of one call are committed together or not at all. The same
	// dot twice in one call is a repeat or a clash like any other. An entry whose
	// dot or hash is not that of its bytes is ErrForm, and none of the call is added.
	Append(production ID, entries []Entry) ([]Receipt, error)
	// Read returns entries with a sequence above after, in order, until their
	// bytes reach atMost (at least one entry where there is one).
	Read(production ID, after Seq, atMost int) ([]Stored, error)
	// Get returns the edits held under dots; those not held are left out.
	Get(production ID, dots []Dot) ([]Stored, error)
	// Head returns the end of the log.
	Head(production ID) (Head, error)
	// ChainAt returns the chain at a sequence; ok is false beyond the end.
	ChainAt(production ID, seq Seq) (chain Chain, ok bool, err error)
	// Ranges lists what is held, per line.
	Ranges(production ID) (Ranges, error)
	// RangesBehind lists what is held behind a dot, in the order of dots, as far as
	// some bytes tell it (Held.Part). to is where that ends; zero: nothing more is held.
	RangesBehind(production ID, behind Dot, atMost int) (held Ranges, to Dot, err error)
	// Damaged lists what of the log is not what was stored there, in order. Such a
	// row is not held: it is in no range and nobody reads it, and the edit is taken
	// like one that was never here, whereupon the row is no longer listed.
	Damaged(production ID) ([]Damage, error)
	// Clashes lists the entries that were kept aside, oldest first.
	Clashes(production ID) ([]Entry, error)
	// SetAside keeps edits outside the log, one for each dot and hash; whether one was
	// left there may change, nothing else. All of one call are durable on return, or
	// none. An edit whose dot or hash is not that of its bytes is ErrForm.
	SetAside(production ID, rows []Aside) error
	// DropAside forgets edits that SetAside kept; those that it did not are no error.
	DropAside(production ID, keys []AsideKey) error
	// Asides lists what is kept outside the log, by dot and then by hash.
	Asides(production ID) ([]Aside, error)
	// Remove takes a production out, with all that is kept of it, and keeps a mark under
	// RemovedName, in one commit. Where at is not the head of the log any more it is
	// ErrWentOn, and changes nothing. Whoever drops the mark lets the production begin
	// again, from nothing.
	Remove(production ID, at Head, mark []byte) error
	// Keep stores a small value of the server's own (a device, a key) under a
	// name of 1 to 1000 bytes, else ErrRequest; a nil value removes it. It is
	// durable on return.
	Keep(name string, value []byte) error
	// Kept returns such a value, or nil.
	Kept(name string) ([]byte, error)
	// KeptUnder returns all names with a prefix and their values, sorted by name.
	KeptUnder(prefix string) ([]KeptValue, error)
	// Close waits for running calls. Every later call returns ErrClosed.
	Close() error
}

// RemovedUnder is what the names of the marks of removed productions begin with.
const RemovedUnder = "removed/"

// RemovedName is the name under which the mark of a removed production is kept.
func RemovedName(production ID) string { return RemovedUnder + production.String() }

// KeptValue is one of the server's own small values.
type KeptValue struct {
	Name  string
	Value []byte
}

// Damage is a row of a log that is not held.
type Damage struct {
	Seq Seq // 0: of what was kept aside
	Dot Dot // as far as it can be known; zero where not
	Why string
	// Page says that the place itself cannot be read: a store that lies on it opens
	// no more, so that nothing in it can be mended.
	Page bool
}

// ErrDamaged is wrapped by errors about a bundle or file that was changed or cut
// off on its way, or on its disk.
var ErrDamaged = errors.New("the file is damaged")
