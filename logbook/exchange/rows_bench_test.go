//go:build !js

package exchange_test

import (
	"bytes"
	"compress/gzip"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/logtest"
)

// BenchmarkRows writes and reads the pushes of setlog-1: each device sends what it
// made while it was apart, in five starts, over a base that was made in ten starts of
// each device.
func BenchmarkRows(b *testing.B) {
	s := readSetlog(b)
	base := map[logbook.Dot]logbook.RecordRef{}
	whole := map[logbook.Line]uint64{} // how many edits a line of the workload has
	for _, e := range s.base {
		whole[e.Dot.Line] = max(whole[e.Dot.Line], e.Dot.N)
	}
	of := func(d logbook.Dot) logbook.Dot {
		per := uint64(500 / 5)
		if whole[d.Line] > 0 {
			per = whole[d.Line] / 10
		}
		d.Line[7] = byte(1 + (d.N-1)/per)
		h := logbook.HashOf(d.Line[:]) // as hard to compress as what chance draws
		return logbook.Dot{Line: logbook.Line(h[:8]), N: (d.N-1)%per + 1}
	}
	for _, e := range s.base {
		base[of(e.Dot)] = logbook.RecordRef{Kind: e.Kind, Record: e.Record}
	}
	pushes := map[logbook.ID][]*logbook.Edit{}
	for _, e := range s.edits {
		e.Dot = of(e.Dot)
		for i := range e.Set[0].Over {
			e.Set[0].Over[i] = of(e.Set[0].Over[i])
		}
		pushes[e.Device] = append(pushes[e.Device], e)
	}
	known := func(d logbook.Dot) (logbook.RecordRef, bool) { ref, ok := base[d]; return ref, ok }
	held := func([]logbook.Dot) (map[logbook.Dot]logbook.RecordRef, error) { return base, nil }
	var write, read, size, plain float64
	for b.Loop() {
		var texts [][]byte
		from := cpuTime()
		for _, edits := range pushes {
			q := exchange.Request{Edits: edits}
			text, err := q.Rows(known)
			if err != nil {
				b.Fatal(err)
			}
			texts = append(texts, text)
		}
		write = float64(len(s.edits)) / (cpuTime() - from).Seconds()
		from = cpuTime()
		for _, text := range texts {
			if _, err := exchange.ReadRequestRows(text, logtest.Production, held); err != nil {
				b.Fatal(err)
			}
		}
		read = float64(len(s.edits)) / (cpuTime() - from).Seconds()
		var all bytes.Buffer
		plain = 0
		for _, text := range texts {
			z := gzip.NewWriter(&all)
			_, _ = z.Write(text)
			_ = z.Close()
			plain += float64(len(text))
		}
		size = float64(all.Len())
	}
	b.ReportMetric(write, "rows.written_edits_per_s")
	b.ReportMetric(read, "rows.read_edits_per_s")
	b.ReportMetric(size/float64(len(s.edits)), "rows.push_bytes_per_edit")
	b.ReportMetric(plain/float64(len(s.edits)), "rows.push_plain_bytes_per_edit")
}
