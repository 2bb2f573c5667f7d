package logbook

import "errors"

// follow puts what other processes append into the book, until the store is closed or the log
// removed.
func (l *Log) follow(shared SharedStore) {
	known := ^uint64(0)
	for {
		next, asides := shared.Changed(l.production)
		if asides != known && l.readAsides() == nil {
			known = asides
		}
		switch err := l.readOn(); {
		case errors.Is(err, ErrRemoved):
			l.leave()
			return
		case errors.Is(err, ErrClosed):
			return
		}
		<-next
	}
}

// readOn puts into the book what stands in the store and is not in it.
func (l *Log) readOn() error {
	l.catching.Lock()
	defer l.catching.Unlock()
	for {
		head, err := l.store.Head(l.production)
		if errors.Is(err, ErrNoProduction) || err == nil && head.Identity != l.identity {
			return ErrRemoved
		}
		if err != nil || head.Seq <= l.landings.to() {
			return err
		}
		page, err := l.store.Read(l.production, l.landings.to(), PageBytes)
		if err != nil {
			return err
		}
		var edits []*Edit
		var at []Seq
		for i := range page {
			e, err := DecodeEdit(page[i].Bytes)
			if err != nil { // of a form that a newer version wrote
				l.mu.Lock()
				l.unread = append(l.unread, Damage{Seq: page[i].Seq, Dot: page[i].Dot, Why: err.Error()})
				l.mu.Unlock()
				l.landings.cover(page[i].Seq)
				continue
			}
			edits, at = append(edits, e), append(at, page[i].Seq)
		}
		l.merge(edits, at, true)
	}
}

// leave ends the log, which another process removed.
func (l *Log) leave() {
	l.leaving.Lock()
	l.removed = true
	l.leaving.Unlock()
	l.changed.Wake()
}

// Removed reports whether the log was removed: it takes nothing any more.
func (l *Log) Removed() bool {
	l.leaving.RLock()
	defer l.leaving.RUnlock()
	return l.removed
}

// newest puts what any process has appended by now into the book, and returns how many changes that
// were; nil of a store that nobody else writes.
func (l *Log) newest() (changes *uint64, err error) {
	shared, ok := l.store.(SharedStore)
	if !ok {
		return nil, nil
	}
	n, err := shared.Newest(l.production)
	if err == nil {
		err = l.readOn()
	}
	return &n, err
}

// CatchUp puts into the book what any process has appended by now.
func (l *Log) CatchUp() error {
	_, err := l.newest()
	return err
}

// appendChange appends what was made by looking at a book with so many changes in it.
func (l *Log) appendChange(changes *uint64, entries []Entry) ([]Receipt, error) {
	if changes == nil {
		return l.store.Append(l.production, entries)
	}
	return l.store.(SharedStore).AppendChange(l.production, *changes, entries)
}
