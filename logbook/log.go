package logbook

import (
	"errors"
	"fmt"
	"strconv"
	"sync"
)

// ErrRequest is wrapped by errors about what a caller asked for.
var ErrRequest = errors.New("the request cannot be carried out")

// A Log is one production's edits in a store together with the book that they
// make. All its methods may be called at once.
type Log struct {
	store      Store
	production ID
	draw       func() Line
	run        Line
	identity   Line

	changing sync.Mutex // one change by REST at a time: the next sees its heads
	line     Line       // of this start, drawn at the first change
	n        uint64

	mu       sync.RWMutex
	book     *Book
	landings landings
	unread   []Damage // edits that are whole and that this version cannot read

	aside   asides
	changed Signal

	leaving sync.RWMutex // read by whoever changes the store
	removed bool         // nothing more is taken

	catching sync.Mutex // held by who reads what other processes appended
}

// A Writer is who makes a change through the service itself.
type Writer struct {
	Device ID // the service's own device
	By     string
	Now    Millis
	Via    ID // the device that asked for it: people's names may be alike
	// Notes are small values of the service's own about the edits that are made, kept in
	// the one commit with them; nil: none. Where they fail nothing is stored.
	Notes func([]*Edit) ([]KeptValue, error)
}

// PageBytes is how much of a log is read from the store at a time.
const PageBytes = 256 << 10

// OpenLog reads a production's log into a book, beginning an empty log where the
// store has none. draw returns 8 random bytes at each call.
func OpenLog(store Store, production ID, rules Rules, draw func() Line) (*Log, error) {
	if err := store.Begin(production, draw()); err != nil {
		return nil, err
	}
	book := NewBook(production, rules)
	head, unread, err := book.fill(store, nil)
	if err != nil {
		return nil, err
	}
	l := &Log{store: store, production: production, draw: draw, run: draw(), identity: head.Identity, book: book, unread: unread}
	if head.Seq > 0 {
		l.landings.stored.AddSpan(Line{}, Span{1, uint64(head.Seq)})
	}
	if err := l.openAsides(); err != nil {
		return nil, err
	}
	if shared, ok := store.(SharedStore); ok {
		go l.follow(shared)
	}
	return l, nil
}

// ReadHeld makes a book of those edits of a production's log that are in a set: however the log goes
// on meanwhile, none of what comes is in it.
func ReadHeld(store Store, production ID, rules Rules, held *Held) (*Book, error) {
	b := NewBook(production, rules)
	if _, _, err := b.fill(store, held); err != nil {
		return nil, err
	}
	return b, nil
}

// Production returns the production of the log.
func (l *Log) Production() ID { return l.production }

// Rules is the number of the rules by which the log judges edits.
func (l *Log) Rules() int { return l.book.rules.Version }

// Head returns the end of the log.
func (l *Log) Head() (Head, error) { return l.store.Head(l.production) }

// Readable returns how far the log can be read in the book as well: its head may be ahead of
// that until what was stored is answered.
func (l *Log) Readable() (Head, error) {
	to := l.landings.to()
	head, err := l.store.Head(l.production)
	if err != nil || head.Seq <= to {
		return head, err
	}
	head.Seq = to
	head.Chain, _, err = l.store.ChainAt(l.production, to)
	return head, err
}

// State names what the book says: in one run of the log it is another whenever the book
// has more edits.
func (l *Log) State() string {
	l.look()
	defer l.mu.RUnlock()
	return strconv.FormatUint(l.book.count, 10)
}

// Changed returns a channel that is closed when edits have come in that were not
// here at the time of the call.
func (l *Log) Changed() <-chan struct{} { return l.changed.Next() }

// Run is drawn when the log is opened: devices that know another may have heard of
// edits that this one lost.
func (l *Log) Run() Line { return l.run }

// Ranges reads the log's store, as ChainAt, Page and Get do; see Store.
func (l *Log) Ranges() (Ranges, error) { return l.store.Ranges(l.production) }

func (l *Log) RangesBehind(behind Dot, atMost int) (Ranges, Dot, error) {
	return l.store.RangesBehind(l.production, behind, atMost)
}

func (l *Log) ChainAt(at Seq) (chain Chain, ok bool, err error) {
	return l.store.ChainAt(l.production, at)
}

func (l *Log) Page(after Seq, atLeast int) ([]Stored, error) {
	page, err := l.store.Read(l.production, after, atLeast)
	l.Mend()
	return page, err
}

