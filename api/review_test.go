package api

import (
	"strings"
	"testing"

	"evenwhite/logbook"
)

func TestAnEmptyLogTellsThatItHoldsNothing(t *testing.T) {
	s := openSite(t)
	owner := s.admit(Owner, "desk", logbook.ID{})
	production := drawID()
	if err := s.store.Begin(production, drawLine()); err != nil {
		t.Fatal(err)
	}
	r := owner.ask("POST", "/v1/productions/"+production.String()+"/exchange", `{}`).want(200)
	if r.at("list") != "{}" {
		t.Errorf("got the list %q, want an empty one: without it no device offers what the log lost", r.at("list"))
	}
	run, _ := r.at("run").Text()
	if r = owner.ask("POST", "/v1/productions/"+production.String()+"/exchange", `{"run":"`+run+`"}`).want(200); r.at("list") != "" {
		t.Errorf("got the list %s though the run was known", r.at("list"))
	}
}

func TestOnlyAnOwnerChangesTheProductionUnderEitherAddress(t *testing.T) {
	g := setStage(t)
	editor := g.admit(Editor, "phone of the 2nd AC", g.production)
	tag := g.ask("GET", g.base, "").want(200).tag()
	record := g.record("production", "production")
	before := g.head()
	editor.ask("PATCH", record, `{"title":"Another"}`, "If-Match", tag).want(403)
	editor.ask("DELETE", record, "", "If-Match", tag).want(403)
	editor.ask("POST", record+"/restore", "", "If-Match", tag).want(403)
	if g.head() != before {
		t.Error("the log changed")
	}
	g.ask("PATCH", record, `{"title":"Another"}`, "If-Match", tag).want(200)
}

func TestAnEditWithAWildOffsetHidesNoConflicts(t *testing.T) {
	g := setStage(t)
	for line, offset := range map[string]string{lineOfOne: "253402300799999", lineOfOther: "-253402300799999"} {
		edit := strings.Replace(g.edit(line, 1, "clip", "$clip", `{"lens":"`+line+`"}`), `"offsetMs":0`, `"offsetMs":`+offset, 1)
		g.ask("POST", g.base+"/exchange", `{"edits":[`+edit+`]}`).want(200)
	}
	if r := g.ask("GET", g.base+"/conflicts", "").want(200); r.count("conflicts") != 1 {
		t.Errorf("got %s", r.body)
	}
	g.ask("GET", g.record("clip", "clip"), "").want(200)
	g.ask("GET", g.base+"/color-log.json", "").want(200)
	g.ask("GET", g.base+"/color-log.csv", "").want(200)
}
