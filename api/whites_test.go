package api

import (
	"strings"
	"testing"

	"evenwhite/api/pairing"
)

func TestTheServiceWritesWhatAWhiteRestsOn(t *testing.T) {
	g := setStage(t)
	make := func(body string) *reply { return g.ask("POST", g.base+"/records/white", g.fill(body)).want(201) }
	for _, c := range []struct{ rule, want string }{
		{`{"as":"readings","readings":[{"reading":"$reading","weight":2.50}]}`, `[{"record":"$reading","weight":2.50}]`},
		{`{"as":"nominal","kelvin":5600,"locus":"blackBody"}`, `[]`},
		{`{"as":"mix"}`, `[{"record":"$reading"},{"record":"$panelReading"}]`},
		{`{"as":"compromise","lights":[{"light":"$window","weight":3},{"light":"$panel"}]}`,
			`[{"record":"$reading","weight":3},{"record":"$panelReading","weight":1}]`},
		{`{"as":"cameraSetting","camera":"$a","kelvin":5600}`, `[{"record":"$sample","weight":1},{"record":"$reading"}]`},
		{`{"as":"customFromCard","sample":"$sample"}`, `[{"record":"$sample"},{"record":"$reading"}]`},
		{`{"as":"sameAs","setUp":"$setUp"}`, `[{"record":"$white"}]`},
	} {
		of := "$setUp"
		if strings.Contains(c.rule, "sameAs") {
			g.ids["second"] = g.ask("POST", g.base+"/records/setUp", g.fill(`{"day":"$day","scene":"$scene","name":"12B"}`)).want(201).id()
			of = "$second"
		}
		r := make(`{"setUp":"` + of + `","from":` + c.rule + `,"appliesFrom":{"as":"takeNumber","number":40}}`)
		got, want := r.at("restsOn"), g.fill(c.want)
		if string(got) != want {
			t.Errorf("%s: got %s, want %s", c.rule, got, want)
		}
		// One edit sets the rule and the list.
		history := g.ask("GET", g.base+"/records/white/"+r.id()+"/history", "").want(200)
		if history.count("edits") != 1 || history.at("edits", 0, "set", "restsOn") == "" {
			t.Errorf("%s: got %s", c.rule, history.body)
		}
	}
	t.Run("a list that is sent is kept", func(t *testing.T) {
		r := make(`{"setUp":"$setUp","from":{"as":"mix"},"appliesFrom":{"as":"start"},"restsOn":[{"record":"$panelReading"}]}`)
		if got := string(r.at("restsOn")); got != g.fill(`[{"record":"$panelReading"}]`) {
			t.Errorf("got %s", got)
		}
	})
	t.Run("a list of what no white rests on is refused", func(t *testing.T) {
		before := g.head()
		r := g.ask("POST", g.base+"/records/white",
			g.fill(`{"setUp":"$setUp","from":{"as":"mix"},"appliesFrom":{"as":"start"},"restsOn":[{"record":"$take"}]}`)).want(400)
		if !strings.Contains(string(r.body), "restsOn") || g.head() != before {
			t.Errorf("got %s", r.body)
		}
	})
	t.Run("what can't be told is not listed", func(t *testing.T) {
		g.ids["third"] = g.ask("POST", g.base+"/records/setUp", g.fill(`{"day":"$day","scene":"$scene","name":"12C"}`)).want(201).id()
		if r := make(`{"setUp":"$third","from":{"as":"mix"},"appliesFrom":{"as":"start"}}`); r.at("restsOn") != "" {
			t.Errorf("got %s", r.at("restsOn"))
		}
	})
	t.Run("a pushed edit stays as its author wrote it", func(t *testing.T) {
		phone := g.admit(pairing.Editor, "phone", g.production)
		id := drawID().String()
		phone.ask("POST", g.base+"/exchange", `{"edits":[`+g.edit(lineOfOne, 1, "white", id,
			`{"setUp":"$setUp","from":{"as":"mix"},"appliesFrom":{"as":"start"}}`)+`]}`).want(200)
		if r := g.ask("GET", g.base+"/records/white/"+id, "").want(200); r.at("restsOn") != "" || r.at("from") == "" {
			t.Errorf("got %s", r.body)
		}
	})
	t.Run("a refused edit that is put right is the service's", func(t *testing.T) {
		phone := g.admit(pairing.Editor, "phone", g.production)
		id := drawID().String()
		phone.ask("POST", g.base+"/exchange", `{"edits":[`+g.edit(lineOfOther, 1, "white", id,
			`{"setUp":"$setUp","from":{"as":"mix"},"appliesFrom":{"as":"start"},"judgedOn":"ear"}`)+`]}`).want(200)
		r := g.ask("POST", g.base+"/quarantine/"+lineOfOther+".1/correct", `{"judgedOn":"eye"}`, "Content-Type", "application/merge-patch+json").want(200)
		if got := string(r.at("restsOn")); got != g.fill(`[{"record":"$reading"},{"record":"$panelReading"}]`) {
			t.Errorf("got %s", r.body)
		}
	})
}

func TestWhitesChosenApartAreAskedAbout(t *testing.T) {
	g := setStage(t)
	choose := func(kelvin, more string) string {
		return g.ask("POST", g.base+"/records/white", g.fill(`{"setUp":"$setUp","from":{"as":"nominal","kelvin":`+kelvin+
			`,"locus":"blackBody"},"appliesFrom":{"as":"takeNumber","number":2}`+more+`}`)).want(201).id()
	}
	now := func() *reply { return g.ask("GET", g.base+"/set-ups/"+g.ids["setUp"]+"/now", "").want(200) }
	if r := now(); r.at("nextTake") != "2" || r.at("white", "contested") != "" {
		t.Errorf("got %s", r.body)
	}
	g.ids["one"] = choose("3200", `,"supersedes":"$white"`)
	g.ids["two"] = choose("4300", `,"supersedes":"$white"`)
	r := g.ask("GET", g.base+"/conflicts", "").want(200)
	if r.count("conflicts") != 0 || r.count("apart") != 1 || r.at("apart", 0, "kind") != `"white"` || r.at("apart", 0, "nextTake") != "true" ||
		r.count("apart", 0, "choices") != 2 || r.at("counts", 0, "count") != "1" || r.at("counts", 0, "setUp") != r.at("apart", 0, "setUp") {
		t.Fatalf("got %s", r.body)
	}
	if r := now(); r.count("white", "contested") != 1 || !strings.HasPrefix(string(r.at("white", "contestedWords")), `"contested: `) {
		t.Errorf("got %s", r.at("white"))
	}
	take := g.ask("POST", g.base+"/set-ups/"+g.ids["setUp"]+"/events", `{"event":"nextTake"}`).want(201)
	if white := string(take.at("records", 0, "white")); white != g.fill(`"$two"`) && white != g.fill(`"$one"`) {
		t.Errorf("the take names %s", white)
	}
	if r := g.ask("GET", g.base+"/conflicts", "").want(200); r.count("apart", 0, "takes") != 1 {
		t.Errorf("got %s", r.body)
	}
	choose("4300", `,"supersedes":"$two","settles":["$one"]`)
	if r := g.ask("GET", g.base+"/conflicts", "").want(200); r.count("apart") != 0 || r.count("counts") != 0 {
		t.Errorf("settled: got %s", r.body)
	}
	if r := now(); r.at("white", "contested") != "" {
		t.Errorf("settled: got %s", r.at("white"))
	}
}
