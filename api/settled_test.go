package api

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

// deeds are what the list of what was done says of one kind of deed, the newest first.
func (g *stage) deeds(what string) (all []string) {
	g.Helper()
	for item := range g.ask("GET", "/v1/audit", "").want(200).at("entries").Items() {
		if is, _ := item.Member("what").Text(); is == what {
			by, _ := item.Member("by").Member("label").Text()
			about, _ := item.Member("about").Text()
			all = append(all, by+": "+about)
		}
	}
	return all
}

func TestWhatWasSettledIsListedOnce(t *testing.T) {
	g := setStage(t)
	one, other := g.admit(pairing.Editor, "2nd AC", g.production), g.admit(pairing.Editor, "gaffer", g.production)
	by := func(c *client, edit string) string {
		return strings.Replace(edit, g.device.String(), c.device.String(), 1)
	}
	apart := func(n int) (over string) {
		seen := `{"kelvin":["` + g.dotOf("clip", "clip") + `"]}`
		g.push(one, by(one, g.edit(lineOfOne, n, "clip", "$clip", `{"kelvin":4300}`, seen)))
		g.push(other, by(other, g.edit(lineOfOther, n, "clip", "$clip", `{"kelvin":4400}`, seen)))
		return fmt.Sprintf(`{"kelvin":["%s.%d","%s.%d"]}`, lineOfOne, n, lineOfOther, n)
	}
	about := fmt.Sprintf("kelvin of clip %s in production %s", g.ids["clip"], g.production)
	var want []string
	settled := func(how, line string) {
		t.Helper()
		if line != "" {
			want = append([]string{line}, want...)
		}
		if got := g.deeds("settled"); fmt.Sprint(got) != fmt.Sprint(want) {
			t.Errorf("%s: it lists\n%s\nwant\n%s", how, strings.Join(got, "\n"), strings.Join(want, "\n"))
		}
	}

	apart(1)
	settled("two values of a field", "")
	clip := g.ask("GET", g.record("clip", "clip"), "").want(200)
	g.ask("PATCH", g.record("clip", "clip"), `{"kelvin":4300}`, "If-Match", clip.tag()).want(200)
	settled("a patch", "desk: "+about)
	clip = g.ask("GET", g.record("clip", "clip"), "").want(200)
	g.ask("PATCH", g.record("clip", "clip"), `{"kelvin":4350}`, "If-Match", clip.tag()).want(200)
	settled("a patch where nothing was to settle", "")

	edit := by(one, g.edit(lineOfOne, 3, "clip", "$clip", `{"kelvin":4300}`, apart(2)))
	g.push(one, edit)
	settled("an edit of a phone", "2nd AC: "+about)
	g.push(one, edit)
	g.push(other, edit)
	settled("the same again, and by whoever carries it", "")
	clip = g.ask("GET", g.record("clip", "clip"), "").want(200)
	g.ask("DELETE", g.record("clip", "clip"), "", "If-Match", clip.tag()).want(200)
	settled("striking out", "")

	lamp := g.ask("POST", g.base+"/records/gel", `{"name":"full green","gelKind":"green"}`).want(201)
	twin := g.ask("POST", g.base+"/records/gel", `{"name":"full green","gelKind":"green"}`).want(201)
	g.ask("POST", g.base+"/twins", `{"answer":"two","records":["`+lamp.id()+`","`+twin.id()+`"]}`).want(200)
	first, second := min(lamp.id(), twin.id()), max(lamp.id(), twin.id())
	settled("an answer about twins", fmt.Sprintf("desk: %s%s of gel %s in production %s", logbook.SamePrefix, second, first, g.production))
}

func TestABundleThatLeavesIsListed(t *testing.T) {
	g := setStage(t)
	g.ask("GET", g.base+"/bundle", "").want(200)
	if got, want := fmt.Sprint(g.deeds("exported")), "[desk: edits.bundle of "+g.title()+"]"; got != want {
		t.Errorf("it lists %s, want %s", got, want)
	}
}

// Whom a script let in could stay when its token is over.
func TestAScriptLetsNobodyIn(t *testing.T) {
	g := setStage(t)
	made, err := g.auth.MakeScript(pairing.Owner, "set up", logbook.ID{}, time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	script := &client{site: g.site, token: made.Token}
	script.ask("GET", "/v1/devices", "").want(200)
	before, _ := g.store.KeptUnder("")
	for path, body := range map[string]string{
		"/v1/invitations": `{"role":"owner","label":"x"}`,
		"/v1/scripts":     `{"role":"reader","label":"x","hours":8784}`,
		g.base + "/links": `{"format":"csv","hours":72,"label":"x"}`,
	} {
		p := script.ask("POST", path, body).want(403).problem()
		if p.Type != problemPrefix+"role" || !strings.Contains(p.Detail, "lets nobody in") {
			t.Errorf("%s: got %+v", path, p)
		}
		g.ask("POST", path, body).want(201)
	}
	after, _ := g.store.KeptUnder("")
	more := len(after) - len(before)
	if n := len(g.auth.Invitations()); n != 1 || more != 4 { // of the owner: a script, a link, the list of both
		t.Errorf("%d invitations are open, and %d more values are kept; want those of the owner alone", n, more)
	}
}
