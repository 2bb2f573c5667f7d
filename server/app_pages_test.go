package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/growth"
	"evenwhite/logbook/kinds"
	"evenwhite/server/browsertest"
)

// TestAStartReadsWhatWasValidFromPages opens a job of two days again and again.
func TestAStartReadsWhatWasValidFromPages(t *testing.T) {
	t.Parallel()
	s := servePagesIn(t, filepath.Join(t.TempDir(), "data"))
	day := s.url() + "/app" + appDay(t, s)[len(s.origin):]
	edits := growth.LongJob(2)
	bad := *edits[0] // it is refused at each start, and on no page
	bad.Dot, bad.Kind, bad.Set = logbook.Dot{Line: logbook.Line{0xbb}, N: 1}, kinds.Clip, []logbook.Change{{Field: "lens", Value: "7"}}
	edits = append(edits, &bad)
	bundle := filepath.Join(t.TempDir(), "job.bundle")
	f, err := os.Create(bundle)
	if err == nil {
		err = exchange.WriteBundle(f, growth.Production, edits)
	}
	if err == nil {
		err = f.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Starts []struct {
			Name, Answers      string
			Pages, Rows, Paged int
		}
		Made  int
		Since string
	}
	pages := len(edits)/512 - 1
	browsertest.Browser{}.Run(t, "../testdata/browser/kept-pages.mjs",
		map[string]any{"origin": s.url(), "day": day, "bundle": bundle, "pages": pages}, &got)

	if len(got.Starts) != 5 || got.Made < 2 || !strings.Contains(got.Starts[0].Answers, `"refused":1`) {
		t.Fatalf("%d starts, %d edits made, %.300s", len(got.Starts), got.Made, got.Starts[0].Answers)
	}
	for i, start := range got.Starts {
		want := got.Starts[0].Answers
		if i >= 2 {
			want = got.Since
		}
		if start.Answers != want {
			t.Errorf("%s: the engine says\n%.2000s\nwant\n%.2000s", start.Name, start.Answers, want)
		}
		if first := i == 0; first != (start.Pages == 0) || first && start.Rows < pages {
			t.Errorf("%s: %d pages and %d times rows were handed in", start.Name, start.Pages, start.Rows)
		}
		if start.Paged > len(edits)+got.Made-1 { // all but the one that is refused
			t.Errorf("%s: %d edits are on pages; there are %d, one of them refused", start.Name, start.Paged, len(edits)+got.Made)
		}
	}
	// Nearly all was read from pages; then three pages were given up, and what was on them is kept anew.
	for _, start := range []int{1, 4} {
		if s := got.Starts[start]; s.Rows > 3 || s.Paged < len(edits)*3/4 {
			t.Errorf("%s: of %d edits %d are on pages; %d times rows were handed in", s.Name, len(edits), s.Paged, s.Rows)
		}
	}
}
