package main

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"evenwhite/server/browsertest"
)

// The places and sheets of the app, for thumbs and eyes: sizes, greys, access, and taps counted by what they did.
func TestThePlacesAreMadeForAHand(t *testing.T) {
	t.Parallel()
	s := servePagesIn(t, filepath.Join(t.TempDir(), "data"), "--demo")
	day := appDay(t, s)
	var got struct {
		Wrong    []string
		Measured int
		Taps     map[string]int
		Is       struct {
			Kelvin []any
			Lacks  string
			Framed []bool
			Opened string
		}
	}
	browsertest.Browser{Trusts: s.root(t), Hosts: "MAP set7.local 127.0.0.1"}.Run(t, "../testdata/browser/places.mjs",
		map[string]any{"origin": s.origin, "day": day}, &got)

	for _, w := range got.Wrong {
		t.Error(w)
	}
	if got.Measured < 80 {
		t.Errorf("%d screens were measured: too few to say anything", got.Measured)
	}
	for _, c := range []struct {
		act  string
		most int
	}{
		{"correct a kelvin by a step", 3}, {"no good", 1}, {"the gel is on", 2}, {"accept a finding", 3}, {"one take or two", 2},
		{"settle a conflict", 2},
	} {
		if n := got.Taps[c.act]; n == 0 || n > c.most {
			t.Errorf("%s: %d taps, want at most %d", c.act, n, c.most)
		}
	}
	if k := got.Is.Kelvin; len(k) != 3 || k[0] == k[1] || k[2] != "readOff" {
		t.Errorf("a kelvin by a step: %v", k)
	}
	if f := got.Is.Framed; len(f) != 3 || slices.Contains(f, false) {
		t.Errorf("with forced colours the button that has focus, the status line and the box for a code are framed: %v", f)
	}
	if got.Is.Opened == "" {
		t.Error("Enter on a row at the desk opened no record")
	}
	if !strings.Contains(got.Is.Lacks, "needed") {
		t.Errorf("what a form lacks: %q", got.Is.Lacks)
	}
}
