package growth

import (
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// What the log holds in memory is counted after a collection, store and book together.
func BenchmarkGrowthOpen(b *testing.B) {
	Each(b, func(b *testing.B, size Size) {
		path := Copy(b, size, filepath.Join(b.TempDir(), "log.db"))
		before := heap()
		start := time.Now()
		l, store := Open(b, path)
		Report(b, size, "open_ms", Milliseconds(time.Since(start)))
		Report(b, size, "bytes_per_edit", float64(heap()-before)/float64(size.Edits))
		runtime.KeepAlive(l)
		if err := store.Close(); err != nil {
			b.Fatal(err)
		}
	})
}

func heap() uint64 {
	runtime.GC()
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// One edit of one clip, as phones send it, to the commit and the merge.
func BenchmarkGrowthPush(b *testing.B) {
	Each(b, func(b *testing.B, size Size) {
		l := Log(b, size)
		var clip logbook.View
		l.Read(func(book *logbook.Book) { clip = book.Records(kinds.Clip)[size.Edits/10] })
		line := NextLine()
		Times(b, size, "push_ms", 50, func(i int) {
			e := &logbook.Edit{
				Production: Production, Kind: kinds.Clip, Record: clip.ID, Device: logbook.ID{15: 1}, Dot: logbook.Dot{Line: line, N: uint64(i) + 1},
				At: began, Set: []logbook.Change{{Field: "card", Value: logbook.TextValue("A02")}},
			}
			if answers, err := l.Push([]*logbook.Edit{e}, e.Device, e.At); err != nil || answers[0].Outcome != logbook.AnswerTaken {
				b.Fatalf("got %v, %v; want it taken", answers, err)
			}
		})
	})
}
