package main

import (
	"os"
	"path/filepath"
	"regexp"
	"testing"

	"evenwhite/server/browsertest"
)

// What the README promises of the first minute: two taps on the page that make run prints.
//
//	go test ./server -run TestTheFirstMinute -args -screens ../testdata/pictures
//
// photographs it for the README, after make app.
func TestTheFirstMinute(t *testing.T) {
	t.Parallel()
	s := servePagesIn(t, filepath.Join(t.TempDir(), "data"))
	appDay(t, s) // is the app built?
	var got struct {
		Taps int
		Said string
	}
	browsertest.Browser{}.Run(t, "../testdata/browser/minute.mjs", map[string]string{"page": s.url() + "/app/"}, &got)
	if want := regexp.MustCompile(`(?s)^Take \d+ saved.*carried over`); got.Taps != 2 || !want.MatchString(got.Said) {
		t.Errorf("%d taps led to %q, want 2 and a take", got.Taps, got.Said)
	}
}

// The README shows pictures that are there.
func TestTheReadmesPicturesAreThere(t *testing.T) {
	text, err := os.ReadFile("../README.md")
	if err != nil {
		t.Fatal(err)
	}
	found := regexp.MustCompile(`<img src="([^"]+)"`).FindAllSubmatch(text, -1)
	for _, f := range found {
		if info, err := os.Stat(filepath.Join("..", string(f[1]))); err != nil || info.Size() > 100<<10 {
			t.Errorf("the picture %s: %v, or larger than 100 kB", f[1], err)
		}
	}
	if len(found) < 3 {
		t.Errorf("the README shows %d pictures of the first minute, want 3 or more", len(found))
	}
}
