package main

import (
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"testing"

	"evenwhite/logbook"
	"evenwhite/testdata/setlog"
)

// A starWork is what devices hold together, and what each edits while it is apart.
type starWork struct {
	base  [][]logbook.Change // per record
	edits [][]starEdit       // per device, in its order
}

type starEdit struct {
	record     int
	field      string
	value      logbook.Value
	at, offset logbook.Millis
}

// starKind is a kind of record that the server does not know: kept, merged and
// handed on like any other.
const starKind logbook.Kind = "setlogEntry"

// starCounts are what a workload must come to.
type starCounts struct {
	cells     int // fields that were written while the devices were apart
	values    int // that differ, in those: all are kept
	conflicts int // of those fields
}

// setlogWork is the workload setlog-1.
func setlogWork(t testing.TB) starWork {
	base, err := setlog.Base()
	if err != nil {
		t.Skipf("SKIPPED: the workload setlog-1 is not beside the project: %v", err)
	}
	w := starWork{edits: make([][]starEdit, setlog.Devices)}
	for _, record := range base {
		var set []logbook.Change
		for field, value := range parsed(t, record).Members() {
			set = append(set, logbook.Change{Field: field, Value: value})
		}
		w.base = append(w.base, set)
	}
	edits, err := setlog.Edits()
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range edits {
		w.edits[e.Device] = append(w.edits[e.Device], starEdit{
			e.Record, e.Field, parsed(t, e.Value), logbook.Millis(e.Claimed), logbook.Millis(e.True - e.Claimed),
		})
	}
	return w
}

func parsed(t testing.TB, text string) logbook.Value {
	v, err := logbook.ParseValue(text)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// drawnWork is a small workload in which many write to few cells, often the same
// values in other words.
func drawnWork(devices, records, edits int, chance *rand.Rand) starWork {
	fields := []string{"cct", "duv", "lux", "note", "status"}
	values := []logbook.Value{"3200", "3200.0", "5600", `"open"`, `"ok"`, "null", `{"x":0.31,"y":0.33}`}
	w := starWork{edits: make([][]starEdit, devices)}
	for range records {
		var set []logbook.Change
		for _, field := range fields[:2+chance.IntN(3)] {
			set = append(set, logbook.Change{Field: field, Value: values[chance.IntN(len(values))]})
		}
		w.base = append(w.base, set)
	}
	for d := range devices {
		clock := starBegan + logbook.Millis(chance.IntN(1e8))
		for range edits {
			clock += logbook.Millis(chance.IntN(60_000))
			w.edits[d] = append(w.edits[d], starEdit{
				chance.IntN(records), fields[chance.IntN(len(fields))], values[chance.IntN(len(values))], clock, logbook.Millis(-1000 * d),
			})
		}
	}
	return w
}

// starBegan is when the records of a workload were made.
const starBegan logbook.Millis = 1_767_000_000_000

// recordID is a UUID of version 7 made at a time: what devices draw.
func recordID(at logbook.Millis, chance *rand.Rand) (id logbook.ID) {
	binary.BigEndian.PutUint64(id[:8], uint64(at)<<16|0x7000|chance.Uint64()&0xfff)
	binary.BigEndian.PutUint64(id[8:], 1<<63|chance.Uint64()>>2)
	return id
}

func labelOf(device int) string { return fmt.Sprintf("device %d", device) }

// want counts the last value of each device in each cell: all of them must be kept.
func (w starWork) want() (c starCounts) {
	type cell struct {
		record int
		field  string
	}
	last := map[cell]map[int]logbook.Value{}
	for device, edits := range w.edits {
		for _, e := range edits {
			at := cell{e.record, e.field}
			if last[at] == nil {
				last[at] = map[int]logbook.Value{}
			}
			last[at][device] = e.value
		}
	}
	for _, of := range last {
		var values []logbook.Value
		for _, v := range of {
			values = append(values, v)
		}
		n := distinct(values)
		c.cells++
		c.values += n
		if n > 1 {
			c.conflicts++
		}
	}
	return c
}

// distinct counts values that are not equal.
func distinct(values []logbook.Value) (n int) {
next:
	for i, v := range values {
		for _, other := range values[:i] {
			if v.Equal(other) {
				continue next
			}
		}
		n++
	}
	return n
}
