package main

import (
	"bytes"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/server/browsertest"
	"evenwhite/server/demo"
)

// A faulty is what a phone did and said while something was wrong.
type faulty struct {
	Note, Said string
	Notices    []string
	Takes      int
}

// TestAPhoneGoesOnWithWhatIsLeft takes from a phone its room, its engine, its worker, its server, its
// storage, and opens it twice.
func TestAPhoneGoesOnWithWhatIsLeft(t *testing.T) {
	t.Parallel()
	s := servePagesIn(t, filepath.Join(t.TempDir(), "data"), "--demo")
	day := strings.Replace(appDay(t, s), s.origin, s.url()+"/app", 1)
	control := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { s.end(os.Interrupt) }))
	defer control.Close()
	var got struct {
		Before, AfterEnd, After int
		Second                  struct {
			May        bool
			Said, Note string
		}
		SecondLater                                                           string
		Full, RoomAgain, Aborted, AbortedAgain, Missing, Other, Newer, Denied faulty
		Evicted                                                               faulty
		Installable                                                           []string
		Sure                                                                  map[string][]string // by table
		First                                                                 struct {
			Rows, Kept map[string]int
			Now, Went  int
			Takes      int
			Note       string
		}
		Held struct {
			Said, Draft string
			Notices     []string
		}
		Bundle []byte
		Made   []string
	}
	browsertest.Browser{}.Run(t, "../testdata/browser/app-faults.mjs",
		map[string]string{"origin": s.url(), "day": day, "control": control.URL}, &got)

	for _, c := range []struct{ name, got, want string }{
		{"a second tab", got.Second.Note, "otherTab"},
		{"no room", got.Full.Note, "full"},
		{"an entry that came to nothing in the end", got.Aborted.Note, "failed"},
		{"an older app", got.Newer.Note, "newer"},
		{"storage denied", got.Denied.Note, "denied"},
		{"all thrown away by the browser", got.Evicted.Note, "denied"},
	} {
		if c.got != c.want {
			t.Errorf("%s: the note was answered %q, want %q", c.name, c.got, c.want)
		}
	}
	for name, dot := range map[string]string{"the first tab closed": got.SecondLater, "room again": got.RoomAgain.Note,
		"entered again": got.AbortedAgain.Note, "a store that went up": got.First.Note,
		"the engine missing": got.Missing.Note, "another engine": got.Other.Note} {
		if _, err := logbook.ParseDot(dot); err != nil {
			t.Errorf("%s: the note was answered %q, want the dot of an edit", name, dot)
		}
	}
	for _, c := range []struct{ name, said, want string }{
		{"a second tab", got.Second.Said, "open in another tab"},
		{"no room", got.Full.Said, "storage is full"},
		{"an entry that came to nothing in the end", got.Aborted.Said, "The last entry could not be kept"},
		{"the engine missing", got.Missing.Said, "the engine does not run"},
		{"another engine", got.Other.Said, "the engine does not run"},
		{"an older app", got.Newer.Said, "A newer version of the app was here"},
		{"storage denied", got.Denied.Said, "lets the app keep nothing"},
		{"a tab with an older app", got.Held.Said, "close that tab"},
		{"a form before the store is open", got.Held.Said, "This screen is being loaded"},
		{"a form once the store is open", got.Held.Draft, "not saved yet"},
		{"all thrown away by the browser", got.Evicted.Said, "Open the app again"},
	} {
		if !strings.Contains(c.said, c.want) {
			t.Errorf("%s: the page says %q, want %q in it", c.name, c.said, c.want)
		}
	}
	for _, table := range []string{"edits", "lines", "waiting", "settings"} { // of productions how much is unsent is kept as well
		if slices.ContainsFunc(got.Sure[table], func(sure string) bool { return sure != "strict" }) {
			t.Errorf("what goes to %s is kept with durability %q, want strict", table, got.Sure[table])
		}
	}
	if len(got.Sure["edits"]) < 2 || len(got.Sure["lines"]) < 2 {
		t.Errorf("the app was seen to write %v: too little to say anything", got.Sure)
	}
	f := got.First
	if f.Now < 2 || f.Went != f.Now || f.Takes != got.After || f.Rows["edits"] == 0 {
		t.Errorf("a store of version 1 with %v went up to version %d, want %d, and shows %d takes, want %d", f.Rows, f.Went, f.Now, f.Takes,
			got.After)
	}
	for _, table := range []string{"productions", "logs", "waiting"} {
		if f.Kept[table] != f.Rows[table] {
			t.Errorf("of %d rows of %s in a store that went up %d are left", f.Rows[table], table, f.Kept[table])
		}
	}
	if f.Kept["edits"] != f.Rows["edits"]+1 { // the note
		t.Errorf("of %d edits in a store that went up, and one more, there are %d", f.Rows["edits"], f.Kept["edits"])
	}
	if got.Second.May || slices.Contains(got.RoomAgain.Notices, "storeFull") {
		t.Errorf("the second tab may write: %v; with room again it says %q", got.Second.May, got.RoomAgain.Notices)
	}
	if slices.Contains(got.AbortedAgain.Notices, "storeFailed") {
		t.Errorf("an entry that came to nothing was entered again, and the page says %q still", got.AbortedAgain.Notices)
	}
	if slices.Contains(got.Held.Notices, "storeHeld") {
		t.Errorf("the tab with an older app was closed, and the page says %q still", got.Held.Notices)
	}
	if len(got.Installable) > 0 {
		t.Errorf("the app cannot be installed: %q", got.Installable)
	}
	// A take in the first tab, and one that waited for the engine.
	if got.AfterEnd != got.Before+1 || got.After != got.Before+2 || got.Newer.Takes != got.After {
		t.Errorf("takes: %d, after the worker ended %d, after the engine came back %d, shown by an older app %d",
			got.Before, got.AfterEnd, got.After, got.Newer.Takes)
	}
	if len(got.Made) < 2 || !slices.Contains(got.Made, "take") {
		t.Errorf("the event that waited became %q", got.Made)
	}
	held := map[string]bool{}
	err := exchange.ReadBundle(bytes.NewReader(got.Bundle), demo.Production, func(e *logbook.Edit) error {
		held[e.Dot.String()] = true
		return nil
	})
	if err != nil {
		t.Fatalf("the bundle that was made without the engine: %v", err)
	}
	for _, dot := range []string{got.SecondLater, got.RoomAgain.Note, got.Missing.Note, got.Other.Note} {
		if !held[dot] {
			t.Errorf("the bundle of %d edits lacks %s", len(held), dot)
		}
	}
}
