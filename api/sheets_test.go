package api

import (
	"strings"
	"testing"

	"evenwhite/api/pairing"
)

func TestSheets(t *testing.T) {
	g := setStage(t)
	setUp := g.base + "/set-ups/" + g.ids["setUp"]
	t.Run("a set-up as it was at a take", func(t *testing.T) {
		before := g.ask("GET", setUp+"/rebuild?take="+g.ids["take"], "").want(200)
		if before.count("lights") != 2 || before.text("asOf") != "as rigged at take 1, 07:25 UTC+1" ||
			before.text("lights", 1, "rigged", "words") != "panel, dial 5600 K, 40 %, half warm" {
			t.Fatalf("got %s", before.body)
		}
		panel := g.record("light", "panel")
		g.ask("PATCH", panel, `{"rigged":{"dialKelvin":3200}}`, "If-Match", g.ask("GET", panel, "").tag()).want(200)
		after := g.ask("GET", setUp+"/rebuild?take="+g.ids["take"], "").want(200)
		if string(after.at("lights")) != string(before.at("lights")) {
			t.Errorf("a dial that was turned later is in it: %s", after.body)
		}
		g.ask("GET", setUp+"/rebuild?take="+g.ids["clip"], "").want(404)
	})
	t.Run("against a model", func(t *testing.T) {
		if p := g.ask("GET", setUp+"/apart", "").want(422).problem(); p.Type != problemPrefix+"no-model" {
			t.Errorf("got %+v", p)
		}
		a := g.ask("GET", setUp+"/apart?take="+g.ids["take"]+"&model="+g.ids["setUp"], "").want(200)
		if a.at("begun") != "true" || a.count("rows") != 0 || a.number("same") == 0 {
			t.Errorf("a set-up differs from itself: %s", a.body)
		}
		g.ask("GET", setUp+"/apart?model="+g.ids["take"], "").want(404)
	})
	t.Run("pages load nothing and have a name", func(t *testing.T) {
		for _, path := range []string{setUp + "/rebuild.html", setUp + "/apart.html?model=" + g.ids["setUp"],
			g.base + "/scenes/" + g.ids["scene"] + "/continuity.html", g.base + "/rigging.html", g.base + "/rigging.html?setUp=" + g.ids["setUp"]} {
			r := g.ask("GET", path, "").want(200)
			if !strings.HasPrefix(r.header.Get("Content-Type"), "text/html") || !strings.Contains(r.header.Get("Content-Disposition"), ".html") ||
				!strings.Contains(r.header.Get("Content-Security-Policy"), "default-src 'none'") ||
				!strings.HasSuffix(strings.TrimSpace(string(r.body)), "</html>") {
				t.Errorf("%s: got %v", path, r.header)
			}
		}
		g.ask("GET", g.base+"/scenes/"+g.ids["take"]+"/continuity.html", "").want(404)
	})
	t.Run("stock of the latest day", func(t *testing.T) {
		list := g.ask("GET", g.base+"/rigging", "").want(200)
		if list.count("stock") != 2 || list.text("stock", 0, "verdict") != "notKnown" || list.text("stock", 1, "words") != "1 of 2 in use" {
			t.Errorf("got %s", list.body)
		}
		g.ask("GET", g.base+"/rigging?day="+g.ids["take"], "").want(404)
	})
}

func TestWrapOfADay(t *testing.T) {
	g := setStage(t)
	open := func(kind string) bool {
		t.Helper()
		for i := range g.ask("GET", g.base+"/wrap", "").want(200).at("items").Items() {
			if is, _ := i.Member("kind").Text(); is == kind {
				return true
			}
		}
		return false
	}
	if !open("day-not-closed") || !open("name-not-sure") || open("unsent-work") {
		t.Errorf("got %s", g.ask("GET", g.base+"/wrap", "").body)
	}
	phone := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	phone.ask("PATCH", "/v1/me", `{"unsent":4}`).want(200)
	if !open("unsent-work") {
		t.Error("the work that a phone holds is not open")
	}
	phone.ask("PATCH", "/v1/me", `{"unsent":0}`).want(200)
	g.ask("PATCH", g.record("day", "day"), `{"closed":true}`, "If-Match", g.ask("GET", g.record("day", "day"), "").tag()).want(200)
	if open("unsent-work") || open("day-not-closed") {
		t.Error("what was done is still open")
	}
	g.admit(pairing.Reader, "post", g.production).ask("PATCH", "/v1/me", `{"unsent":9}`).want(200)
	if open("unsent-work") {
		t.Error("who may not write holds nothing that could be lost")
	}
	g.ask("GET", g.base+"/wrap?day="+g.ids["take"], "").want(404)
}
