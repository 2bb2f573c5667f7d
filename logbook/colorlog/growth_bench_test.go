package colorlog

import (
	"io"
	"iter"
	"runtime"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/states"
)

// looked is after how many rows what is held is counted: a collection of a long log's book takes
// a second.
const looked = 5000

// The first byte is that of the first row, from when the book is frozen for it; the peak is what
// is held beside the book while the whole log is written as CSV, counted after collections.
func BenchmarkGrowthColorLog(b *testing.B) {
	growth.Each(b, func(b *testing.B, size growth.Size) {
		l := growth.Log(b, size)
		before, most := held(), uint64(0)
		start := time.Now()
		frozen, err := l.Freeze()
		if err != nil {
			b.Fatal(err)
		}
		defer frozen.Close()
		var digests states.Digests
		state, err := digests.At(l.Page, l.Production(), frozen.Head())
		if err != nil {
			b.Fatal(err)
		}
		var head Head
		frozen.Read(func(book *logbook.Book) { head = HeadOf(book, Scope{}, Origin{Program: "bench", State: state}) })
		var first time.Duration
		err = WriteCSV(io.Discard, head, noting(Rows(frozen, Scope{}), func(row int) {
			switch {
			case row == 0:
				first = time.Since(start)
			case row%looked == 0:
				most = max(most, held())
			}
		}))
		if err != nil || most == 0 {
			b.Fatalf("got too few rows (%v)", err)
		}
		growth.Report(b, size, "colorlog_first_byte_ms", growth.Milliseconds(first))
		growth.Report(b, size, "colorlog_peak_mb", max(0, float64(most)-float64(before))/1e6)
	})
}

func held() uint64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// noting tells of each row that comes, by its number from 0 on.
func noting(rows iter.Seq2[Row, error], note func(row int)) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		n := 0
		for row, err := range rows {
			note(n)
			if n++; !yield(row, err) {
				return
			}
		}
	}
}
