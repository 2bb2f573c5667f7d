package logbook

import "sync"

// Nobody who reads holds up an answer: what is stored lands in the book at once where nobody
// reads, and else waits for the next to look, who puts it in first.

// A landing is an edit that is stored.
type landing struct {
	edit   *Edit
	at     Seq
	judged error
}

// landings are those of a log. Its lock is never held while that of the book is waited for.
type landings struct {
	sync.Mutex
	waiting []landing // not in the book yet
	stored  Held      // the sequences of what waits or is in the book, as numbers of one line
	came    uint64
	landed  uint64 // of those that came; changed under the lock of the book as well
}

// mostWaiting is how many edits wait at most: beyond, a push waits for whoever reads.
const mostWaiting = 4096

// toSoFar is the sequence up to which everything waits or is in the book: commits are answered in
// any order.
func (n *landings) toSoFar() Seq {
	for _, s := range n.stored.Spans(Dot{}) {
		if s.From == 1 {
			return Seq(s.To)
		}
		break
	}
	return 0
}

func (n *landings) to() Seq {
	n.Lock()
	defer n.Unlock()
	return n.toSoFar()
}

// cover notes that a sequence is in the book, or that nothing can be read there.
func (n *landings) cover(at Seq) {
	n.Lock()
	defer n.Unlock()
	n.stored.Add(Dot{N: uint64(at)})
}

// counts are how many came, and how many of them are in the book.
func (n *landings) counts() (came, landed uint64) {
	n.Lock()
	defer n.Unlock()
	return n.came, n.landed
}

// merge lets stored edits, each with its sequence, be read from now on, and returns why each
// is refused. news: one of them was not held before. They must not be changed any more.
func (l *Log) merge(edits []*Edit, at []Seq, news bool) (reasons []error) {
	for _, e := range edits {
		reasons = append(reasons, l.book.rules.Judge(e))
	}
	l.landings.Lock()
	for i, e := range edits {
		l.landings.waiting = append(l.landings.waiting, landing{e, at[i], reasons[i]})
		l.landings.stored.Add(Dot{N: uint64(at[i])})
	}
	l.landings.came += uint64(len(edits))
	full := len(l.landings.waiting) > mostWaiting
	l.landings.Unlock()
	if news {
		defer l.changed.Wake()
	}
	if l.mu.TryLock() {
		defer l.mu.Unlock()
	} else if full {
		l.mu.Lock()
		defer l.mu.Unlock()
	} else {
		return reasons
	}
	l.land()
	return reasons
}

// land puts what waits into the book, which the caller has locked. It returns the sequence up
// to which everything was in the book then.
func (l *Log) land() (to Seq) {
	l.landings.Lock()
	waiting := l.landings.waiting
	l.landings.waiting, l.landings.landed = nil, l.landings.came
	to = l.landings.toSoFar()
	l.landings.Unlock()
	for _, n := range waiting {
		_ = l.book.applyJudged(n.edit, n.judged) // a refusal is kept in the book
	}
	l.book.Settle()
	return to
}

// look locks the book for reading, with all in it that was answered before.
func (l *Log) look() {
	came, _ := l.landings.counts()
	l.mu.RLock()
	if _, landed := l.landings.counts(); landed >= came {
		return
	}
	l.mu.RUnlock()
	l.mu.Lock()
	l.land()
	l.mu.Unlock()
	l.mu.RLock()
}
