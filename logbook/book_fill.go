package logbook

import (
	"fmt"
	"strings"
)

// A log is decoded and judged ahead of the merge, in pages whose room is used again.

// page is some edits of a log on their way into a book.
type page struct {
	edits  []coming
	unread []Damage
	err    error
	fault  any // what the reading panicked with
}

// coming is an edit with what it says and why it is refused, if it is.
type coming struct {
	edit   Edit
	said   string
	judged error
}

// pagesAhead is how many pages wait for the merge.
const pagesAhead = 2

// fill reads the log of an empty book as far as its head of now. What this version
// cannot read, such as an edit of a form that a newer one wrote, it leaves out: it
// closes no log. Of a set that is given it takes its own edits alone.
func (b *Book) fill(store Store, only *Held) (head Head, unread []Damage, err error) {
	if head, err = store.Head(b.production); err != nil {
		return Head{}, nil, err
	}
	defer beginFilling()()
	pages, spent := make(chan *page, pagesAhead), make(chan *page, pagesAhead+2)
	for range cap(spent) {
		spent <- &page{}
	}
	go b.readAhead(store, head.Seq, only, spent, pages)
	for p := range pages {
		if p.fault != nil {
			panic(p.fault)
		}
		if p.err != nil {
			return Head{}, nil, p.err
		}
		for i := range p.edits {
			c := &p.edits[i]
			e := &c.edit
			if c.judged != nil { // the book keeps what is refused
				e, c.edit.Set = new(c.edit), nil
			}
			_ = b.apply(e, c.said, c.judged)
		}
		unread = append(unread, p.unread...)
		spent <- p
	}
	b.Settle()
	return head, unread, nil
}

// readAhead reads a log to its end, or to the first error, which is its last page.
func (b *Book) readAhead(store Store, end Seq, only *Held, spent <-chan *page, pages chan<- *page) {
	defer close(pages)
	defer func() {
		if fault := recover(); fault != nil {
			pages <- &page{fault: fault}
		}
	}()
	for at := Seq(0); at < end; {
		rows, err := store.Read(b.production, at, PageBytes)
		p := <-spent
		if p.err = err; err == nil {
			p.take(rows, end, only, b.rules)
		}
		pages <- p
		if err != nil || len(rows) == 0 { // the last rows are damaged
			return
		}
		at = rows[len(rows)-1].Seq
	}
}

// take decodes and judges rows as far as the end of a log, of a set that is given those in it.
func (p *page) take(rows []Stored, end Seq, only *Held, rules Rules) {
	p.edits, p.unread = p.edits[:0], nil
	said := saidOf(rows)
	for _, s := range rows {
		own := said[:max(len(s.Bytes)-saidAt, 0)]
		said = said[len(own):]
		if s.Seq > end {
			return
		}
		if only != nil && !only.Has(s.Dot) {
			continue
		}
		n := len(p.edits)
		if n == cap(p.edits) {
			p.edits = append(p.edits, coming{})
		}
		p.edits = p.edits[:n+1]
		c := &p.edits[n]
		c.said = own
		err := c.edit.decode(s.Bytes, own)
		if err == nil {
			err = c.edit.arrange()
		}
		if err != nil {
			p.edits = p.edits[:n]
			p.unread = append(p.unread, Damage{Seq: s.Seq, Dot: s.Dot, Why: fmt.Sprintf("this version cannot read it (%v)", err)})
			continue
		}
		c.judged = rules.Judge(&c.edit)
	}
}

// saidOf is what the edits of rows say.
func saidOf(rows []Stored) string {
	edits := make([][]byte, len(rows))
	for i, s := range rows {
		edits[i] = s.Bytes
	}
	return saidIn(edits)
}

// saidIn is what the edits of a page say, in one piece: of a long log, a piece for each would
// cost more than what it says.
func saidIn(edits [][]byte) string {
	size := 0
	for _, e := range edits {
		size += max(len(e)-saidAt, 0)
	}
	var all strings.Builder
	all.Grow(size)
	for _, e := range edits {
		all.Write(e[min(saidAt, len(e)):])
	}
	return all.String()
}
