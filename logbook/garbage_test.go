package logbook_test

import (
	"runtime/debug"
	"testing"

	"evenwhite/logbook"
)

// A book that is filled and a large one that is read at once: who spares is heard, and in
// whatever order they end, at the end all is as it was.
func TestGarbageIsSparedUntilNobodyAsks(t *testing.T) {
	defer debug.SetGCPercent(debug.SetGCPercent(90))
	percent := func() int {
		p := debug.SetGCPercent(100)
		debug.SetGCPercent(p)
		return p
	}
	held := make([]byte, 64<<20)
	want := func(what string, least, most int) {
		t.Helper()
		if p := percent(); p < least || p > most {
			t.Errorf("%s: got %d percent, want %d to %d", what, p, least, most)
		}
	}
	for range 2 {
		read := logbook.Spare(16 << 20)
		want("a book is read", 1, 25)
		filled := logbook.BeginFilling()
		want("another is filled meanwhile", 1, 25)
		read()
		read()
		want("the other is filled alone", 400, 400)
		filled()
		want("nobody asks", 90, 90)
	}
	read := logbook.Spare(1 << 40)
	want("what may lie is more than what usually does", 90, 90)
	read()
	debug.SetGCPercent(-1)
	read = logbook.Spare(16 << 20)
	want("it is switched off", -1, -1)
	read()
	want("it stays off", -1, -1)
	held[0]++
}