func (l *Log) Get(dots []Dot) ([]Stored, error) { return l.store.Get(l.production, dots) }

// Clashes lists the entries that were kept aside because their dot is held with
// other bytes.
func (l *Log) Clashes() ([]Entry, error) { return l.store.Clashes(l.production) }

// Judge returns why an edit is refused by the rules of the log, or nil.
func (l *Log) Judge(e *Edit) error { return l.book.rules.Judge(e) }

// Records finds the records of the edits that are held, refused ones as well.
func (l *Log) Records(dots []Dot) (map[Dot]RecordRef, error) {
	held, err := l.store.Get(l.production, dots)
	if err != nil {
		return nil, err
	}
	found := make(map[Dot]RecordRef, len(held))
	for i := range held {
		if ref, err := RecordIn(held[i].Bytes); err == nil {
			found[held[i].Dot] = ref
		}
	}
	return found, nil
}

// stepOfKeepers is how many records keepers are told of while pushes wait.
const stepOfKeepers = 256

// Prepare tells keepers of all records, in steps between which edits are merged: the first
// to ask would hold them up until the whole log was walked.
func (l *Log) Prepare(keeps ...Keep) {
	for _, keep := range keeps {
		for done := false; !done; {
			l.Read(func(b *Book) { done = b.Prepare(keep, stepOfKeepers) })
		}
	}
}

// Read lends the book for reading. It must not be kept.
func (l *Log) Read(f func(*Book)) {
	l.look()
	defer l.mu.RUnlock()
	f(l.book)
}

// Change lets f look at the book and make drafts, and stores them as edits of
// this start's line. Several drafts are one act; one that names more than an edit may
// becomes several edits. Nothing is stored where f or the
// judgement of a draft fails. It returns after the commit. Where another process changed the log
// meanwhile f looks again.
func (l *Log) Change(w Writer, f func(*Book) ([]Draft, error)) ([]*Edit, error) {
	if err := l.enter(); err != nil {
		return nil, err
	}
	defer l.leaving.RUnlock()
	l.changing.Lock()
	defer l.changing.Unlock()
	for looks := 1; ; looks++ {
		changes, err := l.newest()
		if err != nil {
			return nil, err
		}
		var drafts []Draft
		l.Read(func(b *Book) { drafts, err = f(b) })
		if err != nil || len(drafts) == 0 {
			return nil, err
		}
		edits, err := l.writeAct(w, pieces(drafts, l.book.rules.MostNames), changes)
		if !errors.Is(err, ErrWentOn) || looks == mostLooks {
			return edits, err
		}
	}
}

// mostLooks is how often a change looks at the book while other processes change it.
const mostLooks = 50

func (l *Log) writeAct(w Writer, act []piece, changes *uint64) ([]*Edit, error) {
	for range mostLines {
		edits, taken, err := l.write(w, act, changes)
		if err != nil || taken {
			return edits, err
		}
	}
	return nil, fmt.Errorf("%d lines in turn were in use, which chance does not explain: nothing is known to be stored", mostLines)
}

// mostLines is how many lines a change tries.
const mostLines = 4

// write stores an act as edits of the running line. Where one of their dots is
// held or named, the line is over: a machine whose memory was set back writes where it
// wrote before. What was stored of them applies all the same, for it is in the
// log; the caller writes all of them again in a new line.
func (l *Log) write(w Writer, act []piece, changes *uint64) (edits []*Edit, taken bool, err error) {
	if l.line == (Line{}) {
		l.line, l.n = l.draw(), 0
	}
	edits = actOf(&Edit{Production: l.production, Device: w.Device, Dot: Dot{l.line, l.n + 1}, At: w.Now, By: w.By}, act)
	entries := make([]Entry, len(act))
	for i, e := range edits {
		if entries[i], err = entryOf(e, w.Via, w.Now); err != nil {
			return nil, false, err
		}
		if err = l.book.rules.Judge(e); err != nil {
			return nil, false, err
		}
	}
	if l.named(edits) {
		l.line = Line{}
		return nil, false, nil
	}
	if w.Notes != nil {
		if entries[len(entries)-1].Notes, err = w.Notes(edits); err != nil {
			return nil, false, err
		}
	}
	l.n += uint64(len(edits))
	receipts, err := l.appendChange(changes, entries)
	if err != nil {
		l.line = Line{} // whether it was written is unknown: never again under these dots
		return nil, false, err
	}
	var stored []*Edit
	var at []Seq
	for i, r := range receipts {
		if r.Outcome == Taken {
			stored, at = append(stored, edits[i]), append(at, r.Seq)
		}
	}
	l.merge(stored, at, len(stored) > 0)
	if len(stored) < len(edits) {
		l.line = Line{}
		return nil, false, nil
	}
	return edits, true, nil
}

