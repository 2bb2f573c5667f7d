package api

import (
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
)

// TestWhoIsLetInWithNewProductionsOwnsThose: another unit's server brings what is not here, with its
// settings, and sees nothing else.
func TestWhoIsLetInWithNewProductionsOwnsThose(t *testing.T) {
	g, owners, _ := lostStage(t)
	there := g.elsewhere()
	studios := there.ask("POST", "/v1/productions", newProduction).want(201).id()
	const wish = `{"role":"editor","label":"cart 7","newProductions":true`
	for body, status := range map[string]int{
		`{"role":"reader","label":"cart 7","newProductions":true}`: 400, `{"role":"owner","label":"cart 7","newProductions":true}`: 400,
		wish + `,"production":"` + drawID().String() + `"}`: 404,
	} {
		if r := there.ask("POST", "/v1/invitations", body); r.status != status {
			t.Errorf("%s: got %d %s, want %d", body, r.status, r.body, status)
		}
	}
	ownsOne := there.phone()
	ownsOne.join(pairing.Owner, "of one", mustID(t, studios))
	ownsOne.ask("POST", "/v1/invitations", wish+`,"production":"`+studios+`"}`).want(403)
	let := func() *client {
		made := there.ask("POST", "/v1/invitations", wish+`}`).want(201)
		if made.at("newProductions") != "true" {
			t.Errorf("the invitation says %s", made.body)
		}
		code, _ := made.at("code").Text()
		c := there.phone()
		c.redeem(code)
		return c
	}
	cart, second := let(), let()
	cart.ask("GET", "/v1/productions/"+studios, "").want(403)
	if r := cart.ask("GET", "/v1/productions", "").want(200); r.count("productions") != 0 {
		t.Errorf("before it brought one it sees %s", r.body)
	}
	owners.client, owners.at = cart, there
	owners.meets()
	there.ids["itself"] = g.production.String()
	owners.writes(kinds.Production, "itself", "title", `"The Lighthouse, reshot"`)
	owners.meets()
	if r := there.ask("GET", g.base, "").want(200); r.at("title") != `"The Lighthouse, reshot"` {
		t.Errorf("the production that it brought reads %s", r.body)
	}
	if r := there.ask("GET", g.base+"/aside", "").want(200); r.at("waiting") != "0" {
		t.Errorf("an owner is asked about %s", r.body)
	}
	if r := cart.ask("GET", "/v1/productions", "").want(200); r.count("productions") != 1 || r.at("productions", 0, "role") != `"owner"` {
		t.Errorf("then it sees %s", r.body)
	}
	if r := cart.ask("GET", "/v1/me", "").want(200); r.at("roles", "new") != `"editor"` || r.at("roles", g.production.String()) != `"owner"` {
		t.Errorf("it is listed as %s", r.body)
	}
	second.ask("POST", g.base+"/exchange", `{}`).want(403)
	second.ask("GET", "/v1/productions/"+drawID().String(), "").want(404)
}

func mustID(t *testing.T, text string) logbook.ID {
	t.Helper()
	id, err := logbook.ParseID(text)
	if err != nil {
		t.Fatal(err)
	}
	return id
}
