package main

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"sync"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
)

// starDevice is one device of a star.
type starDevice struct {
	pairing.Admission
	label   string
	wire    rowsWire
	chance  *rand.Rand
	replica *exchange.Replica
	log     logbook.Line
	dot     logbook.Dot     // of the latest edit of this start
	apart   []*logbook.Edit // made while the devices were apart

	mu     sync.Mutex    // where it listens while it works
	cursor string        // as the server gave it last
	came   []logbook.Dot // of edits of others, since somebody looked
}

// restart begins a new line, as every start of a program does.
func (d *starDevice) restart() { d.dot = logbook.Dot{Line: lineFrom(d.chance)} }

func lineFrom(chance *rand.Rand) (l logbook.Line) {
	for i := range l {
		l[i] = byte(chance.Uint32())
	}
	return l
}

// write makes an edit as a person would.
func (d *starDevice) write(production, record logbook.ID, set []logbook.Change, at, offset logbook.Millis) *logbook.Edit {
	d.dot.N++
	e := &logbook.Edit{
		Production: production, Kind: starKind, Record: record, Device: d.Device, Dot: d.dot, At: at, Offset: offset, By: d.label, Set: set,
	}
	bytesOf(e) // brings it into order
	d.replica.Hold(e)
	return e
}

// replace makes a change of one field over what the device sees.
func (d *starDevice) replace(record logbook.ID, field string, value logbook.Value) []logbook.Change {
	v, ok := d.replica.Book().RecordOf(starKind, record)
	if !ok {
		panic(fmt.Sprintf("%s does not hold the record %s", d.label, record))
	}
	return []logbook.Change{logbook.Replace(v, field, value)}
}

// exchange is one exchange.
func (d *starDevice) exchange() (more bool, err error) {
	_, a, err := d.wire.exchange(d.replica, d.log)
	if err != nil {
		return false, err
	}
	for _, one := range a.Answers {
		if one.Outcome != logbook.AnswerTaken && one.Outcome != logbook.AnswerRepeat {
			return false, fmt.Errorf("edit %s was answered with %s: %s", one.Dot, one.Outcome, one.Reason)
		}
	}
	d.cursor = a.Cursor
	for _, e := range a.Edits {
		d.came = append(d.came, e.Dot)
	}
	d.log, more = d.replica.Take(a)
	return more, nil
}

// settleUp exchanges until there is nothing more to say.
func (d *starDevice) settleUp() error {
	for {
		if more, err := d.exchange(); err != nil || !more {
			return err
		}
	}
}

// digest is a hash of everything that a book shows of the workload, and of what is
// in conflict.
func digest(b *logbook.Book) string {
	h := sha256.New()
	for _, v := range b.AllRecords(starKind) {
		fmt.Fprintln(h, v.ID, v.ETag())
		for _, f := range v.Fields() {
			fmt.Fprintln(h, f.Name, f.Shown.Dot, f.Conflict)
			for _, head := range f.Heads {
				fmt.Fprintln(h, head.Dot, head.Value)
			}
		}
	}
	return hex.EncodeToString(h.Sum(nil))
}
