package days_test

import (
	"encoding/binary"
	"fmt"
	"strings"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// A pen writes the edits of an invented production. Its clock is the true time; the phone
// in hand may go wrong, knows by how much, and may not have seen what others wrote.
type pen struct {
	edits  []*logbook.Edit
	kinds  map[logbook.ID]logbook.Kind
	clock  logbook.Millis
	phones [2]phone
	hand   int // the phone that writes
	next   uint32
	book   *logbook.Book // of all edits
	merged int           // how many of them are in it
}

type phone struct {
	offset logbook.Millis // what it adds to reach the true time
	n      uint64
	apart  bool
	saw    int // where it is apart: how many edits it had seen by then
}

const minute = logbook.Millis(60 * 1000)

// dayBegins is minute 0: 08:00.
var dayBegins = logbook.MillisOf(time.Date(2026, 3, 4, 8, 0, 0, 0, time.UTC))

var production = logbook.ID{15: 1}

func newPen() *pen {
	p := &pen{kinds: map[logbook.ID]logbook.Kind{}, clock: dayBegins, book: logbook.NewBook(production, kinds.Rules)}
	p.write(production, kinds.Production, "title", `"Harbour"`, "timeZone", `"Europe/Oslo"`, "frameRate", `"25"`, "gelFamily", `"based5500"`)
	return p
}

func at(minutes int) logbook.Millis { return dayBegins + logbook.Millis(minutes)*minute }

// ownTime is the instant that the clock of the phone in hand shows.
func (p *pen) ownTime() string { return stamp(p.clock - p.phones[p.hand].offset) }

func stamp(t logbook.Millis) string { return `"` + t.Time().Format("2006-01-02T15:04:05.000Z") + `"` }

func parseStamp(text string) (logbook.Millis, error) {
	t, err := time.Parse(time.RFC3339Nano, text)
	return logbook.MillisOf(t), err
}

func ref(id logbook.ID) string { return `"` + id.String() + `"` }

func refs(ids ...logbook.ID) string {
	words := make([]string, len(ids))
	for i, id := range ids {
		words[i] = ref(id)
	}
	return "[" + strings.Join(words, ",") + "]"
}

func idOf(n uint32) logbook.ID {
	id := logbook.ID{6: 0x70, 8: 0x80}
	binary.BigEndian.PutUint32(id[12:], n+100)
	return id
}

func (p *pen) add(kind logbook.Kind, fields ...string) logbook.ID {
	p.next++
	p.write(idOf(p.next), kind, fields...)
	return idOf(p.next)
}

func (p *pen) set(id logbook.ID, fields ...string) { p.write(id, p.kinds[id], fields...) }

// write makes one edit over what the phone in hand has seen.
func (p *pen) write(id logbook.ID, kind logbook.Kind, fields ...string) {
	ph := &p.phones[p.hand]
	ph.n++
	p.kinds[id] = kind
	e := &logbook.Edit{Production: production, Kind: kind, Record: id,
		Device: logbook.ID{15: byte(20 + p.hand)}, By: []string{"Ada", "Bo"}[p.hand],
		At: p.clock - ph.offset, Offset: ph.offset, Dot: logbook.Dot{Line: logbook.Line{7: byte(7 + p.hand)}, N: ph.n}}
	for i := 0; i+1 < len(fields); i += 2 {
		value, err := logbook.ParseValue(fields[i+1])
		if err != nil {
			panic(fmt.Sprintf("%s %s: %s: %v", kind, fields[i], fields[i+1], err))
		}
		c := logbook.Change{Field: fields[i], Value: value}
		for _, old := range p.seen() {
			// Whoever strikes a record out names all that was seen of it.
			if _, ok := old.Change(fields[i]); old.Record == id && (ok || fields[i] == logbook.DeletedField) {
				c.Over = append(c.Over, old.Dot)
			}
		}
		e.Set = append(e.Set, c)
	}
	p.edits = append(p.edits, e)
}

// seen are the edits that the phone in hand knows.
func (p *pen) seen() []*logbook.Edit {
	ph := p.phones[p.hand]
	if !ph.apart {
		return p.edits
	}
	known := p.edits[:ph.saw:ph.saw]
	for _, e := range p.edits[ph.saw:] {
		if e.Dot.Line == (logbook.Line{7: byte(7 + p.hand)}) {
			known = append(known, e)
		}
	}
	return known
}

// known is the book as the phone in hand shows it.
func (p *pen) known() *logbook.Book {
	if p.phones[p.hand].apart {
		return bookOf(p.seen())
	}
	return p.all()
}

// all is the book of every edit.
func (p *pen) all() *logbook.Book {
	for ; p.merged < len(p.edits); p.merged++ {
		mustApply(p.book, p.edits[p.merged])
	}
	return p.book
}

func bookOf(edits []*logbook.Edit) *logbook.Book {
	b := logbook.NewBook(production, kinds.Rules)
	for _, e := range edits {
		mustApply(b, e)
	}
	return b
}

// mustApply: a refused edit is a fault of the test.
func mustApply(b *logbook.Book, e *logbook.Edit) {
	if err := b.Apply(e); err != nil {
		text, _ := e.MarshalJSON()
		panic(fmt.Sprintf("an edit of %s is refused: %v\n%s", e.Kind, err, text))
	}
}
