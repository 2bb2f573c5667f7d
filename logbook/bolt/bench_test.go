package bolt

import (
	"fmt"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/storetest"
	"evenwhite/testdata/yardstick"
)

// BenchmarkPush compares durable appends at the store's door with one bare bbolt
// transaction each. The two take turns in short rounds, so that what else the
// machine does meets both; the median of the rounds is reported.
func BenchmarkPush(b *testing.B) {
	for _, writers := range []int{1, 64} {
		b.Run(fmt.Sprintf("writers=%d", writers), func(b *testing.B) {
			y, s := openYardstick(b), openForBench(b)
			var ratios, bare []float64
			for b.Loop() {
				for range 11 {
					rate := bareRate(b, y, 40)
					ratios = append(ratios, pushRate(b, s, writers, max(40/writers, 8))/rate)
					bare = append(bare, rate)
				}
			}
			b.ReportMetric(median(ratios), fmt.Sprintf("server.push_ratio_%d", writers))
			b.ReportMetric(median(bare), "bare_per_s")
		})
	}
}

func median(of []float64) float64 {
	slices.Sort(of)
	return of[len(of)/2]
}

func openYardstick(b *testing.B) *yardstick.File {
	y, err := yardstick.Open(filepath.Join(b.TempDir(), "bare.db"))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { y.Close() })
	return y
}

// bareRate is how many transactions of one edit each a bare file commits in a
// second.
func bareRate(b *testing.B, y *yardstick.File, count int) float64 {
	edit := storetest.Entry(1, 1, "a lens").Bytes
	begun := time.Now()
	for range count {
		if err := y.Put(edit); err != nil {
			b.Fatal(err)
		}
	}
	return float64(count) / time.Since(begun).Seconds()
}

func openForBench(b *testing.B) *Store {
	s, _ := open(b)
	begin(b, s)
	return s
}

// pushRate is how many edits writers append in a second, one a call.
func pushRate(b *testing.B, s *Store, writers, each int) float64 {
	held, err := s.Ranges(storetest.Production)
	if err != nil {
		b.Fatal(err)
	}
	push := func(w int) {
		last := uint64(0)
		if spans := held[logbook.Line{byte(w)}]; len(spans) > 0 {
			last = spans[0].To
		}
		for n := last + 1; n <= last+uint64(each); n++ {
			if _, err := s.Append(storetest.Production, []logbook.Entry{storetest.Entry(byte(w), n, "a lens")}); err != nil {
				b.Error(err)
			}
		}
	}
	begun := time.Now()
	var all sync.WaitGroup
	for w := 2; w <= writers; w++ {
		all.Go(func() { push(w) })
	}
	push(1)
	all.Wait()
	return float64(writers*each) / time.Since(begun).Seconds()
}