// named reports whether somebody named one of the dots already: what is written there
// would be taken for replaced.
func (l *Log) named(edits []*Edit) (found bool) {
	l.Read(func(b *Book) {
		for _, e := range edits {
			found = found || len(b.waiting[e.Dot]) > 0
		}
	})
	return found
}

func entryOf(e *Edit, via ID, now Millis) (Entry, error) {
	b, err := EncodeEdit(e)
	return Entry{Dot: e.Dot, Hash: HashOf(b), Bytes: b, Via: via, Received: now}, err
}

// The words for what became of a pushed edit.
const (
	AnswerTaken   = "taken"
	AnswerRepeat  = "repeat"
	AnswerRefused = "refused" // held and passed on, but neither values nor names apply
	AnswerClash   = "clash"   // the dot is held with other bytes: kept aside, while there is room
	AnswerLater   = "later"   // not stored, for want of room
	AnswerAside   = "aside"   // kept outside the log: who brought it may not put it there
)

// clashLeft is why a clash is not kept.
const clashLeft = "another edit is held under this dot; begin a new line. This one stays with the device alone: " +
	"as many as are kept of one device are kept already"

// An Answer is what became of one edit that a device pushed.
type Answer struct {
	Dot     Dot
	Outcome string
	Reason  string
	Seq     Seq // of the edit that is held under the dot; 0 where none is
}

// Push stores edits that a device brought, whoever made them, and answers each
// after the commit; they must not be changed any more. An edit of another production fails the whole call.
func (l *Log) Push(edits []*Edit, via ID, now Millis) ([]Answer, error) {
	return l.PushGuarded(edits, nil, via, now)
}

func (l *Log) entriesOf(edits []*Edit, via ID, now Millis) ([]Entry, error) {
	entries := make([]Entry, len(edits))
	for i, e := range edits {
		if e.Production != l.production {
			return nil, fmt.Errorf("%w: edit %d (%s) has production %s; allowed is %s", ErrRequest, i, e.Dot, e.Production, l.production)
		}
		var err error
		if entries[i], err = entryOf(e, via, now); err != nil {
			return nil, fmt.Errorf("edit %d (%s): %w", i, e.Dot, err)
		}
	}
	return entries, nil
}

// push stores entries, which are those of the edits, and answers each after the commit.
func (l *Log) push(edits []*Edit, entries []Entry) ([]Answer, error) {
	answers := make([]Answer, len(edits))
	for i, e := range edits {
		answers[i].Dot = e.Dot
	}
	if len(entries) == 0 {
		return answers, nil
	}
	receipts, err := l.store.Append(l.production, entries)
	if errors.Is(err, ErrFull) {
		for i := range answers {
			answers[i].Outcome, answers[i].Reason = AnswerLater, err.Error()
		}
		return answers, nil
	}
	if err != nil {
		return nil, err
	}
	words := [...]string{Taken: AnswerTaken, Repeat: AnswerRepeat, Clash: AnswerClash, CrowdedOut: AnswerClash}
	var merging []*Edit
	var seqs []Seq
	var at []int
	news := false
	for i, r := range receipts {
		answers[i].Outcome, answers[i].Seq = words[r.Outcome], r.Seq
		switch r.Outcome {
		case Clash:
			answers[i].Reason = "another edit is held under this dot; begin a new line"
			continue
		case CrowdedOut:
			answers[i].Reason = clashLeft
			continue
		}
		news = news || r.Outcome == Taken
		merging, seqs, at = append(merging, edits[i]), append(seqs, r.Seq), append(at, i)
	}
	for i, reason := range l.merge(merging, seqs, news) {
		if reason != nil {
			answers[at[i]].Outcome, answers[at[i]].Reason = AnswerRefused, reason.Error()
		}
	}
	var came []AsideKey
	for _, i := range at {
		came = append(came, AsideKey{entries[i].Dot, entries[i].Hash})
	}
	_ = l.dropAsides(came) // what is in both places is dropped when the log is opened again
	return answers, nil
}
