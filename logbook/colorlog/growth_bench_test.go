package colorlog

import (
	"iter"
	"runtime"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/growth"
)

// The first byte is that of the first row, from when the book is frozen for it; the peak is what
// is held beside the book while the whole log is written as CSV, counted after collections.
func BenchmarkGrowthColorLog(b *testing.B) {
	growth.Each(b, func(b *testing.B, size growth.Size) {
		l := growth.Log(b, size)
		runtime.GC()
		var before runtime.MemStats
		runtime.ReadMemStats(&before)
		start := time.Now()
		frozen, err := l.Freeze()
		if err != nil {
			b.Fatal(err)
		}
		defer frozen.Close()
		var head Head
		frozen.Read(func(book *logbook.Book) { head = HeadOf(book, Scope{}, Origin{Program: "bench", Log: frozen.Head()}) })
		var first time.Duration
		var c counter
		err = WriteCSV(&c, head, noting(Rows(frozen, Scope{}), func() { first = time.Since(start) }))
		if err != nil || first == 0 {
			b.Fatalf("got no row (%v)", err)
		}
		growth.Report(b, size, "colorlog_first_byte_ms", growth.Milliseconds(first))
		growth.Report(b, size, "colorlog_peak_mb", max(0, float64(c.most)-float64(before.HeapAlloc))/1e6)
	})
}

// noting says when the first row comes.
func noting(rows iter.Seq2[Row, error], first func()) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		came := false
		for row, err := range rows {
			if !came {
				first()
				came = true
			}
			if !yield(row, err) {
				return
			}
		}
	}
}
