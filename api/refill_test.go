package api

import (
	"bytes"
	"fmt"
	"sort"
	"strings"
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
	"evenwhite/logbook/exchange"
	"evenwhite/logbook/kinds"
)

// everything is what a service says of a production: all records, their histories,
// conflicts, twins and refused edits.
func (g *stage) everything() string {
	g.Helper()
	var out strings.Builder
	for _, path := range []string{"", "/conflicts", "/twins", "/quarantine", "/deviations"} {
		fmt.Fprintf(&out, "%s %s\n", path, g.ask("GET", g.base+path, "").want(200).body)
	}
	for i := range kinds.Specs {
		path := fmt.Sprintf("%s/records/%s", g.base, kinds.Specs[i].Kind)
		page := g.ask("GET", path+"?deleted=true&limit=500", "").want(200)
		fmt.Fprintf(&out, "%s %s\n", path, page.body)
		var ids []string
		for r := range page.at("records").Items() {
			id, _ := r.Member("id").Text()
			ids = append(ids, id)
		}
		sort.Strings(ids)
		for _, id := range ids {
			history := g.ask("GET", path+"/"+id+"/history", "").want(200)
			fmt.Fprintf(&out, "%s %s %s\n", id, g.ask("GET", path+"/"+id, "").want(200).tag(), history.body)
		}
	}
	return out.String()
}

// elsewhere is a new server, empty, with its owner; the production is not on it.
func (g *stage) elsewhere() *stage {
	g.Helper()
	there := openSite(g.T)
	there.clock.move(g.clock.now().Sub(there.clock.now()))
	return &stage{client: there.admit(pairing.Owner, "desk", logbook.ID{}), base: g.base, production: g.production, ids: g.ids, cast: g.cast}
}

// moved is a phone after it was paired with another server.
func (h *handset) moved(to *stage, role pairing.Role) {
	h.Helper()
	h.client, h.at = to.admit(role, "phone", logbook.ID{}), to
}

// before is a production with everything that can be lost: changes of people who did not
// see each other, a struck-out record, a refused edit, changes by REST.
func lostStage(t *testing.T) (g *stage, owners, editors *handset) {
	g = setStage(t)
	owners, editors = g.handset("the owner's phone"), g.handset("phone of the 2nd AC")
	owners.meets()
	editors.meets()
	owners.writes(kinds.Clip, "clip", "lens", `"50 mm"`)
	editors.writes(kinds.Clip, "clip", "lens", `"85 mm"`)
	g.push(editors.client, g.edit(lineOfOne, 1, "clip", "$clip", `{"kelvin":-3}`))
	gel := g.ask("POST", g.base+"/records/gel", `{"name":"plus green","gelKind":"green"}`).want(201)
	g.ask("DELETE", g.base+"/records/gel/"+gel.id(), "", "If-Match", gel.tag()).want(200)
	for range 2 {
		owners.meets()
		editors.meets()
	}
	return g, owners, editors
}

