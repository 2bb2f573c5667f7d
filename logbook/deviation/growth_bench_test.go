//go:build !js

package deviation_test

import (
	"runtime"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/kinds"
)

// leaving lends a book until nobody wants the answer any more.
type leaving struct {
	from logbook.Lender
	left atomic.Bool
}

func (l *leaving) Read(read func(*logbook.Book)) {
	if l.left.Load() {
		runtime.Goexit()
	}
	l.from.Read(read)
}

// The longest of 100 pushes of one edit each, to the commit and the merge, while somebody has
// asked what is off in the whole job; before it the longest of 100 with nobody asking, which is what
// the disk and the machine do by themselves. growth.push_ms is the usual one.
func BenchmarkGrowthPushDuringDeviations(b *testing.B) {
	growth.Each(b, func(b *testing.B, size growth.Size) {
		l := growth.Log(b, size)
		growth.Report(b, size, "push_alone_longest_ms", longestPush(b, l))
		frozen, err := l.Freeze()
		if err != nil {
			b.Fatal(err)
		}
		asked, ended := &leaving{from: frozen}, make(chan struct{})
		go func() {
			defer close(ended)
			for { // until it leaves
				deviation.Of(asked, deviation.Scope{}, 1_950_000_000_000)
			}
		}()
		growth.Report(b, size, "push_during_deviations_ms", longestPush(b, l))
		asked.left.Store(true)
		<-ended
		frozen.Close()
	})
}

func longestPush(b *testing.B, l *logbook.Log) float64 {
	var clips []logbook.View
	l.Read(func(book *logbook.Book) { clips = book.Records(kinds.Clip)[:100] })
	line := growth.NextLine()
	var took []float64
	for i, clip := range clips {
		start := time.Now()
		pushCard(b, l, clip.ID, logbook.Dot{Line: line, N: uint64(i) + 1})
		took = append(took, growth.Milliseconds(time.Since(start)))
	}
	return slices.Max(took)
}

func pushCard(b *testing.B, l *logbook.Log, clip logbook.ID, dot logbook.Dot) {
	e := &logbook.Edit{
		Production: growth.Production, Kind: kinds.Clip, Record: clip, Device: logbook.ID{15: 1}, Dot: dot, At: 1_950_000_000_000,
		Set: []logbook.Change{{Field: "card", Value: logbook.TextValue("A02")}},
	}
	if answers, err := l.Push([]*logbook.Edit{e}, e.Device, e.At); err != nil || answers[0].Outcome != logbook.AnswerTaken {
		b.Fatalf("got %v, %v; want it taken", answers, err)
	}
}

// What is off in the whole job, asked by somebody for the first time, and after an edit of a clip.
func BenchmarkGrowthDeviations(b *testing.B) {
	growth.Each(b, func(b *testing.B, size growth.Size) {
		l := growth.Log(b, size)
		var clips []logbook.View
		l.Read(func(book *logbook.Book) { clips = book.Records(kinds.Clip)[:3] })
		var kept deviation.Kept
		ask := func() {
			f, err := l.Freeze()
			if err != nil {
				b.Fatal(err)
			}
			defer f.Close()
			if _, err := kept.Of(f, deviation.Scope{}, 1_950_000_000_000); err != nil {
				b.Fatal(err)
			}
		}
		growth.Times(b, size, "deviations_ms", 1, func(int) { ask() })
		line := growth.NextLine()
		growth.Times(b, size, "deviations_after_edit_ms", len(clips), func(i int) {
			pushCard(b, l, clips[i].ID, logbook.Dot{Line: line, N: uint64(i) + 1})
			ask()
		})
	})
}
