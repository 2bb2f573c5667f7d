//go:build !js

package logbook

import (
	"sort"
	"syscall"
	"testing"
	"time"
)

func BenchmarkSetlog(b *testing.B) {
	s := readSetlog(b)
	var encoded [][]byte
	for _, e := range append(append([]*Edit(nil), s.base...), s.edits...) {
		bytes, err := EncodeEdit(e)
		if err != nil {
			b.Fatal(err)
		}
		encoded = append(encoded, bytes)
	}
	var rates []float64
	for b.Loop() {
		from := cpuTime()
		book := NewBook(testID(1))
		var chain Chain
		for _, bytes := range encoded {
			e, err := DecodeEdit(bytes)
			if err != nil {
				b.Fatal(err)
			}
			chain = chain.Next(HashOf(bytes))
			if err := book.Apply(e); err != nil {
				b.Fatal(err)
			}
		}
		rates = append(rates, float64(len(encoded))/(cpuTime()-from).Seconds())
	}
	sort.Float64s(rates)
	heads, falseConflicts := 0, 0
	merged := s.merged(b)
	for key, last := range s.last {
		v, _ := merged.Record(key.record)
		f := v.Field(key.field)
		found := values{}
		for i, h := range f.Heads {
			found[i] = h.Value
		}
		heads += found.distinct()
		if f.Conflict && last.distinct() < 2 {
			falseConflicts++
		}
	}
	b.ReportMetric(rates[len(rates)/2], "setlog1.engine_edits_per_s")
	b.ReportMetric(float64(heads), "setlog1.heads")
	b.ReportMetric(float64(falseConflicts), "setlog1.false_conflicts")
}

// cpuTime is what this process has used of the processors so far.
func cpuTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
