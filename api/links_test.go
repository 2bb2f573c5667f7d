package api

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
)

// link makes a link and returns its id and its secret.
func (c *client) link(base, body string) (id, secret string) {
	c.Helper()
	r := c.ask("POST", base+"/links", body).want(201)
	address, _ := r.at("link").Text()
	_, secret, _ = strings.Cut(address, "/g#")
	if len(secret) < 22 {
		c.Fatalf("the link is %q", address)
	}
	return r.id(), secret
}

func TestAGuestFetchesWhatTheLinkGivesAndNothingElse(t *testing.T) {
	g := setStage(t)
	stranger := &client{site: g.site}
	for format, path := range map[string]string{"csv": "/color-log.csv", "json": "/color-log.json"} {
		_, secret := g.link(g.base, `{"format":"`+format+`","label":"the lab","hours":72}`)
		want, got := g.ask("GET", g.base+path, "").want(200), stranger.ask("POST", "/v1/shared", `{"secret":"`+secret+`"}`).want(200)
		if string(got.body) != string(want.body) || got.header.Get("Content-Disposition") != want.header.Get("Content-Disposition") {
			t.Errorf("%s: the guest got %d bytes, want %d, %v", format, len(got.body), len(want.body), got.header)
		}
		for _, path := range []string{g.base, g.base + "/links", g.base + path, "/v1/productions"} {
			stranger.ask("GET", path, "", "Authorization", "Bearer "+secret).want(401)
		}
		if strings.Contains(g.log.String(), secret) {
			t.Error("the log holds the secret")
		}
	}
	_, secret := g.link(g.base, fmt.Sprintf(`{"format":"csv","label":"the day","hours":1,"day":%q}`, g.ids["day"]))
	want := g.ask("GET", g.base+"/color-log.csv?day="+g.ids["day"], "").want(200)
	if got := stranger.ask("POST", "/v1/shared", `{"secret":"`+secret+`"}`).want(200); string(got.body) != string(want.body) {
		t.Errorf("of the day the guest got %s", got.body)
	}
	if done := g.ask("GET", "/v1/audit", "").want(200); !strings.Contains(string(done.body), `"link for the day"`) ||
		strings.Contains(string(done.body), secret) {
		t.Errorf("what was done is listed as %s", done.body)
	}
	list := g.ask("GET", g.base+"/links", "").want(200)
	if list.count("links") != 3 || strings.Contains(string(list.body), secret) || strings.Contains(string(list.body), "/g#") {
		t.Errorf("the list is %s", list.body)
	}
	if n, _ := list.at("links", 0, "downloads").Float(); n != 1 {
		t.Errorf("got %v downloads, want 1", n)
	}
}

func TestALinkEnds(t *testing.T) {
	g := setStage(t)
	stranger := &client{site: g.site}
	fetch := func(secret string) *reply { return stranger.ask("POST", "/v1/shared", `{"secret":"`+secret+`"}`) }
	id, secret := g.link(g.base, `{"format":"csv","label":"the lab","hours":1}`)
	_, other := g.link(g.base, `{"format":"csv","label":"dailies","hours":2}`)
	fetch(secret + "A").want(403)
	fetch(secret).want(200)
	g.ask("DELETE", g.base+"/links/"+id, "").want(204)
	if p := fetch(secret).want(403).problem(); p.Type != problemPrefix+"link-over" || !strings.Contains(p.Detail, "revoked") {
		t.Errorf("a revoked link says %+v", p)
	}
	fetch(other).want(200)
	g.clock.move(2 * time.Hour)
	if p := fetch(other).want(403).problem(); !strings.Contains(p.Detail, "expired") {
		t.Errorf("an expired link says %+v", p)
	}
	list := g.ask("GET", g.base+"/links", "").want(200)
	for i, want := range []string{"expired", "revoked"} {
		if over, _ := list.at("links", i, "over").Text(); over != want {
			t.Errorf("link %d is %q, want %q: %s", i, over, want, list.body)
		}
	}
}

func TestALinkIsMadeForWhatIsThere(t *testing.T) {
	g := setStage(t)
	for name, c := range map[string]struct {
		body   string
		status int
	}{
		"a day that is not here":    {`{"format":"csv","label":"x","hours":1,"day":"` + drawID().String() + `"}`, 404},
		"a set-up that is a day":    {`{"format":"csv","label":"x","hours":1,"setUp":"` + g.ids["day"] + `"}`, 404},
		"a format that is not made": {`{"format":"pdf","label":"x","hours":1}`, 400},
		"no time":                   {`{"format":"csv","label":"x","hours":0}`, 400},
		"for ever":                  {`{"format":"csv","label":"x","hours":9999}`, 400},
		"for nobody":                {`{"format":"csv","label":"","hours":1}`, 400},
	} {
		if r := g.ask("POST", g.base+"/links", c.body); r.status != c.status {
			t.Errorf("%s: got %d %s, want %d", name, r.status, r.body, c.status)
		}
	}
	other, err := logbook.ParseID(g.ask("POST", "/v1/productions", newProduction).want(201).id())
	if err != nil {
		t.Fatal(err)
	}
	id, secret := g.link(g.base, `{"format":"csv","label":"x","hours":1}`)
	elsewhere := g.admit(owner, "owner elsewhere", other)
	elsewhere.ask("DELETE", "/v1/productions/"+other.String()+"/links/"+id, "").want(404)
	elsewhere.ask("DELETE", g.base+"/links/"+id, "").want(403)
	(&client{site: g.site}).ask("POST", "/v1/shared", `{"secret":"`+secret+`"}`).want(200)
}
