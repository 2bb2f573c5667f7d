package main

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"evenwhite/logbook/exchange"
	"evenwhite/logbook/growth"
	"evenwhite/server/browsertest"
)

var phoneDays = flag.Int("phone.days", 60, "of how many days the job is that the phone app is measured with")

// BenchmarkPhoneApp measures the app in a real browser that is slowed down, with a long job (feature-1) on the
// phone: what testdata/browser/figures.mjs returns.
func BenchmarkPhoneApp(b *testing.B) {
	s := servePagesIn(b, filepath.Join(b.TempDir(), "data"))
	day := s.url() + "/app" + appDay(b, s)[len(s.origin):]
	bundle := filepath.Join(b.TempDir(), "job.bundle")
	f, err := os.Create(bundle)
	if err == nil {
		err = exchange.WriteBundle(f, growth.Production, growth.LongJob(*phoneDays))
	}
	if err == nil {
		err = f.Close()
	}
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		var figures map[string]float64
		browsertest.Browser{Engine: browsertest.Unwatched}.Run(b, "../testdata/browser/figures.mjs",
			map[string]any{"origin": s.url(), "day": day, "bundle": bundle, "edits": len(growth.LongJob(1))}, &figures)
		for name, value := range figures {
			b.ReportMetric(value, "phone."+name)
		}
	}
}
