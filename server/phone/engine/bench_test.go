package main_test

import (
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/kinds"
)

// BenchmarkPhoneEngine measures the engine in Node.js: what it holds of one day and of a long job (feature-1),
// how long it reads them, and how long its answer to a next take lasts there. The processor is not slowed
// down: that is BenchmarkPhoneApp (server), and sizes are BenchmarkPhoneSizes (server/phone).
func BenchmarkPhoneEngine(b *testing.B) {
	if _, err := exec.LookPath("node"); err != nil {
		b.Skip("SKIPPED, NOT MEASURED: Node.js is not here")
	}
	engine, runtime := build(b)
	all, allSetUp := job(b, 60)
	day, daySetUp := job(b, 1)
	for b.Loop() {
		out, err := exec.Command("node", "testdata/measure.mjs", runtime, engine, all, allSetUp, day, daySetUp,
			growth.Production.String()).Output()
		var figures map[string]float64
		if err == nil {
			err = json.Unmarshal(out, &figures)
		}
		if err != nil {
			b.Fatal(err, fmt.Sprintf("%.500s", out))
		}
		for name, value := range figures {
			b.ReportMetric(value, "phone."+name)
		}
	}
}

// job is a file of the edits of a job of so many days, in frames, and its last set-up.
func job(b *testing.B, days int) (stored, setUp string) {
	var page []byte
	for _, e := range growth.LongJob(days) {
		bytes, err := logbook.EncodeEdit(e)
		if err != nil {
			b.Fatal(err)
		}
		if e.Kind == kinds.SetUp {
			setUp = e.Record.String()
		}
		page = frame(page, bytes)
	}
	stored = filepath.Join(b.TempDir(), "stored")
	if err := os.WriteFile(stored, page, 0o600); err != nil {
		b.Fatal(err)
	}
	return stored, setUp
}
