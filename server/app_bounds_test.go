package main

import (
	"bytes"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook/exchange"
	"evenwhite/logbook/growth"
	"evenwhite/server/browsertest"
)

// However long a job is, a phone loads little before its first screen, has few rows in the page, stores
// few answers, and no answer waits until all days are looked at.
func TestTheAppStaysBoundedInALongJob(t *testing.T) {
	t.Parallel()
	s := servePagesIn(t, filepath.Join(t.TempDir(), "data"))
	day := strings.Replace(appDay(t, s), s.origin, s.url()+"/app", 1)
	var job bytes.Buffer
	if err := exchange.WriteBundle(&job, growth.Production, growth.LongJob(3)); err != nil {
		t.Fatal(err)
	}
	var got struct {
		NotLoaded                                   string
		Loaded, Prepared                            bool
		Asked, Answers                              []string
		SetUps, Takes, Seen, Most, Sections, Tabbed int
	}
	browsertest.Browser{}.Run(t, "../testdata/browser/app-bounds.mjs",
		map[string]any{"origin": s.url(), "day": day, "bundle": job.Bytes()}, &got)

	if !strings.Contains(got.NotLoaded, "Nothing is lost") || !got.Loaded {
		t.Errorf("without its places the app says %q; loaded later: %v", got.NotLoaded, got.Loaded)
	}

	// After the last page all is prepared before anything is asked that needs all days.
	last := lastIndex(got.Asked, "hold")
	first := slices.Index(got.Asked[last+1:], "waits") + last + 1
	prepared := lastIndex(got.Asked, "prepare")
	if count := prepared - last; last < 0 || count < 3 || first <= prepared || !got.Prepared {
		t.Errorf("the engine was asked %q: after the last page all is to be prepared in several parts, and then asked for (done: %v)",
			got.Asked, got.Prepared)
	}
	if n := strings.Count(strings.Join(got.Asked[:last], " "), "now"); n > 2 {
		t.Errorf("while pages were read the screen asked anew %d times, want at most 2", n)
	}

	if n := len(got.Answers); n > 200 || n < 150 {
		t.Errorf("%d answers are stored, want at most 200", n)
	}
	if slices.Contains(got.Answers, "old 100") || !slices.Contains(got.Answers, "old 300") {
		t.Errorf("of the answers an old one stays, or a newer one does not: %q", got.Answers)
	}

	if got.SetUps != 60 || got.Takes != 480 || got.Seen != got.Takes {
		t.Errorf("of %d takes in %d set-ups %d came by scrolling", got.Takes, got.SetUps, got.Seen)
	}
	if got.Most > 60 || got.Sections > 40 {
		t.Errorf("%d rows and %d set-ups stood in the page at once, want at most 60 and 40", got.Most, got.Sections)
	}
	if got.Tabbed != 40 {
		t.Errorf("40 times Tab led to %d takes", got.Tabbed)
	}
}

func lastIndex(all []string, name string) int {
	for i, v := range slices.Backward(all) {
		if v == name {
			return i
		}
	}
	return -1
}
