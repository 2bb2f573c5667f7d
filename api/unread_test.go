package api

import (
	"strings"
	"testing"

	"evenwhite/api/pairing"
)

func TestAnyStateIsNoWordOnAConflict(t *testing.T) {
	g := setStage(t)
	phone := g.admit(pairing.Editor, "phone of the 2nd AC", g.production)
	g.push(phone, g.edit(lineOfOne, 1, "clip", "$clip", `{"kelvin":4300}`))
	clip := g.record("clip", "clip")
	for _, c := range []struct{ name, method, path, body string }{
		{"a patch of the field", "PATCH", clip, `{"kelvin":4500}`},
		{"a patch that confirms what is shown", "PATCH", clip, `{"kelvin":5600}`},
		{"striking the record out", "DELETE", clip, ""},
	} {
		before := g.head()
		p := g.ask(c.method, c.path, c.body, "If-Match", "*").want(428).problem()
		if p.Type != problemPrefix+"unread-conflict" || !strings.Contains(p.Detail, "kelvin") || !strings.Contains(p.Detail, "4300 by 2nd AC") ||
			!strings.Contains(p.Detail, "5600 by desk") || g.head() != before {
			t.Errorf("%s: got %+v, want the conflict named and nothing stored", c.name, p)
		}
	}
	other := g.ask("PATCH", clip, `{"lens":"50"}`, "If-Match", "*").want(200)
	if other.count("conflicts") != 1 {
		t.Errorf("a patch of another field: got %s", other.body)
	}
	if r := g.ask("PATCH", clip, `{"kelvin":4500}`, "If-Match", other.tag()).want(200); r.count("conflicts") != 0 {
		t.Errorf("with the tag of what was read: got %s", r.body)
	}
	g.ask("PATCH", clip, `{"kelvin":4600}`, "If-Match", "*").want(200)
	struck := g.ask("DELETE", clip, "", "If-Match", "*").want(200)
	g.push(phone, g.edit(lineOfOne, 2, "clip", "$clip", `{"card":"009"}`))
	p := g.ask("POST", clip+"/restore", "", "If-Match", "*").want(428).problem()
	if !strings.Contains(p.Detail, "card was changed by one and struck out by another") &&
		!strings.Contains(p.Detail, "card has several values") {
		t.Errorf("bringing back what was changed there: got %+v", p)
	}
	g.ask("POST", clip+"/restore", "", "If-Match", struck.tag()).want(412)
}

func TestADotThatIsNoneIsTheCallersMistake(t *testing.T) {
	g := setStage(t)
	tag := g.ask("GET", g.record("clip", "clip"), "").tag()
	for _, dot := range []string{lineOfOne + ".18446744073709551616", lineOfOne + ".99999999999999999999999"} {
		for _, path := range []string{g.record("clip", "clip") + "/undo/" + dot, g.base + "/quarantine/" + dot + "/discard"} {
			if p := g.ask("POST", path, "", "If-Match", tag).want(400).problem(); len(p.Errors) != 1 || p.Errors[0].Field != "dot" {
				t.Errorf("%s: got %+v", path, p)
			}
		}
	}
}

func TestARecordSaysHowItIsPatched(t *testing.T) {
	g := setStage(t)
	for _, path := range []string{g.base, g.record("clip", "clip")} {
		if got := g.ask("GET", path, "").want(200).header.Get("Accept-Patch"); got != mergePatch {
			t.Errorf("%s: Accept-Patch is %q", path, got)
		}
		r := g.ask("PATCH", path, `{}`, "If-Match", "*", "Content-Type", "application/json").want(415)
		if got := r.header.Get("Accept-Patch"); got != mergePatch {
			t.Errorf("%s patched as JSON: Accept-Patch is %q", path, got)
		}
	}
}

func TestAProblemIsShortWhateverWasSent(t *testing.T) {
	g := setStage(t)
	var members []string
	for i := range 120 {
		members = append(members, `"`+strings.Repeat("x", 3000+i)+`":"`+strings.Repeat("<", 300)+`"`)
	}
	body := "{" + strings.Join(members, ",") + "}"
	tag := g.ask("GET", g.record("lamp", "lamp"), "").tag()
	for name, r := range map[string]*reply{
		"a record": g.ask("POST", g.base+"/records/lamp", body), "a patch": g.ask("PATCH", g.record("lamp", "lamp"), body, "If-Match", tag),
		"an address": g.ask("GET", "/"+strings.Repeat("a", 20000), ""),
	} {
		p := r.problem()
		if r.status < 400 || r.status >= 500 || len(r.body) > 16<<10 || p.Title == "" {
			t.Errorf("%s: got %d with %d bytes", name, r.status, len(r.body))
		}
		if name == "a patch" && (len(p.Errors) != mostListed || p.More != 100-mostListed) {
			t.Errorf("%s: got %d errors and %d more, want %d of 100", name, len(p.Errors), p.More, mostListed)
		}
	}
}
