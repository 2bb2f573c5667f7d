package stage

import (
	"encoding/binary"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// Diary writes the edits of an invented production for tests. Its clock stands
// until a test turns it.
type Diary struct {
	T     *testing.T
	Edits []*logbook.Edit
	kinds map[logbook.ID]logbook.Kind
	Clock logbook.Millis
	next  uint32
}

func (d *Diary) ProductionID() logbook.ID { return logbook.ID{15: 1} }

// Minute turns the clock to so many minutes after the day began.
func (d *Diary) Minute(m int) { d.Clock = DayBegins + logbook.Millis(m)*60000 }

// Add makes a record of fields and their values in JSON.
func (d *Diary) Add(kind logbook.Kind, fields ...string) logbook.ID {
	d.T.Helper()
	d.next++
	id := logbook.ID{6: 0x70, 8: 0x80}
	binary.BigEndian.PutUint32(id[12:], d.next+100)
	d.Write(id, kind, fields...)
	return id
}

// Set changes fields of a record, over what the diary wrote before.
func (d *Diary) Set(id logbook.ID, fields ...string) {
	d.T.Helper()
	d.Write(id, d.kinds[id], fields...)
}

func (d *Diary) Write(id logbook.ID, kind logbook.Kind, fields ...string) {
	d.T.Helper()
	d.kinds[id] = kind
	e := &logbook.Edit{Production: d.ProductionID(), Kind: kind, Record: id, Device: logbook.ID{15: 9}, By: "Ada", At: d.Clock,
		Dot: logbook.Dot{Line: logbook.Line{7: 7}, N: uint64(len(d.Edits) + 1)}}
	for i := 0; i < len(fields); i += 2 {
		value, err := logbook.ParseValue(fields[i+1])
		if err != nil {
			d.T.Fatalf("%s %s: %v", kind, fields[i], err)
		}
		c := logbook.Change{Field: fields[i], Value: value}
		for _, old := range d.Edits {
			if _, ok := old.Change(fields[i]); ok && old.Record == id {
				c.Over = append(c.Over, old.Dot)
			}
		}
		e.Set = append(e.Set, c)
	}
	d.Edits = append(d.Edits, e)
}

// Book merges everything written; a refused edit is a fault of the test.
func (d *Diary) Book() *logbook.Book {
	d.T.Helper()
	b := logbook.NewBook(d.ProductionID(), kinds.Rules)
	for _, e := range d.Edits {
		if err := b.Apply(e); err != nil {
			d.T.Fatalf("edit of %s is refused: %v", e.Kind, err)
		}
	}
	return b
}

// DayBegins is minute 0 of every diary.
var DayBegins = logbook.MillisOf(time.Date(2026, 3, 4, 8, 0, 0, 0, time.UTC))

func NewDiary(t *testing.T) *Diary {
	t.Helper()
	d := &Diary{T: t, kinds: map[logbook.ID]logbook.Kind{}, Clock: DayBegins}
	d.Write(d.ProductionID(), kinds.Production, "title", `"Harbour"`, "timeZone", `"Europe/Oslo"`, "frameRate", `"25"`, "gelFamily", `"based5500"`)
	return d
}

func Minute(m int) logbook.Millis { return DayBegins + logbook.Millis(m)*60000 }

// Stamp writes an instant as a value.
func Stamp(m int) string { return stamp(Minute(m)) }

func stamp(at logbook.Millis) string { return `"` + at.Time().Format(time.RFC3339) + `"` }

func Ref(id logbook.ID) string { return `"` + id.String() + `"` }

func Quoted(s string) string { return `"` + s + `"` }
