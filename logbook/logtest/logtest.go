// Package logtest is what the tests of several rooms share: small ids and edits, and
// the merge stated a second time. It knows the engine alone, so that any room's tests
// can use it; those of the engine stand outside of its package for that.
package logtest

import (
	"fmt"
	"sync"
	"testing"

	"evenwhite/logbook"
)

// ID makes an id of a number. Production is that of the edits made here.
func ID(n int) logbook.ID {
	return logbook.ID{0: 1, 6: 0x70, 8: 0x80, 14: byte(n >> 8), 15: byte(n)}
}

// Production is the production of the tests.
var Production = ID(1)

// Line makes a line of a number.
func Line(n int) logbook.Line { return logbook.Line{0xaa, byte(n >> 8), byte(n)} }

// Dot is the nth of such a line.
func Dot(line int, n uint64) logbook.Dot { return logbook.Dot{Line: Line(line), N: n} }

// Lines returns a source of lines that never repeats, for logs and replicas to draw from.
func Lines(start byte) func() logbook.Line {
	var mu sync.Mutex
	n := byte(0)
	return func() logbook.Line {
		mu.Lock()
		defer mu.Unlock()
		n++
		return logbook.Line{start, n}
	}
}

// ClipEdit is the nth edit of a line: one field of the record 2.
func ClipEdit(line int, n uint64, field string, value logbook.Value, over ...logbook.Dot) *logbook.Edit {
	return &logbook.Edit{
		Production: Production, Record: ID(2), Device: ID(60 + line), Kind: "clip", Dot: Dot(line, n),
		At: logbook.Millis(n), By: fmt.Sprintf("phone %d", line), Set: []logbook.Change{{Field: field, Value: value, Over: over}},
	}
}

// Book merges edits. A refused one is kept in the book.
func Book(rules logbook.Rules, edits ...*logbook.Edit) *logbook.Book {
	b := logbook.NewBook(Production, rules)
	for _, e := range edits {
		_ = b.Apply(e)
	}
	return b
}

// Open opens the log of the production, whose lines begin with a byte.
func Open(t testing.TB, store logbook.Store, rules logbook.Rules, start byte) *logbook.Log {
	t.Helper()
	l, err := logbook.OpenLog(store, Production, rules, Lines(start))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// SomeID is a reference to a record that is nowhere, in JSON.
const SomeID = `"018f6d2a-0000-7000-8000-000000000001"`
