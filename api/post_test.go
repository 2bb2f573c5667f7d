package api

import (
	"strings"
	"testing"

	"evenwhite/api/pairing"
)

// Post looks at everything, writes notes, and changes nothing else: by REST and by exchange. What it asks
// stands in the next colour log.
func TestPostAsksBack(t *testing.T) {
	g := setStage(t)
	g.ids["question"] = drawID().String()
	post, reader := g.admit(pairing.Post, "assistant editor", g.production), g.admit(pairing.Reader, "visitor", g.production)
	note := g.fill(`{"about":"$clip","text":"is the card in frame?","to":{"as":"post"}}`)
	post.ask("POST", g.base+"/records/note", note).want(201)
	reader.ask("POST", g.base+"/records/note", note).want(403)
	for _, path := range []string{
		"/color-log.csv", "/color-log.json", "/records/clip", "/records/clip/" + g.ids["clip"] + "/corrections", "/deviations",
	} {
		if r := post.ask("GET", g.base+path, ""); r.status == 403 || r.status == 401 {
			t.Errorf("%s: post gets %d", path, r.status)
		}
	}
	clip := g.record("clip", "clip")
	post.ask("PATCH", clip, `{"kelvin":3200}`, "If-Match", g.ask("GET", clip, "").tag(),
		"Content-Type", "application/merge-patch+json").want(403)
	post.ask("POST", g.base+"/records/take", g.fill(`{"setUp":"$setUp","number":77}`)).want(403)
	post.ask("POST", g.base+"/set-ups/"+g.ids["setUp"]+"/events", `{"event":"nextTake"}`).want(403)
	post.ask("POST", g.base+"/exchange", `{"edits":[`+g.edit(lineOfOne, 1, "clip", "$clip", `{"kelvin":3300}`, `{}`)+`]}`).want(403)
	post.ask("POST", g.base+"/exchange", `{"edits":[`+g.edit(lineOfOne, 1, "note", "$question",
		g.fill(`{"about":"$clip","text":"and which lamp was it?","to":{"as":"post"}}`), `{}`)+`]}`).want(200)
	reader.ask("POST", g.base+"/exchange", `{"edits":[`+g.edit(lineOfOther, 1, "note", "$question", `{"text":"no"}`, `{}`)+`]}`).want(403)
	log := string(post.ask("GET", g.base+"/color-log.csv", "").want(200).body)
	for _, asked := range []string{"is the card in frame?", "and which lamp was it?"} {
		if !strings.Contains(log, asked) {
			t.Errorf("the colour log does not carry %q", asked)
		}
	}
}
