package exchange_test

import (
	"runtime"
	"sort"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

func BenchmarkSetlog(b *testing.B) {
	s := readSetlog(b)
	var encoded [][]byte
	for _, e := range append(append([]*logbook.Edit(nil), s.base...), s.edits...) {
		bytes, err := logbook.EncodeEdit(e)
		if err != nil {
			b.Fatal(err)
		}
		encoded = append(encoded, bytes)
	}
	var rates []float64
	for b.Loop() {
		from := cpuTime()
		book := logbook.NewBook(logtest.Production, kinds.Rules)
		var hash logbook.Hash
		for _, bytes := range encoded {
			e, err := logbook.DecodeEdit(bytes)
			if err != nil {
				b.Fatal(err)
			}
			hash = logbook.HashOf(bytes) // a log's chain is the store's business
			if err := book.Apply(e); err != nil {
				b.Fatal(err)
			}
		}
		runtime.KeepAlive(hash)
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
	if runtime.GOARCH == "wasm" {
		b.ReportMetric(rates[len(rates)/2], "setlog1.engine_wasm_edits_per_s")
		return
	}
	b.ReportMetric(rates[len(rates)/2], "setlog1.engine_edits_per_s")
	b.ReportMetric(float64(heads), "setlog1.heads")
	b.ReportMetric(float64(falseConflicts), "setlog1.false_conflicts")
}

// BenchmarkSetlogFresh is a fresh device that reads the whole log, as it comes over
// the wire: the time that its engine takes.
func BenchmarkSetlogFresh(b *testing.B) {
	s := readSetlog(b)
	log := openPeer(b, logbook.NewMemory(), 0x40)
	all := append(append([]*logbook.Edit(nil), s.base...), s.edits...)
	for from := 0; from < len(all); from += exchange.MaxPush {
		if _, err := log.Push(all[from:min(len(all), from+exchange.MaxPush)], logtest.ID(99), 9); err != nil {
			b.Fatal(err)
		}
	}
	var took []float64
	for b.Loop() {
		r := exchange.NewReplica(logtest.Production, logtest.ID(99), kinds.Rules, logtest.Lines(0x50))
		var spent time.Duration
		for more, met := true, (logbook.Line{}); more; {
			a, passages, err := log.ExchangeRows(r.Request(met), logtest.ID(99), 9)
			if err != nil {
				b.Fatal(err)
			}
			text := joined(a, passages)
			from := time.Now()
			if a, err = exchange.ReadAnswerRows(text, logtest.Production, r.Records); err != nil {
				b.Fatal(err)
			}
			met, more = r.Take(a)
			r.Book().Settle()
			spent += time.Since(from)
		}
		if r.CountEdits() != len(all) {
			b.Fatalf("got %d edits, want %d", r.CountEdits(), len(all))
		}
		took = append(took, spent.Seconds()*1000)
	}
	sort.Float64s(took)
	if runtime.GOARCH == "wasm" { // natively it is no phone's figure
		b.ReportMetric(took[len(took)/2], "setlog1.fresh_ms")
	}
}
