//go:build !js

// Logs for measuring lie in bbolt files, which phones have none of.

package exchange_test

import (
	"path/filepath"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/logtest"
)

// refilled is how many lines a device brings back to a log that was restored from before them.
const refilled = 200_000

// A call that is larger has to be cut by whoever makes it.
const largestCall = 1 << 20

// A fresh device reads a whole log, as it comes over the wire: the time that its engine takes for
// 1,000 edits. It then holds 200,000 lines that the log, which was restored and has another run,
// does not; growth.refill_lines is how many of them the log has in the end, growth.refill_s how
// long both sides took together. No call may be too large.
func BenchmarkGrowthFresh(b *testing.B) {
	growth.Each(b, func(b *testing.B, size growth.Size) {
		path := growth.Copy(b, size, filepath.Join(b.TempDir(), "log.db"))
		l, store := growth.Open(b, path)
		r := exchange.NewReplica(growth.Production, logtest.ID(61), kinds.Rules, logtest.Lines(0x50))
		met, took := exchangeAll(b, exchange.NewPeer(l), r, logbook.Line{})
		if n := r.CountEdits(); n != size.Edits {
			b.Fatalf("the device holds %d edits, want %d", n, size.Edits)
		}
		growth.Report(b, size, "fresh_ms_per_1000_edits", growth.Milliseconds(took)*1000/float64(size.Edits))

		before := linesOf(b, l)
		for range refilled {
			e := logtest.ClipEdit(1, 1, "card", `"A02"`)
			e.Production, e.Dot.Line = growth.Production, growth.NextLine()
			r.Hold(e)
		}
		if err := store.Close(); err != nil {
			b.Fatal(err)
		}
		l, store = growth.Open(b, path)
		start := time.Now()
		exchangeAll(b, exchange.NewPeer(l), r, met)
		growth.Report(b, size, "refill_s", time.Since(start).Seconds())
		growth.Report(b, size, "refill_lines", float64(linesOf(b, l)-before))
		if err := store.Close(); err != nil {
			b.Fatal(err)
		}
	})
}

func linesOf(b *testing.B, l *logbook.Log) int {
	held, err := l.Ranges()
	if err != nil {
		b.Fatal(err)
	}
	return len(held)
}

// exchangeAll exchanges in rows until there is no more, and says which log that was and how
// long the device took.
func exchangeAll(b *testing.B, p *exchange.Peer, r *exchange.Replica, met logbook.Line) (log logbook.Line, took time.Duration) {
	for more := true; more; {
		start := time.Now()
		req := r.Request(met)
		brought, err := req.Rows(r.Shared(met))
		if err != nil {
			b.Fatal(err)
		}
		took += time.Since(start)
		if req, err = exchange.ReadRequestRows(brought, growth.Production, p.Records); err != nil {
			b.Fatal(err)
		}
		a, passages, err := p.ExchangeRows(req, logtest.ID(61), 9)
		if err != nil {
			b.Fatal(err)
		}
		text := joined(a, passages)
		if len(brought) > largestCall {
			b.Fatalf("a call has %d bytes, more than %d", len(brought), largestCall)
		}
		start = time.Now()
		if a, err = exchange.ReadAnswerRows(text, growth.Production, r.Records); err != nil {
			b.Fatal(err)
		}
		met, more = r.Take(a)
		r.Book().Settle()
		took += time.Since(start)
	}
	return met, took
}