func TestAnEmptyServerIsFilledAgain(t *testing.T) {
	g, owners, editors := lostStage(t)
	want, bundle := g.everything(), string(g.ask("GET", g.base+"/bundle", "").want(200).body)
	if !strings.Contains(want, "85 mm") || g.ask("GET", g.base+"/conflicts", "").count("conflicts") != 1 {
		t.Fatalf("the production lacks what may be lost: %s", want)
	}
	same := func(t *testing.T, there *stage) {
		t.Helper()
		if got := there.everything(); got != want {
			t.Errorf("it reads\n%s\nwant\n%s", got, want)
		}
		if n := there.ask("GET", "/v1/productions", "").want(200); n.count("productions") != 1 || n.at("productions", 0, "title") != `"The Lighthouse"` {
			t.Errorf("the server lists %s", n.body)
		}
	}
	fills := map[string]func(*testing.T, *stage, *handset){
		"by exchanges of the owner's phone": func(_ *testing.T, there *stage, phone *handset) {
			phone.moved(there, pairing.Owner)
			phone.meets()
		},
		"by exchanges of the owner's phone, after its program was started anew": func(_ *testing.T, there *stage, phone *handset) {
			phone.moved(there, pairing.Owner)
			phone.start(drawLine)
			phone.meets()
		},
		"by a bundle": func(t *testing.T, there *stage, _ *handset) {
			if r := there.carry(there.base, bundle).want(200); r.at("clash") != "0" || r.at("repeat") != "0" {
				t.Errorf("got %s", r.body)
			}
		},
	}
	for name, fill := range fills {
		t.Run(name, func(t *testing.T) {
			there, phone, other := g.elsewhere(), *owners, *editors
			phone.start(drawLine)
			phone.meets() // it knows of the server that is lost as of its last exchange
			fill(t, there, &phone)
			same(t, there)
			other.start(drawLine)
			other.writes(kinds.Take, "take", "wanted", "true")
			other.moved(there, pairing.Editor)
			other.meets()
			if got := there.ask("GET", there.record("take", "take"), "").want(200).at("wanted"); got != "true" {
				t.Errorf("what another phone wrote meanwhile: got %s", got)
			}
		})
	}
}

func TestOnlyAnOwnerOfTheServerBringsAProduction(t *testing.T) {
	g, owners, editors := lostStage(t)
	bundle := string(g.ask("GET", g.base+"/bundle", "").want(200).body)
	there := g.elsewhere()
	none := func(when string) {
		t.Helper()
		if r := there.ask("GET", "/v1/productions", "").want(200); r.count("productions") != 0 {
			t.Errorf("%s: the server lists %s, want no production", when, r.body)
		}
	}
	editors.moved(there, pairing.Editor)
	q := editors.r.Request(logbook.Line{})
	whole, err := q.Rows(nil)
	if err != nil {
		t.Fatal(err)
	}
	edit, err := editors.kept[0].MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	for name, r := range map[string]*reply{
		"an exchange":         editors.ask("POST", g.base+"/exchange", `{"edits":[`+string(edit)+`]}`),
		"an exchange in rows": editors.ask("POST", g.base+"/exchange", string(whole), editors.form.header()...),
		"a bundle":            editors.carry(g.base, bundle),
	} {
		p := r.problem()
		if r.status != 404 || p.Type != problemPrefix+"no-production" || !strings.Contains(p.Detail, "An owner of the server brings it") {
			t.Errorf("%s of an editor: got %d %+v", name, r.status, p)
		}
	}
	none("after an editor came")
	var empty, foreign bytes.Buffer
	if err := exchange.WriteBundle(&empty, g.production, nil); err != nil {
		t.Fatal(err)
	}
	if err := exchange.WriteBundle(&foreign, drawID(), nil); err != nil {
		t.Fatal(err)
	}
	other := strings.Replace(string(edit), g.production.String(), drawID().String(), 1)
	for name, r := range map[string]struct {
		*reply
		status int
	}{
		"an edit of another production":         {there.ask("POST", g.base+"/exchange", `{"edits":[`+other+`]}`), 400},
		"a bundle without edits":                {there.carry(g.base, empty.String()), 404},
		"a bundle of another production":        {there.carry(g.base, foreign.String()), 400},
		"a bundle that is damaged at its begin": {there.carry(g.base, bundle[:90]), 422},
		"what is no bundle":                     {there.carry(g.base, "a letter"), 422},
		"a list":                                {there.ask("GET", g.base+"/conflicts", ""), 404},
		"an exchange that brings nothing yet":   {there.ask("POST", g.base+"/exchange", `{}`), 200},
	} {
		if r.reply.status != r.status {
			t.Errorf("%s: got %d %s, want %d", name, r.reply.status, r.body, r.status)
		}
	}
	none("after an owner brought nothing")
	owners.moved(there, pairing.Owner)
	owners.meets()
	editors.start(drawLine)
	editors.meets()
	if got := there.everything(); got != g.everything() {
		t.Error("after the owner came it does not read as before")
	}
}
