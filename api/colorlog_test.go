package api

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"encoding/csv"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

// publishedSchema is the schema of the colour log as a stranger gets it.
func (g *stage) publishedSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	r := (&client{site: g.site}).ask("GET", "/color-log.schema.json", "").want(200)
	document, err := jsonschema.UnmarshalJSON(bytes.NewReader(r.body))
	if err != nil {
		t.Fatal(err)
	}
	name, _ := r.at("$id").Text()
	compiler := jsonschema.NewCompiler()
	compiler.AssertFormat()
	if err := compiler.AddResource(name, document); err != nil {
		t.Fatal(err)
	}
	schema, err := compiler.Compile(name)
	if err != nil {
		t.Fatal(err)
	}
	return schema
}

func TestTheColorLogOfADayMeetsThePublishedSchema(t *testing.T) {
	g := setStage(t)
	schema := g.publishedSchema(t)
	setUp := g.base + "/set-ups/" + g.ids["setUp"]
	for range 3 {
		g.clock.move(90e9)
		g.ask("POST", setUp+"/events", g.fill(`{"event":"nextTake","cameras":{"$b":{"whiteMode":"kelvin","kelvin":4300.00}}}`)).want(201)
	}
	seen := `{"kelvin":["` + g.dotOf("clip", "clip") + `"]}`
	for i, line := range []string{lineOfOne, lineOfOther} {
		set := []string{`{"kelvin":4400}`, `{"kelvin":4500}`}[i]
		g.ask("POST", g.base+"/exchange", `{"edits":[`+g.edit(line, 1, "clip", "$clip", set, seen)+`]}`).want(200)
	}
	r := g.ask("GET", g.base+"/color-log.json", "").want(200)
	if n := r.count("rows"); n != 7 || !bytes.Contains(r.body, []byte("4300.00")) {
		t.Errorf("got %d rows, want 7, with 4300.00 as it was typed: %s", n, r.body)
	}
	check := func(body []byte) error {
		document, err := jsonschema.UnmarshalJSON(bytes.NewReader(body))
		if err != nil {
			t.Fatal(err)
		}
		return schema.Validate(document)
	}
	if err := check(r.body); err != nil {
		t.Errorf("it does not: %v\n%s", err, r.body)
	}
	if check([]byte(strings.Replace(string(r.body), `"count":`, `"rowCount":`, 1))) == nil {
		t.Error("the schema takes a document without its count")
	}
	cut := g.ask("GET", g.base+"/color-log.json?setUp="+g.ids["setUp"], "").want(200)
	if check(cut.body) != nil || cut.at("scope", "setUp") != logbook.TextValue(g.ids["setUp"]) {
		t.Errorf("the log of one set-up: %v, scope %s", check(cut.body), cut.at("scope"))
	}
}

func TestColorLog(t *testing.T) {
	g := setStage(t)
	guest := g.admit(pairing.Guest, "post", g.production)
	for _, c := range []struct{ path, name string }{{"/color-log.csv", "lh-color-log.csv"}, {"/color-log.json", "lh-color-log.json"}} {
		for _, query := range []string{"", "?day=" + g.ids["day"], "?setUp=" + g.ids["setUp"]} {
			r := guest.ask("GET", g.base+c.path+query, "").want(200)
			sum := sha256.Sum256(r.body)
			if got, want := r.header.Get("Repr-Digest"), "sha-256=:"+base64.StdEncoding.EncodeToString(sum[:])+":"; got != want {
				t.Errorf("%s%s: Repr-Digest is %s, want %s", c.path, query, got, want)
			}
			if got := r.header.Get("Content-Disposition"); got != `attachment; filename="`+c.name+`"; filename*=UTF-8''The%20Lighthouse-`+strings.TrimPrefix(c.name, "lh-") {
				t.Errorf("%s%s: Content-Disposition is %s", c.path, query, got)
			}
		}
	}
	rows, err := csv.NewReader(strings.NewReader(string(guest.ask("GET", g.base+"/color-log.csv", "").body))).ReadAll()
	if err != nil || len(rows) != 2 {
		t.Fatalf("got %d lines (%v), want a header and one row", len(rows), err)
	}
	d := guest.ask("GET", g.base+"/color-log.json", "")
	if d.at("count") != "1" ||
		d.at("rows", 0, "find", "clipName") != `"A001001"` || d.at("rows", 0, "set", "kelvin") != "5600" {
		t.Errorf("got %s", d.body)
	}
}
