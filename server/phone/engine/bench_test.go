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

// BenchmarkPhone measures the engine as the phone gets it: its size as it is sent, what it
// holds of a long job (feature-1), and how long its answer to a next take lasts there. The
// processor is not slowed down: a browser's throttle is.
func BenchmarkPhone(b *testing.B) {
	if _, err := exec.LookPath("node"); err != nil {
		b.Skip("SKIPPED, NOT MEASURED: Node.js is not here")
	}
	var setUp logbook.ID
	var page []byte
	for _, e := range growth.LongJob(60) {
		bytes, err := logbook.EncodeEdit(e)
		if err != nil {
			b.Fatal(err)
		}
		if e.Kind == kinds.SetUp {
			setUp = e.Record
		}
		page = frame(page, bytes)
	}
	stored := filepath.Join(b.TempDir(), "stored")
	if err := os.WriteFile(stored, page, 0o600); err != nil {
		b.Fatal(err)
	}
	engine, runtime := build(b)
	for b.Loop() {
		out, err := exec.Command("node", "testdata/measure.mjs", runtime, engine, stored, growth.Production.String(), setUp.String()).Output()
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
