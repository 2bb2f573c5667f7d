package api

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"evenwhite/api/pairing"
)

var colorLogForms = []string{"csv", "csv-metadata.json", "json", "json.gz", "xlsx", "html", "zip"}

// A colour log of a state is what it was, after more edits and on a server that another filled; by the whole name, and
// by the short ones where it was handed out.
func TestAColorLogIsMadeAgainOfItsState(t *testing.T) {
	g := setStage(t)
	there := g.elsewhere()
	was, tags := map[string]string{}, map[string]string{}
	for _, form := range colorLogForms {
		r := g.ask("GET", g.base+"/color-log."+form, "").want(200)
		was[form], tags[form] = string(r.body), r.tag()
	}
	d := g.ask("GET", g.base+"/color-log.json", "").want(200)
	name, digest, words := d.text("state", "name"), d.text("state", "digest"), d.text("state", "words")
	if !strings.HasPrefix(d.tag(), `"`+digest) || !strings.HasPrefix(name, digest) {
		t.Errorf("the state %s goes out under %s", name, d.tag())
	}
	for n := range 5 {
		g.ask("POST", g.base+"/set-ups/"+g.ids["setUp"]+"/events", `{"event":"nextTake"}`).want(201)
		if n == 2 {
			bundle := g.ask("GET", g.base+"/bundle", "").want(200)
			there.ask("POST", g.base+"/bundle", string(bundle.body), "Content-Type", bundle.header.Get("Content-Type")).want(200)
		}
	}
	for _, form := range colorLogForms {
		path := g.base + "/color-log." + form + "?state="
		for _, named := range []string{name, digest, words} {
			r := g.ask("GET", path+url.QueryEscape(named), "").want(200)
			if string(r.body) != was[form] || r.tag() != tags[form] {
				t.Errorf("%s of %s: %d bytes under %s, want the %d of then under %s", form, named, len(r.body), r.tag(), len(was[form]), tags[form])
			}
		}
		g.ask("GET", path+name, "", "If-None-Match", tags[form]).want(304)
		if r := there.ask("GET", path+name, "").want(200); string(r.body) != was[form] {
			t.Errorf("%s elsewhere: other bytes", form)
		}
	}
	if now := g.ask("GET", g.base+"/color-log.csv", "").want(200); string(now.body) == was["csv"] {
		t.Error("nothing came: then that the bytes are the same shows nothing")
	}
	if n := g.frozen(); n != 0 {
		t.Errorf("%d books are frozen for nobody", n)
	}
	there.ask("GET", g.base+"/color-log.csv?state="+url.QueryEscape("zoo zoo zoo zoo zoo zoo"), "").want(404)
	g.ask("GET", g.base+"/color-log.csv?state=yesterday", "").want(400)
	for text, status := range map[string]int{
		strings.Repeat("a", 30_000): 400, strings.Repeat("a", 30_001): 400, nameOfLines(1400): 404,
	} {
		p := g.ask("GET", g.base+"/color-log.csv?state="+text, "").want(status)
		if d := p.text("detail"); d == "" || len(p.body) > 4000 {
			t.Errorf("a name of %d characters: %d bytes of answer, %q", len(text), len(p.body), shorten(d))
		}
	}
	now := g.ask("GET", g.base+"/color-log.json", "").text("state", "name")
	r := there.ask("GET", g.base+"/color-log.csv?state="+now, "").want(404)
	if detail := r.text("detail"); !strings.Contains(detail, "of line ") || !strings.Contains(detail, "it lacks ") {
		t.Errorf("what is missing is told as %q", detail)
	}
}

// nameOfLines is the name of a state of so many lines, which no log holds.
func nameOfLines(n int) string {
	name := strings.Repeat("ab", 16)
	for i := range n {
		name += fmt.Sprintf(".%016x_1", 0xc0ffee0000+i)
	}
	return name
}

// Two states compare as what changed, by whom, and why.
func TestTwoStatesAreCompared(t *testing.T) {
	g := setStage(t)
	name := g.ask("GET", g.base+"/color-log.json", "").want(200).text("state", "name")
	clip := g.record("clip", "clip")
	g.ask("PATCH", clip, `{"lens":"85"}`, "If-Match", g.ask("GET", clip, "").tag(), "Content-Type", "application/merge-patch+json").want(200)
	reader := g.admit(pairing.Reader, "visitor", g.production)
	r := reader.ask("GET", g.base+"/color-log/changes?before="+name, "").want(200)
	if r.text("clips", 0, "cells", 0, "column") != "lens" || r.text("clips", 0, "cells", 0, "after") != "85" || r.count("clips") != 1 ||
		r.count("edits") != 1 || r.text("edits", 0, "by") != "desk" || r.text("clips", 0, "cells", 0, "edits", 0) != r.text("edits", 0, "dot") {
		t.Errorf("got %s", r.body)
	}
	same := g.ask("GET", g.base+"/color-log/changes?before="+name+"&after="+name, "").want(200)
	if same.count("clips")+same.count("edits") != 0 {
		t.Errorf("got %s", same.body)
	}
	g.ask("GET", g.base+"/color-log/changes", "").want(400)
	g.ask("GET", g.base+"/color-log/changes?before=x", "").want(400)
	g.ask("GET", g.base+"/color-log/changes?before="+strings.Repeat("0", 31)+"1", "").want(404)
}
