package exchange_test

import (
	"encoding/binary"
	"fmt"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
	"evenwhite/testdata/setlog"
)

// setlogWork is the workload setlog-1: 20 devices that hold 2,000 records are cut
// off, make 500 edits each, and meet again.
type setlogWork struct {
	base  []*logbook.Edit
	edits []*logbook.Edit    // over as each device saw it
	last  map[cellKey]values // per cell the last value of each device that wrote it
}

type cellKey struct {
	record logbook.ID
	field  string
}

type values map[int]logbook.Value

func setlogID(record int) logbook.ID {
	id := logtest.Production
	binary.BigEndian.PutUint32(id[10:14], uint32(record+1))
	return id
}

func readSetlog(t testing.TB) *setlogWork {
	base, err := setlog.Base()
	if err != nil {
		t.Skipf("SKIPPED: the workload setlog-1 is not beside the project: %v", err)
	}
	s := &setlogWork{last: map[cellKey]values{}}
	for i, record := range base {
		v, err := logbook.ParseValue(record)
		if err != nil {
			t.Fatal(err)
		}
		e := &logbook.Edit{
			Production: logtest.Production, Kind: "setlogEntry", Record: setlogID(i), Device: logtest.ID(100 + i%20),
			Dot: logtest.Dot(1000+i%20, uint64(i/20+1)), By: "base",
		}
		for field, value := range v.Members() {
			e.Set = append(e.Set, logbook.Change{Field: field, Value: value})
		}
		s.base = append(s.base, e)
	}
	edits, err := setlog.Edits()
	if err != nil {
		t.Fatal(err)
	}
	mine := map[int]map[cellKey]logbook.Dot{}
	for _, row := range edits {
		value, err := logbook.ParseValue(row.Value)
		if err != nil {
			t.Fatal(err)
		}
		key := cellKey{setlogID(row.Record), row.Field}
		if mine[row.Device] == nil {
			mine[row.Device] = map[cellKey]logbook.Dot{}
		}
		over, ok := mine[row.Device][key]
		if !ok {
			over = s.base[row.Record].Dot
		}
		dot := logtest.Dot(2000+row.Device, uint64(row.N+1))
		mine[row.Device][key] = dot
		if s.last[key] == nil {
			s.last[key] = values{}
		}
		s.last[key][row.Device] = value
		s.edits = append(s.edits, &logbook.Edit{
			Production: logtest.Production, Kind: "setlogEntry", Record: key.record, Device: logtest.ID(100 + row.Device),
			Dot: dot, At: logbook.Millis(row.Claimed), By: fmt.Sprintf("device %d", row.Device),
			Set: []logbook.Change{{Field: row.Field, Value: value, Over: []logbook.Dot{over}}},
		})
	}
	return s
}

// distinct counts different values; equal decimals are one.
func (v values) distinct() int {
	var found []logbook.Value
next:
	for _, a := range v {
		for _, b := range found {
			if a.Equal(b) {
				continue next
			}
		}
		found = append(found, a)
	}
	return len(found)
}

func (s *setlogWork) merged(t testing.TB) *logbook.Book {
	b := logbook.NewBook(logtest.Production, kinds.Rules)
	for _, e := range append(append([]*logbook.Edit(nil), s.base...), s.edits...) {
		if err := b.Apply(e); err != nil {
			t.Fatal(err)
		}
	}
	return b
}

func TestSetlogKeepsEveryValue(t *testing.T) {
	s := readSetlog(t)
	b := s.merged(t)
	heads, dots, contended, falseConflicts, wanted := 0, 0, 0, 0, 0
	for key, last := range s.last {
		v, ok := b.Record(key.record)
		if !ok {
			t.Fatalf("record %s is not there", key.record)
		}
		f := v.Field(key.field)
		found := values{}
		for i, h := range f.Heads {
			found[i] = h.Value
		}
		heads, dots, wanted = heads+found.distinct(), dots+len(f.Heads), wanted+last.distinct()
		if last.distinct() > 1 {
			contended++
		}
		if f.Conflict != (last.distinct() > 1) {
			falseConflicts++
		}
		for _, value := range last {
			kept := false
			for _, h := range f.Heads {
				kept = kept || h.Value.Equal(value)
			}
			if !kept {
				t.Errorf("record %s, %s: the value %s is lost", key.record, key.field, value)
			}
		}
	}
	t.Logf("%d cells, %d contended, %d values in %d heads, %d false conflicts", len(s.last), contended, heads, dots, falseConflicts)
	for _, c := range []struct {
		what      string
		got, want int
	}{
		{"cells", len(s.last), 7606}, {"contended cells", contended, 1680}, {"values kept", heads, wanted}, {"values", wanted, 9671},
		{"head dots", dots, 9845}, {"false conflicts", falseConflicts, 0},
	} {
		if c.got != c.want {
			t.Errorf("%s: got %d, want %d", c.what, c.got, c.want)
		}
	}
}
