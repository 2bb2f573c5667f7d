package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"evenwhite/server/browsertest"
)

// ofAnOwner are the screens that the invented production has nothing for: TestADayBeginsAndIsSettledOnPhones goes to them.
var ofAnOwner = []string{"ew-invite", "ew-none", "ew-production"}

// screensOfTheApp are the places and sheets of the app, as their files define them.
func screensOfTheApp(t *testing.T) (screens []string) {
	t.Helper()
	files, err := filepath.Glob("phone/app/src/*/*.ts")
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		source, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		for _, class := range regexp.MustCompile(`(?m)^(?:export )?class (\w+) extends \w*Screen `).FindAllSubmatch(source, -1) {
			defined := regexp.MustCompile(`customElements\.define\("([a-z-]+)", ` + string(class[1]) + `\)`).FindSubmatch(source)
			if defined == nil {
				t.Fatalf("%s does not define %s", file, class[1])
			}
			screens = append(screens, string(defined[1]))
		}
	}
	if len(screens) < 25 {
		t.Fatalf("only %d screens were found: %v", len(screens), screens)
	}
	return screens
}

// The places and sheets of the app, for thumbs and eyes: sizes, greys, access, and taps counted by what they did.
func TestThePlacesAreMadeForAHand(t *testing.T) {
	t.Parallel()
	s := servePagesIn(t, filepath.Join(t.TempDir(), "data"), "--demo")
	day := appDay(t, s)
	var got struct {
		Keys   struct{ Wrong, Reached []string }
		Follow struct {
			Far, Why, Words string
			Leaves          bool // what it is at follows already
			Best            struct {
				Kelvin, Tint float64
				Residual     struct{ Mired float64 }
			}
		}
		Wrong    []string
		Measured int
		Far      int
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

	for _, w := range slices.Concat(got.Wrong, got.Keys.Wrong) {
		t.Error(w)
	}
	for _, screen := range screensOfTheApp(t) {
		if !slices.Contains(got.Keys.Reached, screen) && !slices.Contains(ofAnOwner, screen) {
			t.Errorf("by keyboard alone %s was not reached", screen)
		}
	}
	if got.Measured < 80 {
		t.Errorf("%d screens were measured: too few to say anything", got.Measured)
	}
	if got.Far < 15 {
		t.Errorf("%d views of a camera at arm's length were measured: too few to say anything", got.Far)
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
	f := got.Follow
	way := map[bool]string{true: "warmer", false: "cooler"}[f.Best.Residual.Mired > 0]
	verb := map[bool]string{true: "Leave", false: "Dial"}[f.Leaves]
	follows := fmt.Sprintf(`(?s)^%s\s+%g\s+K, tint %g\s.*to follow A where it is.*by the cards of both: then %g %s`, verb, f.Best.Kelvin,
		f.Best.Tint, math.Abs(f.Best.Residual.Mired), way)
	if f.Best.Kelvin == 0 || !regexp.MustCompile(follows).MatchString(f.Far) {
		t.Errorf("Follow A says %q, want %s", f.Far, follows)
	}
	if f.Words == "" || !strings.Contains(f.Why, f.Words[1:]) || strings.Contains(f.Why, "aim") {
		t.Errorf("Why says %q, want %q", f.Why, f.Words)
	}
	if !strings.Contains(got.Is.Lacks, "needed") {
		t.Errorf("what a form lacks: %q", got.Is.Lacks)
	}
}
