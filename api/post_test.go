package api

import (
	"fmt"
	"strings"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// Post looks at everything and writes notes by REST, and nothing else. What it asks, and what it is answered, stands in
// the next colour log.
func TestPostAsksBack(t *testing.T) {
	g := setStage(t)
	post, reader := g.admit(pairing.Post, "assistant editor", g.production), g.admit(pairing.Reader, "visitor", g.production)
	note := g.fill(`{"about":"$clip","text":"is the card in frame?","to":{"as":"set"}}`)
	g.ids["question"] = post.ask("POST", g.base+"/records/note", note).want(201).id()
	reader.ask("POST", g.base+"/records/note", note).want(403)
	for _, path := range []string{
		"/color-log.csv", "/color-log.json", "/records/clip", "/records/clip/" + g.ids["clip"] + "/corrections", "/deviations",
	} {
		if r := post.ask("GET", g.base+path, ""); r.status == 403 || r.status == 401 {
			t.Errorf("%s: post gets %d", path, r.status)
		}
	}
	reader.ask("POST", g.base+"/exchange", `{"edits":[`+g.edit(lineOfOther, 1, "note", "$note", `{"text":"no"}`, `{}`)+`]}`).want(403)
	clip := g.record("clip", "clip")
	post.ask("PATCH", clip, `{"kelvin":3200}`, "If-Match", g.ask("GET", clip, "").tag(),
		"Content-Type", "application/merge-patch+json").want(403)
	post.ask("POST", g.base+"/set-ups/"+g.ids["setUp"]+"/events", `{"event":"nextTake"}`).want(403)
	post.ask("POST", g.base+"/records/note", g.fill(`{"about":"$clip","text":"away with it","discards":"`+lineOfOne+`.1"}`)).want(403)
	g.ask("POST", g.base+"/records/note", g.fill(`{"about":"$clip","text":"yes, until 06:25:10","to":{"as":"post"},"answers":"$question"}`)).want(201)
	log := string(post.ask("GET", g.base+"/color-log.csv", "").want(200).body)
	for _, asked := range []string{"is the card in frame?", "yes, until 06:25:10"} {
		if !strings.Contains(log, asked) {
			t.Errorf("the colour log does not carry %q", asked)
		}
	}
}

// By REST each kind is made by those roles that may, and by no other.
func TestWhoMayMakeWhatByREST(t *testing.T) {
	g := setStage(t)
	for _, role := range []pairing.Role{pairing.Owner, pairing.Editor, pairing.Post, pairing.Reader, pairing.Guest} {
		c := g.admit(role, string(role), g.production)
		for i := range kinds.Specs {
			kind := string(kinds.Specs[i].Kind)
			if kind == "production" {
				continue
			}
			may := role.Includes(pairing.Editor) || role == pairing.Post && kind == "note"
			head := g.head()
			r := c.ask("POST", g.base+"/records/"+kind, g.fill(`{"about":"$clip","text":"so"}`)) // of another kind it is refused as it reads
			if (r.status == 403) == may || !may && g.head() != head {
				t.Errorf("%s makes a %s: %d", role, kind, r.status)
			}
		}
		for _, name := range []string{"note", "clip"} { // of others: nobody below an editor
			path := g.record(name, name)
			tag := g.ask("GET", path, "").want(200).tag()
			r := c.ask("PATCH", path, `{"nothing":1}`, "If-Match", tag, "Content-Type", "application/merge-patch+json")
			if (r.status == 403) != (role.Includes(pairing.Editor) == false) {
				t.Errorf("%s changes a %s: %d", role, name, r.status)
			}
		}
	}
}

// By exchange a device brings what its role may write, its own and others'; the rest waits aside for an
// owner, and the device is told. Nothing is lost.
func TestWhoMayBringWhatByExchange(t *testing.T) {
	g := setStage(t)
	own := map[pairing.Role]*client{}
	for _, role := range []pairing.Role{pairing.Owner, pairing.Editor, pairing.Post} {
		own[role] = g.admit(role, string(role), g.production)
	}
	type brought struct {
		what, edit string
		aside      bool
	}
	var head, taken int
	for role, c := range own {
		var all []brought
		for i := range kinds.Specs {
			kind := kinds.Specs[i].Kind
			for _, e := range []struct {
				whose, record, set, over string
				device                   logbook.ID
				post                     bool // post may bring it
			}{
				{"new, of its own device", drawID().String(), `{"about":"$clip","text":"which lamp?","to":{"as":"set"}}`, "", c.device, kind == kinds.Note},
				{"an answer", drawID().String(), `{"about":"$take","text":"thanks","answers":"$note","state":"done"}`, "", c.device, kind == kinds.Note},
				{"new, of another device", drawID().String(), `{"about":"$clip","text":"relayed"}`, "", drawID(), false},
				{"another's", "$note", `{"text":"not so"}`, `{"text":["` + g.dotOf("note", "note") + `"]}`, c.device, false},
				{"another's, unseen", "$note", `{"state":"done"}`, "", c.device, false},
				{"another's that is not here", drawID().String(), `{"text":"not so"}`, `{"text":["` + lineOfOther + `.77"]}`, c.device, false},
				{"a field that is none of post", drawID().String(), `{"about":"$clip","text":"x","discards":"` + lineOfOne + `.1"}`, "", c.device, false},
				{"struck out", "$note", `{"deleted":true}`, "", c.device, false},
			} {
				if e.over != "" {
					e.over = `,"over":` + e.over
				}
				line := drawLine()
				all = append(all, brought{string(kind) + ", " + e.whose, g.fill(fmt.Sprintf(`{"production":"$production","kind":"%s","record":"%s","device":"%s",`+
					`"line":"%s","n":1,"at":"2031-03-04T06:40:00.000Z","offsetMs":0,"by":"x","set":%s%s}`, kind, e.record, e.device, line, e.set, e.over)),
					role == pairing.Post && !e.post || role == pairing.Editor && kind == kinds.Production})
			}
		}
		edits := make([]string, len(all))
		for i, b := range all {
			edits[i] = b.edit
		}
		head = int(g.head().Seq)
		for _, again := range []bool{false, true} {
			outcomes := strings.Fields(c.ask("POST", g.base+"/exchange", `{"edits":[`+strings.Join(edits, ",")+`]}`).want(200).outcomes())
			for i, b := range all {
				if (outcomes[i] == "aside") != b.aside {
					t.Errorf("%s brings a %s (again: %v): %s", role, b.what, again, outcomes[i])
				}
				if !again && !b.aside {
					taken++
				}
			}
		}
		if got := int(g.head().Seq) - head; got != taken {
			t.Errorf("of what %s brought %d edits are in the log, want %d", role, got, taken)
		}
		taken = 0
	}
	waiting := string(g.ask("GET", g.base+"/aside?limit=500", "").want(200).at("waiting"))
	if want := fmt.Sprint(8*len(kinds.Specs) - 2 + 8); waiting != want {
		t.Errorf("%s edits wait for an owner, want %s: none is lost", waiting, want)
	}
}

// Post goes on with a note that it began, in the push that begins it, in a later one, and by exchange with one that it
// made by REST; an owner takes in what waits.
func TestPostGoesOnWithItsOwnNotes(t *testing.T) {
	g := setStage(t)
	post := g.admit(pairing.Post, "assistant editor", g.production)
	g.ids["begun"], g.ids["byREST"] = drawID().String(), post.ask("POST", g.base+"/records/note",
		g.fill(`{"about":"$clip","text":"by REST"}`)).want(201).id()
	n := 0
	edit := func(record, set, over string) string {
		n++
		return g.fill(fmt.Sprintf(`{"production":"$production","kind":"note","record":"%s","device":"%s","line":"%s","n":%d,`+
			`"at":"2031-03-04T06:40:00.000Z","offsetMs":0,"by":"assistant editor","set":%s,"over":%s}`, record, post.device, lineOfOne, n, set, over))
	}
	bring := func(edits ...string) string {
		return post.ask("POST", g.base+"/exchange", `{"edits":[`+strings.Join(edits, ",")+`]}`).want(200).outcomes()
	}
	if got := bring(edit("$begun", `{"about":"$clip","text":"which lmp?"}`, `{}`),
		edit("$begun", `{"text":"which lamp?"}`, `{"text":["`+lineOfOne+`.1"]}`), edit("$begun", `{"to":{"as":"set"}}`, `{}`)); got != "taken taken taken" {
		t.Errorf("in one push: %s", got)
	}
	if got := bring(edit("$begun", `{"state":"done"}`, `{}`), edit("$byREST", `{"state":"done"}`, `{}`)); got != "taken taken" {
		t.Errorf("later: %s", got)
	}
	if got := bring(edit("$note", `{"state":"done"}`, `{}`)); got != "aside" {
		t.Errorf("of another's note: %s", got)
	}
	id := g.ask("GET", g.base+"/aside", "").want(200).text("edits", 0, "id")
	if got := g.ask("POST", g.base+"/aside", `{"take":["`+id+`"]}`).want(200).outcomes(); got != "taken" {
		t.Errorf("an owner takes it in: %s", got)
	}
	if state := g.ask("GET", g.record("note", "note"), "").want(200).text("state"); state != "done" {
		t.Errorf("the note is %s", state)
	}
}
