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
	to := l.land()
	head, err := l.store.Head(l.production)
	if err != nil {
		return nil, err
	}
	if news, err = l.catchUp(to, head.Seq); err != nil {
		return nil, err
	}
	return &Frozen{log: l, book: l.book.freeze(), head: head}, nil
}

// catchUp merges what is stored behind a sequence as far as a head, and may not be in the book
// yet: pushes that are stored one after another may be answered the other way round, and a
// book that holds the later one alone is that of no head.
func (l *Log) catchUp(at, head Seq) (news bool, err error) {
	defer l.book.Settle()
	for at < head {
		page, err := l.store.Read(l.production, at, 1)
		if err != nil {
			return news, err
		}
		to := head
		if len(page) > 0 {
			to = page[0].Seq
		}
		if len(page) > 0 && to <= head {
			if e, err := DecodeEdit(page[0].Bytes); err == nil { // else of a newer version
				news = news || !l.book.Held(e.Dot)
				_ = l.book.Apply(e) // a refusal is kept in the book
			}
		}
		for at < min(to, head) { // what stood between is damaged
			at++
			l.landings.cover(at)
		}
	}
	return news, nil
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
