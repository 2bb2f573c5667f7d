package main

import (
	"path/filepath"
	"regexp"
	"slices"
	"testing"

	"evenwhite/logbook/needed"
	"evenwhite/server/browsertest"
)

// A day on three phones, by their buttons: a production is begun on one of them, which lets the others in.
func TestADayBeginsAndIsSettledOnPhones(t *testing.T) {
	t.Parallel()
	needed.Tool(t, "zbarimg")
	s := servePagesIn(t, filepath.Join(t.TempDir(), "data"))
	day := appDay(t, s)
	var got struct {
		Keys              struct{ Wrong, Reached []string }
		Taps              map[string]int
		Said              map[string]string
		Begun             []string
		Left, DeadButtons int
		Spectrum          int
		Open, Stays       []string
		Strange           []string
		Touched           [][]string
		CSV               []string `json:"Colour log"`
		XLSX, JSON        []string
		Zip               []string `json:"All as zip"`
		Bundle            []string
	}
	browsertest.Browser{Trusts: s.root(t), Hosts: "MAP set7.local 127.0.0.1"}.Run(t, "../testdata/browser/acts.mjs",
		map[string]any{"origin": s.origin, "day": day, "code": s.code, "folder": t.TempDir()}, &got)

	for _, w := range got.Keys.Wrong {
		t.Error(w)
	}
	// The form of a day shows its date, its place and more: of what it shows, what was touched alone is saved.
	if !slices.EqualFunc(got.Touched, [][]string{{"day", "closed"}}, slices.Equal) {
		t.Errorf("a day was closed in a form, and %q was saved", got.Touched)
	}
	for _, said := range got.Strange {
		t.Errorf("while somebody began to look around, a screen said %q", said)
	}
	for _, screen := range ofAnOwner {
		if !slices.Contains(got.Keys.Reached, screen) {
			t.Errorf("by keyboard alone %s was not reached", screen)
		}
	}
	for act, most := range map[string]int{
		"a production, from nothing to its first take": 20, "a setting typed, beside its digits": 3, "a body swapped": 3,
		"another phone let in": 2, "who holds this phone, again": 2, "two whites settled": 2, "what could not be logged, given up": 1,
		"which lens, cured": 2, "no white applied, cured": 4, "not closed, cured": 3,
	} {
		if n := got.Taps[act]; n == 0 || n > most {
			t.Errorf("%s takes %d taps, want 1 to %d", act, n, most)
		}
	}
	// What is open at the end of the day, and the screen that each leads to; then what stays once three were cured.
	leads := []string{`^A no white applied yet .* -> now/white$`, `^A no chart or grey card .* -> now/card$`, `^camera A: 1 clip .* -> takes/take$`,
		`^A asks the set about clip .*which lens is it\?.* -> handover/note$`, `^the day is not closed .* -> handover/prep$`}
	stay := []string{`^A\nno chart`, `^camera A: 1 clip`}
	for _, list := range []struct{ got, want []string }{{got.Open, leads}, {got.Stays, stay}} {
		fits := func(got, want string) bool { return regexp.MustCompile(want).MatchString(got) }
		if !slices.EqualFunc(list.got, list.want, fits) {
			t.Errorf("open at the end of the day: got %q, want %q", list.got, list.want)
		}
	}
	for about, want := range map[string]string{
		"typed": "^readOff$", "swapped": "^body 2$", "link": `^` + regexp.QuoteMeta(s.origin) + `/pair#…$`, "starts": "^lights$", "holds": "^gaffer$",
		"by":   "^from the one: best boy, from the other: gaffer$",
		"asks": `(?s)Somebody asks.*is it meant so warm\?.*Answer`, "answered": `\d\d:\d\d\s+.is it meant so warm`, "white": "nominal 3200 K", "notMade": `(?s)Joins late: pressed, and not logged.*camera`, "offline": "server does not answer",
		"unread": "even.spdx is no table of two columns: the server reads it, and does not answer", "rail": `(?s)Now.*Hand over.*Day.*1 the harbour`,
	} {
		if !regexp.MustCompile(want).MatchString(got.Said[about]) {
			t.Errorf("%s: got %q, want %s", about, got.Said[about], want)
		}
	}
	if !slices.Equal(got.Begun, []string{"The Night Ferry"}) {
		t.Errorf("the server has the productions %q, want the one that the phone began", got.Begun)
	}
	if got.Left != 0 || got.DeadButtons != 0 || got.Spectrum != 41 {
		t.Errorf("%d acts wait, want 0; post has %d buttons for takes, want 0; the spectrum has %d values, want 41", got.Left, got.DeadButtons,
			got.Spectrum)
	}
	for _, file := range []struct {
		given []string
		name  string
		first string // its first bytes
	}{
		{got.CSV, `\.csv$`, "^cl$"}, {got.XLSX, `\.xlsx$`, "^PK$"}, {got.JSON, `\.json$`, `^\{`}, {got.Zip, `\.zip$`, "^PK$"},
		{got.Bundle, `\.bundle$`, "^ev$"},
	} {
		fits := func(i int, want string) bool { return regexp.MustCompile(want).MatchString(file.given[i]) }
		if len(file.given) != 2 || !fits(0, file.name) || !fits(1, file.first) {
			t.Errorf("a download was %q, want a name like %s that begins like %q", file.given, file.name, file.first)
		}
	}
}
