package handover_test

import (
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"sync"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/advice"
	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/glance"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/handover"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// theLongJob is feature-1: 28,800 clips of 60 days.
var theLongJob = sync.OnceValue(func() *logbook.Book { return longJob(60) })

func longJob(days int) *logbook.Book {
	b := logbook.NewBook(growth.Production, kinds.Rules)
	for _, e := range growth.LongJob(days) {
		if err := b.Apply(e); err != nil {
			panic(err)
		}
	}
	b.Settle()
	return b
}

func milliseconds(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }

// Each form of the whole log, one after another.
func BenchmarkPostForms(b *testing.B) {
	book := theLongJob()
	for _, f := range handover.Forms() {
		b.Run(f.Name, func(b *testing.B) {
			for b.Loop() {
				log, err := handover.Of(book, colorlog.Scope{}, colorlog.Origin{Program: "bench"})
				if err != nil {
					b.Fatal(err)
				}
				if err := f.Write(io.Discard, log); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(milliseconds(b.Elapsed())/float64(b.N), "post."+f.Name+"_ms")
		})
	}
}

// How long it takes until a download begins, of the form that takes longest.
func BenchmarkPostFirstByte(b *testing.B) {
	book := theLongJob()
	for b.Loop() {
		longest := time.Duration(0)
		for _, f := range handover.Forms() {
			start := time.Now()
			log, err := handover.Of(book, colorlog.Scope{}, colorlog.Origin{Program: "bench"})
			if err != nil {
				b.Fatal(err)
			}
			if err := f.Write(begun{}, log); !errors.Is(err, errBegun) {
				b.Fatal(f.Name, err)
			}
			longest = max(longest, time.Since(start))
		}
		b.ReportMetric(milliseconds(longest), "post.first_byte_ms")
	}
}

// begun ends a download with its first piece.
type begun struct{}

var errBegun = errors.New("it has begun")

func (begun) Write([]byte) (int, error) { return 0, errBegun }

// What the table takes with its corrections, over what it takes without. Those of a set-up are worked out once
// more beside its rows, so that a machine that others use is as slow with both.
func BenchmarkPostCorrections(b *testing.B) {
	book := theLongJob()
	head := colorlog.HeadOf(book, colorlog.Scope{}, colorlog.Origin{Program: "bench"})
	for b.Loop() {
		csv, rows, start := colorlog.NewCSV(io.Discard, head), 0, time.Now()
		var beside, alone time.Duration
		var last logbook.ID
		summarizer := glance.NewSummarizer(book)
		for row, err := range colorlog.Rows(book, colorlog.Scope{}) {
			if err == nil {
				err = csv.Row(&row)
			}
			if rows++; err != nil {
				b.Fatal(err)
			}
			if id := row.Find.SetUpRecord; id != last {
				began := time.Now()
				setUp, _ := book.RecordOf(kinds.SetUp, id)
				s, clips := summarizer.Summarize(setUp).SetUp(), book.Referring(kinds.Clip, "setUp", id)
				work := time.Now()
				for _, clip := range clips {
					_, _ = advice.CorrectIn(s, clip) // the reason is in the row
				}
				alone, beside, last = alone+time.Since(work), beside+time.Since(began), id
			}
		}
		all := time.Since(start) - beside
		b.ReportMetric(float64(all)/float64(all-alone), "post.corrections_ratio")
		b.ReportMetric(float64(rows), "rows")
	}
}

// What is held beside the book while the log is written, counted after a collection, at as many places of a
// short job as of a long one. What is made once for all jobs was made before.
func BenchmarkPostPeak(b *testing.B) {
	for _, days := range []int{15, 60} {
		b.Run(fmt.Sprint(days, "d"), func(b *testing.B) {
			form, _ := handover.FormOf("csv")
			write := func(book *logbook.Book, to io.Writer) {
				log, err := handover.Of(book, colorlog.Scope{}, colorlog.Origin{Program: "bench"})
				if err != nil {
					b.Fatal(err)
				}
				if err := form.Write(to, log); err != nil {
					b.Fatal(err)
				}
			}
			write(longJob(1), io.Discard)
			book := longJob(days)
			for b.Loop() {
				p := &peak{before: held(), every: uint64(days) * 32 << 10}
				write(book, p)
				b.ReportMetric(max(0, float64(p.most)-float64(p.before))/1e6, fmt.Sprintf("post.csv_peak_mb_%dd", days))
			}
		})
	}
}

type peak struct{ written, before, most, every uint64 }

func (p *peak) Write(piece []byte) (int, error) {
	if was := p.written / p.every; (p.written+uint64(len(piece)))/p.every != was {
		p.most = max(p.most, held())
	}
	p.written += uint64(len(piece))
	return len(piece), nil
}

func held() uint64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// Clips by a pattern, by a frame and by the day, take and camera: the 99th of a hundred. And by how far
// off they are, as one that keeps what is off is asked, alone and with the others.
func BenchmarkPostFind(b *testing.B) {
	l := theLongLog(b)
	var day logbook.ID
	l.Read(func(book *logbook.Book) { day = book.Records(kinds.Day)[30].ID })
	for name, asked := range map[string][]glance.ClipQuery{
		"post.find_p99_ms": {{Name: "A*7"}, {From: "10:00:00:00"}, {From: "23:59:00:00", To: "00:01:00:00", Camera: "A"},
			{Day: day, Take: "3", Camera: "B"}, {Scene: "no such scene"}},
		"post.find_off_p99_ms": {{Least: "1 mired"}, {Deviation: "setting-off-aim", Least: "20 mired", Camera: "B"},
			{Least: "4 steps", Name: "A*7"}, {Deviation: "cameras-differ", Least: "0.001 Duv"}, {Least: "1 mired", From: "10:00:00:00"}},
	} {
		b.Run(name, func(b *testing.B) {
			var kept deviation.Kept
			for _, q := range asked { // the first one finds what is kept, and whether there is anything to find
				nothing := q.Scene != "" || q.Deviation == "cameras-differ"
				if found := findIn(b, l, &kept, q); (len(found.Clips) == 0) != nothing {
					b.Fatalf("%+v: got %d clips and %d more", q, len(found.Clips), found.More)
				}
			}
			for b.Loop() {
				var took []time.Duration
				for i := range 100 {
					start := time.Now()
					findIn(b, l, &kept, asked[i%len(asked)])
					took = append(took, time.Since(start))
				}
				slices.Sort(took)
				b.ReportMetric(milliseconds(took[98]), name)
			}
		})
	}
}

// findIn asks as the service does.
func findIn(b *testing.B, l *logbook.Log, kept *deviation.Kept, q glance.ClipQuery) (found glance.ClipList) {
	f, err := l.Freeze()
	if err != nil {
		b.Fatal(err)
	}
	defer f.Close()
	var off [][]deviation.OffClip
	if q.AsksWhatIsOff() {
		if off, err = kept.OffClips(f, q.Scope(), 1_950_000_000_000); err != nil {
			b.Fatal(err)
		}
	}
	if f.Read(func(book *logbook.Book) { found, err = glance.SearchClips(book, q, off) }); err != nil {
		b.Fatal(err)
	}
	return found
}

// theLongLog is feature-1 with the timecode of each clip, by the time of day; two of three have an end.
func theLongLog(b *testing.B) *logbook.Log {
	l, err := logbook.OpenLog(logbook.NewMemory(), growth.Production, kinds.Rules, logtest.Lines(1))
	if err != nil {
		b.Fatal(err)
	}
	edits := growth.LongJob(60)
	for i, e := range edits {
		if _, made := e.Change("camera"); e.Kind == kinds.Clip && made {
			e.Set = append(e.Set, logbook.Change{Field: "timecode/start", Value: logbook.TextValue(e.At.Time().Format("15:04:05:00"))})
			if i%3 > 0 {
				e.Set = append(e.Set, logbook.Change{Field: "timecode/end", Value: logbook.TextValue((e.At + 15_000).Time().Format("15:04:05:00"))})
			}
		}
	}
	for some := range slices.Chunk(edits, 1000) {
		answers, err := l.Push(some, logbook.ID{15: 1}, some[len(some)-1].At)
		if err != nil {
			b.Fatal(err)
		}
		for _, a := range answers {
			if a.Outcome != logbook.AnswerTaken {
				b.Fatalf("edit %s: got %s %s", a.Dot, a.Outcome, a.Reason)
			}
		}
	}
	return l
}
