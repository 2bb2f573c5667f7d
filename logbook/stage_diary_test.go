package logbook

import (
	"encoding/binary"
	"testing"
	"time"
)

// diary writes the edits of an invented production for tests. Its clock stands
// until a test turns it.
type diary struct {
	t     *testing.T
	edits []*Edit
	kinds map[ID]Kind
	clock Millis
	next  uint32
}

func (d *diary) productionID() ID { return ID{15: 1} }

// minute turns the clock to so many minutes after the day began.
func (d *diary) minute(m int) { d.clock = dayBegins + Millis(m)*60000 }

// add makes a record of fields and their values in JSON.
func (d *diary) add(kind Kind, fields ...string) ID {
	d.t.Helper()
	d.next++
	id := ID{6: 0x70, 8: 0x80}
	binary.BigEndian.PutUint32(id[12:], d.next+100)
	d.write(id, kind, fields...)
	return id
}

// set changes fields of a record, over what the diary wrote before.
func (d *diary) set(id ID, fields ...string) {
	d.t.Helper()
	d.write(id, d.kinds[id], fields...)
}

func (d *diary) write(id ID, kind Kind, fields ...string) {
	d.t.Helper()
	d.kinds[id] = kind
	e := &Edit{Production: d.productionID(), Kind: kind, Record: id, Device: ID{15: 9}, By: "Ada", At: d.clock,
		Dot: Dot{Line{7: 7}, uint64(len(d.edits) + 1)}}
	for i := 0; i < len(fields); i += 2 {
		value, err := ParseValue(fields[i+1])
		if err != nil {
			d.t.Fatalf("%s %s: %v", kind, fields[i], err)
		}
		c := Change{Field: fields[i], Value: value}
		for _, old := range d.edits {
			if _, ok := old.Change(fields[i]); ok && old.Record == id {
				c.Over = append(c.Over, old.Dot)
			}
		}
		e.Set = append(e.Set, c)
	}
	d.edits = append(d.edits, e)
}

// book merges everything written; a refused edit is a fault of the test.
func (d *diary) book() *Book {
	d.t.Helper()
	b := NewBook(d.productionID(), KindRules)
	for _, e := range d.edits {
		if err := b.Apply(e); err != nil {
			d.t.Fatalf("edit of %s is refused: %v", e.Kind, err)
		}
	}
	return b
}

// dayBegins is minute 0 of every diary.
var dayBegins = MillisOf(time.Date(2026, 3, 4, 8, 0, 0, 0, time.UTC))

func newDiary(t *testing.T) *diary {
	t.Helper()
	d := &diary{t: t, kinds: map[ID]Kind{}, clock: dayBegins}
	d.write(d.productionID(), KindProduction, "title", `"Harbour"`, "timeZone", `"Europe/Oslo"`, "frameRate", `"25"`, "gelFamily", `"based5500"`)
	return d
}

func minute(m int) Millis { return dayBegins + Millis(m)*60000 }

// stamp writes an instant as a value.
func stamp(m int) string { return `"` + minute(m).Time().Format(time.RFC3339) + `"` }

func ref(id ID) string { return `"` + id.String() + `"` }

func quoted(s string) string { return `"` + s + `"` }
