package main

import (
	"path/filepath"
	"regexp"
	"testing"

	"evenwhite/server/browsertest"
)

// Every screen of taking and measuring is fit for a hand and for eyes, in three themes, for a left hand,
// at 320 px and with text twice as large; and a day of forty takes on two cameras costs few taps.
func TestTheScreensOfTakingAreFitForAHand(t *testing.T) {
	t.Parallel()
	s := servePagesIn(t, filepath.Join(t.TempDir(), "data"), "--demo")
	appDay(t, s) // is the app built?
	var got struct {
		Broken   []string
		Seen     int
		Taps     map[string]int
		Panel    string
		Twice    string
		After    int
		Card     string
		Judged   string
		Refused  string
		Kept     string
		Supposed string
		Keyboard bool
		Day      struct{ Taps, Began, Last int }
	}
	browsertest.Browser{Trusts: s.root(t), Hosts: "MAP set7.local 127.0.0.1"}.Run(t, "../testdata/browser/screens.mjs",
		map[string]any{"origin": s.origin, "setUp": "44 A"}, &got)

	for _, b := range got.Broken {
		t.Error(b)
	}
	if want := 13 * 3; got.Seen != want { // screens and themes
		t.Errorf("%d screens were measured, want %d", got.Seen, want)
	}
	for act, most := range map[string]int{"next take": 2, "a reading, beside its digits": 3, "white from the newest reading": 3} {
		if n := got.Taps[act]; n == 0 || n > most {
			t.Errorf("%s takes %d taps, want 1 to %d", act, n, most)
		}
	}
	if got.Day.Taps == 0 || got.Day.Taps > 100 {
		t.Errorf("a day of 40 takes on two cameras takes %d taps, want at most 100", got.Day.Taps)
	}
	t.Logf("a day of 40 takes on two cameras: %d taps", got.Day.Taps)
	if got.After != 1 {
		t.Errorf("two presses of next take, one after another, logged %d takes, want 1", got.After)
	}
	for _, c := range []struct{ name, text, want string }{
		{"the undo panel", got.Panel, `(?s)Take \d+ saved .*A A\w+, custom white from a card\s+carried over.*B B\w+, \d+ K, tint 0\s+carried over.*Undo.*No good.*Change`},
		{"a second press", got.Twice, `Take \d+ is logged`},
		{"a reading while it is typed", got.Judged, `(?s)Inside.*8 cooler.*limit 10`},
		{"a reading that cannot be", got.Refused, `(?s)999 cannot be: .*cctKelvin is a number from 1000 to 100000.*Nothing is lost`},
		{"its digits", got.Kept, `999 K`},
		{"a grey card while it is typed", got.Card, `White \d+ K`},
		{"a white before it is chosen", got.Supposed, `(?s)5262 K.*Then dial.*A .*B .*Then the lights are`},
	} {
		if !regexp.MustCompile(c.want).MatchString(c.text) {
			t.Errorf("%s: got %q, want %s", c.name, c.text, c.want)
		}
	}
	if !got.Keyboard {
		t.Error("a take was not logged by keyboard alone")
	}
}
