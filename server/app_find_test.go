package main

import (
	"path/filepath"
	"strings"
	"testing"

	"evenwhite/logbook/deviation"
	"evenwhite/server/browsertest"
)

// A phone finds clips offline by the words of the service and of the command find, and finds the same ones.
func TestAPhoneFindsWhatTheServiceFinds(t *testing.T) {
	t.Parallel()
	s := servePagesIn(t, filepath.Join(t.TempDir(), "data"))
	queries := []map[string]string{
		{"name": "A001C005"}, {"name": "a001c005"}, {"name": "A001*"}, {"name": "?001C*2"}, {"begins": "B00"}, {"camera": "B"}, {"card": "A002"},
		{"scene": "12"}, {"scene": "no such scene"}, {"take": "3"}, {"scene": "31", "camera": "A", "take": "1"}, {"timecodeFrom": "09:10:00:00"},
		{"timecodeFrom": "01:03:24:00"}, {"timecodeFrom": "11:00:00:00", "timecodeTo": "12:00:00:00"},
		{"timecodeFrom": "23:59:00:00", "timecodeTo": "01:01:00:00"},
	}
	queries = append(queries, map[string]string{"least": "8 mired"}, map[string]string{"least": "9000 mired", "deviation": "setting-off-aim"})
	for _, kind := range deviation.Kinds {
		queries = append(queries, map[string]string{"deviation": kind})
	}
	var got struct {
		Wrong, Refused []string
		Counts         map[string]int
		Typed          int
		Row, Gone      string
		Far            []int // rows, and clips of the server's answer
		FarOffline     string
		Left           map[string]int // how much the page keeps of each kind, once the invented production was removed
	}
	browsertest.Browser{Trusts: s.root(t), Hosts: "MAP set7.local 127.0.0.1"}.Run(t, "../testdata/browser/find.mjs",
		map[string]any{"origin": s.origin, "day": appDay(t, s), "queries": queries}, &got)

	for _, w := range got.Wrong {
		t.Error(w)
	}
	if len(got.Counts) != len(queries) {
		t.Errorf("%d of %d questions were asked", len(got.Counts), len(queries))
	}
	for query, found := range map[string]bool{`{"name":"A001C005"}`: true, `{"name":"a001c005"}`: false, `{"camera":"B"}`: true,
		`{"timecodeFrom":"01:03:24:00"}`: true, `{"deviation":"setting-off-aim"}`: true, `{"scene":"no such scene"}`: false} {
		if n, asked := got.Counts[query]; !asked || n > 0 != found {
			t.Errorf("%s found %d clips (asked: %v), want some: %v", query, n, asked, found)
		}
	}
	for i, want := range []string{"timecodeFrom is", "timecodeTo is", "deviation is"} {
		if len(got.Refused) != 3 || !strings.Contains(got.Refused[i], want) {
			t.Errorf("what cannot be asked was answered %q, want %q in it", got.Refused, want)
		}
	}
	if f := got.Far; len(f) != 2 || f[0] == 0 || f[0] != f[1] || !strings.Contains(got.FarOffline, "does not answer") {
		t.Errorf("how far off at least: %v rows and clips, then offline %q", f, got.FarOffline)
	}
	if len(got.Left) != 5 {
		t.Errorf("of what the page keeps it told %v", got.Left)
	}
	for kind, n := range got.Left {
		if n != 0 {
			t.Errorf("once the invented production was removed, %d %s stay", n, kind)
		}
	}
	if got.Typed < 9 || !strings.Contains(got.Row, "B001C005") || !strings.Contains(got.Gone, "B001C005") {
		t.Errorf("by hand: %d rows, then %q, which led to %q", got.Typed, got.Row, got.Gone)
	}
}
