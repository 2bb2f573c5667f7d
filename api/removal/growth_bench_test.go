package removal

import (
	"path/filepath"
	"runtime/debug"
	"runtime/metrics"
	"testing"
	"time"

	"evenwhite/logbook/colorlog"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/growth"
)

// A production leaves with its files. The peak is what the process takes of the system's memory,
// garbage too, beside the open log: that has been asked once before, as any that was worked with, so
// that its book knows what refers to what.
func BenchmarkGrowthRemoval(b *testing.B) {
	growth.Each(b, func(b *testing.B, size growth.Size) {
		l, store := growth.Open(b, growth.Copy(b, size, filepath.Join(b.TempDir(), "log.db")))
		peer, into := exchange.NewPeer(l), b.TempDir()
		for range colorlog.Rows(l, colorlog.Scope{}) {
			break
		}
		debug.FreeOSMemory()
		before, most, done := taken(), uint64(0), make(chan struct{})
		peak := make(chan uint64)
		go func() {
			for tick := time.NewTicker(5 * time.Millisecond); ; {
				select {
				case <-tick.C:
					most = max(most, taken())
				case <-done:
					tick.Stop()
					peak <- most
					return
				}
			}
		}()
		start := time.Now()
		m, err := Take(peer, order(into))
		growth.Report(b, size, "removal_s", time.Since(start).Seconds())
		close(done)
		growth.Report(b, size, "removal_peak_mb", (float64(<-peak)-float64(before))/1e6)
		if err != nil || m.Edits != size.Edits {
			b.Fatalf("%d edits left (%v), want %d", m.Edits, err, size.Edits)
		}
		if err := store.Close(); err != nil {
			b.Fatal(err)
		}
	})
}

// taken is how much memory the Go runtime has of the system.
func taken() uint64 {
	read := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
	metrics.Read(read)
	return read[0].Value.Uint64() - read[1].Value.Uint64()
}
