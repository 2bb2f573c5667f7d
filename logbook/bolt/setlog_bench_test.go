package bolt

import (
	"encoding/binary"
	"fmt"
	"path/filepath"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"
	"evenwhite/testdata/setlog"
)

func setlogEntry(b *testing.B, e *logbook.Edit) logbook.Entry {
	e.Production, e.Kind = storetest.Production, "setlogEntry"
	bytes, err := logbook.EncodeEdit(e)
	if err != nil {
		b.Fatal(err)
	}
	return logbook.Entry{Dot: e.Dot, Hash: logbook.HashOf(bytes), Bytes: bytes, Via: e.Device, Received: e.At}
}

func setlogID(kind byte, n int) (id logbook.ID) {
	id[0] = kind
	binary.BigEndian.PutUint32(id[10:], uint32(n+1))
	return id
}

func setlogBase(b *testing.B) (entries []logbook.Entry) {
	base, err := setlog.Base()
	if err != nil {
		b.Skipf("SKIPPED: the workload setlog-1 is not beside the project: %v", err)
	}
	for i, record := range base {
		v, err := logbook.ParseValue(record)
		if err != nil {
			b.Fatal(err)
		}
		e := &logbook.Edit{Record: setlogID(1, i), Device: setlogID(2, i%20), By: "base",
			Dot: logbook.Dot{Line: logbook.Line{1, byte(i % 20)}, N: uint64(i/20 + 1)}}
		for field, value := range v.Members() {
			e.Set = append(e.Set, logbook.Change{Field: field, Value: value})
		}
		entries = append(entries, setlogEntry(b, e))
	}
	return entries
}

func setlogEdits(b *testing.B, base []logbook.Entry) (entries []logbook.Entry) {
	type cell struct {
		device, record int
		field          string
	}
	edits, err := setlog.Edits()
	if err != nil {
		b.Fatal(err)
	}
	seen := map[cell]logbook.Dot{}
	for _, row := range edits {
		value, err := logbook.ParseValue(row.Value)
		if err != nil {
			b.Fatal(err)
		}
		at := cell{row.Device, row.Record, row.Field}
		over, ok := seen[at]
		if !ok {
			over = base[row.Record].Dot
		}
		dot := logbook.Dot{Line: logbook.Line{2, byte(row.Device)}, N: uint64(row.N + 1)}
		seen[at] = dot
		entries = append(entries, setlogEntry(b, &logbook.Edit{
			Record: setlogID(1, row.Record), Device: setlogID(2, row.Device),
			By: fmt.Sprintf("device %d", row.Device), Dot: dot, At: logbook.Millis(row.Claimed),
			Set: []logbook.Change{{Field: row.Field, Value: value, Over: []logbook.Dot{over}}},
		}))
	}
	return entries
}

// compactSize is the size of a compact store that holds entries.
func compactSize(b *testing.B, entries []logbook.Entry) int64 {
	path := filepath.Join(b.TempDir(), "log.db")
	s, err := Open(path)
	if err != nil {
		b.Fatal(err)
	}
	begin(b, s)
	for len(entries) > 0 {
		n := min(len(entries), 500)
		add(b, s, entries[:n]...)
		entries = entries[n:]
	}
	if err := s.Close(); err != nil {
		b.Fatal(err)
	}
	_, after, err := Compact(path)
	if err != nil {
		b.Fatal(err)
	}
	return after
}

// BenchmarkStored measures what an edit of setlog-1 takes in a compact store, the
// base's share left out.
func BenchmarkStored(b *testing.B) {
	base := setlogBase(b)
	edits := setlogEdits(b, base)
	perEdit, bytes := 0.0, 0
	for _, e := range edits {
		bytes += len(e.Bytes)
	}
	for b.Loop() {
		with := compactSize(b, append(append([]logbook.Entry(nil), base...), edits...))
		perEdit = float64(with-compactSize(b, base)) / float64(len(edits))
	}
	b.ReportMetric(perEdit, "setlog1.stored_bytes_per_edit")
	b.ReportMetric(float64(bytes)/float64(len(edits)), "edit_bytes")
}
