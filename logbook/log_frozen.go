package logbook

import "sync"

// A Lender lends a book for reading, in as many calls as the reader likes. What was found
// in one call must be looked at in a call.
type Lender interface{ Read(func(*Book)) }

// Read lends the book itself, which must not change until its reader is done.
func (b *Book) Read(read func(*Book)) { read(b) }

// Frozen is the book of a log as it was at a head. Who reads much reads it in
// short calls: between them edits are merged, and none of them shows. It must be
// closed, for until then the log keeps for it what it changes.
type Frozen struct {
	log  *Log
	book *Book
	head Head
	once sync.Once
}

// Freeze freezes the book at the head of the log.
func (l *Log) Freeze() (*Frozen, error) {
	news := false
	defer func() {
		if news {
			l.changed.Wake()
		}
	}()
	l.mu.Lock()
	defer l.mu.Unlock()
	head, err := l.store.Head(l.production)
	if err != nil {
		return nil, err
	}
	if news, err = l.catchUp(head); err != nil {
		return nil, err
	}
	return &Frozen{log: l, book: l.book.freeze(), head: head}, nil
}

// catchUp merges what is stored as far as a head and not in the book yet: pushes that
// are stored one after another may merge the other way round, and a book that
// holds the later one alone is that of no head.
func (l *Log) catchUp(head Head) (news bool, err error) {
	for {
		after := l.mergedSoFar()
		if after >= head.Seq {
			l.book.Settle()
			return news, nil
		}
		page, err := l.store.Read(l.production, after, 1)
		if err != nil {
			return news, err
		}
		at := head.Seq
		if len(page) > 0 {
			at = page[0].Seq
		}
		for seq := after + 1; seq <= at; seq++ { // what stood between is damaged
			l.merged.Add(Dot{N: uint64(seq)})
		}
		if len(page) == 0 {
			continue
		}
		if e, err := DecodeEdit(page[0].Bytes); err == nil { // else of a newer version
			news = news || !l.book.Held(e.Dot)
			_ = l.book.Apply(e) // a refusal is kept in the book
		}
	}
}

// Head is the head as of which the book is frozen.
func (f *Frozen) Head() Head { return f.head }

// Read lends the frozen book for reading. What is found in it stays good from one
// call to the next, but must be looked at in a call.
func (f *Frozen) Read(read func(*Book)) {
	f.log.mu.RLock()
	defer f.log.mu.RUnlock()
	read(f.book)
}

// Close lets go of the book, which must not be read any more.
func (f *Frozen) Close() {
	f.once.Do(func() {
		f.log.mu.Lock()
		defer f.log.mu.Unlock()
		f.log.book.thaw(f.book)
	})
}

// Frozen counts the frozen books that are not closed.
func (l *Log) Frozen() int {
	l.mu.RLock()
	defer l.mu.RUnlock()
	return len(l.book.frozen)
}
