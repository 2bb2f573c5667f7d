package api

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"evenwhite/api/pairing"
)

// files lists the first recordings of card 001, and those that follow it: the second of five was not
// logged.
func (g *stage) files() string {
	var listing strings.Builder
	for n, minute := range []int{25, 29, 31, 38, 44} {
		at := time.Date(2031, 3, 4, 6, minute, 40, 0, time.UTC)
		fmt.Fprintf(&listing, "70000000 %d.0 /offload/001/A00100%d_XY.mov\n", at.Unix(), n+1)
		if n < 2 {
			continue
		}
		g.ask("POST", g.base+"/records/clip", g.fill(fmt.Sprintf(`{"setUp":"$setUp","camera":"$a","body":"$body","name":{"text":"A00100%d","from":"counted"},
			"card":"001","whiteMode":"kelvin","kelvin":5600,"recordingMode":"raw","startedAt":"2031-03-04T06:%d:00Z"}`, n, minute))).want(201)
	}
	return listing.String()
}

func (c *client) list(path, media, listing string) *reply {
	c.Helper()
	return c.ask("POST", path, listing, "Content-Type", media)
}

// Post joins its files with the log; an editor takes over what is sure, then a stretch of shifted
// names, and takes both back.
func TestFootageIsJoinedAndAdopted(t *testing.T) {
	g := setStage(t)
	listing := g.files()
	post, editor := g.admit(pairing.Post, "assistant editor", g.production), g.admit(pairing.Editor, "DIT", g.production)
	head := g.head()
	r := post.list(g.base+"/footage", "text/plain", listing).want(200)
	if g.head() != head {
		t.Error("joining changed the log")
	}
	counts := fmt.Sprint(r.number("counts", "sure"), r.number("counts", "shifted"), r.number("counts", "noRow"), r.count("shifts"))
	if counts != "1 3 1 1" {
		t.Fatalf("got %s of %s", counts, r.body)
	}
	adopt := func(c *client, what, seen string) *reply {
		return c.list(g.base+"/footage/adopted?"+url.Values{"what": {what}, "seen": {seen}}.Encode(), "text/plain", listing)
	}
	shift := "shift:" + r.text("shifts", 0, "from")
	adopt(post, "sure", r.text("seen")).want(403)
	adopt(editor, "sure", "another").want(412)
	adopt(editor, "all", r.text("seen")).want(400)
	first := adopt(editor, "sure", r.text("seen")).want(200)
	adopt(editor, shift, r.text("seen")).want(412) // the log has gone on
	r = post.list(g.base+"/footage", "text/plain", listing).want(200)
	second := adopt(editor, shift, r.text("seen")).want(200)
	if first.number("clips") != 1 || second.number("clips") != 3 {
		t.Errorf("got %s and %s, want 1 clip and 3", first.body, second.body)
	}
	clip := func() string {
		c := g.ask("GET", g.base+"/records/clip/"+strings.TrimPrefix(shift, "shift:"), "").want(200)
		return c.text("name", "text") + " " + c.text("name", "from")
	}
	if got := clip(); got != "A001003_XY fromListing" {
		t.Errorf("the first of the shifted clips is %s", got)
	}
	r = post.list(g.base+"/footage", "text/plain", listing).want(200)
	if r.number("counts", "sure") != 4 || r.count("shifts") != 0 {
		t.Errorf("afterwards: %s", r.body)
	}
	adopt(editor, "sure", r.text("seen")).want(409) // there is nothing left
	undo := func(c *client, act *reply) *reply { return c.ask("POST", g.base+"/acts/"+act.text("act")+"/undo", "") }
	undo(post, second).want(403)
	undone := undo(editor, second).want(200)
	if undone.number("records") != 3 || clip() != "A001002 counted" {
		t.Errorf("taken back: %s; the clip is %s", undone.body, clip())
	}
	if again := undo(editor, undone).want(200); again.number("records") != 3 || clip() != "A001003_XY fromListing" {
		t.Errorf("taking back is taken back: %s; the clip is %s", again.body, clip())
	}
	undo(editor, second).want(409)
	editor.ask("POST", g.base+"/acts/00c0ffee00c0ffee.9/undo", "").want(404)
}

// A table says the columns in the query; what its files say of the camera is compared and taken over.
func TestSettingsOfFilesOverREST(t *testing.T) {
	g := setStage(t)
	const columns = "nameColumn=File&timeColumn=When&kelvinColumn=K&tintColumn=T&folderColumn=Card"
	table := "Card,File,When,K,T\n001,A001001_XY.mov,2031-03-04 07:25:12,4300,-3\n"
	r := g.list(g.base+"/footage?"+columns, "text/csv", table).want(200)
	if r.number("counts", "sure") != 1 || r.text("settings", 0, "words") != "file 4300 K, log 5600 K" {
		t.Fatalf("got %s", r.body)
	}
	act := g.list(g.base+"/footage/adopted?what=settings&seen="+r.text("seen")+"&"+columns, "text/csv", table).want(200)
	c := g.ask("GET", g.record("clip", "clip"), "").want(200)
	if c.number("kelvin") != 4300 || c.text("settingsAre") != "fromFile" {
		t.Errorf("the clip is %s", c.body)
	}
	g.ask("POST", g.base+"/acts/"+act.text("act")+"/undo", "").want(200)
	if c = g.ask("GET", g.record("clip", "clip"), "").want(200); c.number("kelvin") != 5600 || c.text("settingsAre") == "fromFile" {
		t.Errorf("taken back, the clip is %s", c.body)
	}
}

func TestListingsThatAreNone(t *testing.T) {
	g := setStage(t)
	long := strings.Repeat("/"+strings.Repeat("d", 30_000)+".mov\n", 64<<20/30_000+1)
	for _, c := range []struct {
		name, query, media, listing string
		status                      int
		words                       string
	}{
		{"nothing", "", "text/plain", " ", 400, "a listing with at least one file"},
		{"an image", "", "image/png", "x", 415, "text/plain"},
		{"another line", "", "text/plain", "12 1767225600.0 /d/A.mov\n<b>\u202e\n", 400, `line 2`},
		{"a table without a name", "", "text/csv", "a,b\n", 400, "the column with the names"},
		{"a column that is not there", "?nameColumn=Clip", "text/csv", "a,b\n", 400, "a column of the table: a, b"},
		{"entities", "", "application/xml", `<!DOCTYPE a [<!ENTITY b SYSTEM "file:///etc/passwd">]><hashlist version="2.0"/>`, 400, "no entities"},
		{"more than 64 MiB", "", "text/plain", long, 413, "64 MiB"},
		{"a parameter that is none", "?columns=x", "text/plain", "/d/A.mov\n", 400, "columns"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := g.list(g.base+"/footage"+c.query, c.media, c.listing)
			if r.status != c.status || !strings.Contains(string(r.body), c.words) || strings.ContainsRune(string(r.body), '\u202e') {
				t.Errorf("got %d %s, want %d and %q", r.status, r.body, c.status, c.words)
			}
		})
	}
}

// Of listings four are read at once, and one of each caller.
func TestListingsAreBounded(t *testing.T) {
	g := setStage(t)
	slow := g.admit(pairing.Reader, "slow", g.production)
	slow.slowly(g.base+"/footage", "text/plain")
	slow.list(g.base+"/footage", "text/plain", "/d/A.mov\n").wantBusy()
	g.list(g.base+"/footage", "text/plain", "/d/A.mov\n").want(200)
}
