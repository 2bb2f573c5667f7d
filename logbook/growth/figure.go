package growth

import (
	"slices"
	"testing"
	"time"
)

// Each measures on a log of each size in turn.
func Each(b *testing.B, measure func(*testing.B, Size)) {
	for _, size := range Sizes {
		b.Run(size.Name, func(b *testing.B) {
			for b.Loop() {
				measure(b, size)
			}
		})
	}
}

// Report prints a figure of a size: growth.NAME_60k or growth.NAME_1m.
func Report(b *testing.B, size Size, name string, value float64) {
	b.ReportMetric(value, "growth."+name+"_"+size.Name)
}

// Times reports the median of so many runs of an act in milliseconds.
func Times(b *testing.B, size Size, name string, runs int, act func(i int)) {
	b.Helper()
	var took []float64
	for i := range runs {
		start := time.Now()
		act(i)
		took = append(took, Milliseconds(time.Since(start)))
	}
	slices.Sort(took)
	Report(b, size, name, took[len(took)/2])
}

// Milliseconds are what times are reported in.
func Milliseconds(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
