package api

import (
	"testing"

	"evenwhite/api/pairing"
)

func TestListsAndBundlesThatAreKnownAreNotSentAgain(t *testing.T) {
	g := setStage(t)
	invite := func() {
		g.ask("POST", "/v1/invitations", `{"role":"editor","label":"2nd AC","production":"`+g.production.String()+`"}`).want(201)
	}
	for path, change := range map[string]func(){
		"/v1/invitations":  invite,
		"/v1/devices":      func() { g.admit(pairing.Editor, "2nd AC", g.production) },
		"/v1/productions":  func() { g.ask("POST", "/v1/productions", newProduction).want(201) },
		g.base + "/bundle": g.writeNote,
	} {
		first := g.ask("GET", path, "").want(200)
		if first.tag() == "" || first.header.Get("Cache-Control") != "no-cache" {
			t.Errorf("%s: got the tag %q and %q", path, first.tag(), first.header.Get("Cache-Control"))
		}
		if again := g.ask("GET", path, "", "If-None-Match", first.tag()).want(304); len(again.body) > 0 {
			t.Errorf("%s: got %s although it is known", path, again.body)
		}
		change()
		next := g.ask("GET", path, "", "If-None-Match", first.tag()).want(200)
		if next.tag() == first.tag() || string(next.body) == string(first.body) {
			t.Errorf("%s: got the tag of before", path)
		}
	}
}
