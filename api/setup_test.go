package api

import (
	"testing"
)

func TestSetUp(t *testing.T) {
	g := setStage(t)
	setUp := g.base + "/set-ups/" + g.ids["setUp"]
	t.Run("now says each light's cast and what to dial", func(t *testing.T) {
		now := g.ask("GET", setUp+"/now", "").want(200)
		if now.count("lights") != 2 || now.count("cameras") != 2 {
			t.Fatalf("got %s", now.body)
		}
		if now.at("white") == "" || now.at("cameras", 0, "dial") == "" {
			t.Errorf("there is no white, or nothing to dial: %s", now.body)
		}
	})
	t.Run("match says what to dial on one camera for another", func(t *testing.T) {
		g.ask("GET", setUp+"/match?camera="+g.ids["b"], "").want(200)
		for _, follow := range []string{"", "&follow=camera"} {
			a := g.ask("GET", setUp+"/match?camera="+g.ids["b"]+"&to="+g.ids["a"]+follow, "").want(200)
			if got, want := string(a.at("for")), map[string]string{"": `"aim"`, "&follow=camera": `"camera"`}[follow]; got != want {
				t.Errorf("with %q: an answer for %s, want %s", follow, got, want)
			}
		}
		g.ask("GET", setUp+"/match?camera="+drawID().String(), "").want(404)
		g.ask("GET", g.base+"/set-ups/"+drawID().String()+"/now", "").want(404)
	})
	t.Run("deviations are listed, and an acceptance moves one over", func(t *testing.T) {
		open := g.ask("GET", g.base+"/deviations?accepted=false", "").want(200)
		all := g.ask("GET", g.base+"/deviations", "").want(200)
		if all.count("deviations") == 0 {
			t.Fatalf("nothing is off: %s", all.body)
		}
		first := all.at("deviations", 0)
		kind, subjects := first.Member("kind"), first.Member("subjects")
		body := `{"deviation":` + string(kind) + `,"subjects":` + string(subjects) + `,"scope":"setUp","reason":"it is meant"`
		if with := first.Member("comparedWith").Member("record"); with != "" {
			body += `,"comparedWith":` + string(with)
		}
		if v := first.Member("value"); v != "" && v.Member("minutes") == "" {
			body += `,"accepted":` + string(v)
		}
		g.ask("POST", g.base+"/records/acceptance", body+"}").want(201)
		accepted := g.ask("GET", g.base+"/deviations?accepted=true&setUp="+g.ids["setUp"], "").want(200)
		if accepted.count("deviations") == 0 || accepted.at("deviations", 0, "accepted", "reason") != `"it is meant"` {
			t.Errorf("got %s of %s", accepted.body, first)
		}
		if n := g.ask("GET", g.base+"/deviations?accepted=false", "").count("deviations"); n >= open.count("deviations") {
			t.Errorf("%d are open, before it were %d", n, open.count("deviations"))
		}
	})
	t.Run("an event makes a take and its clips in one act", func(t *testing.T) {
		g.clock.move(90e9)
		made := g.ask("POST", setUp+"/events", g.fill(`{"event":"nextTake","cameras":{"$b":{"whiteMode":"kelvin","kelvin":5600}}}`), "Idempotency-Key", "t2").want(201)
		kinds := map[string]int{}
		for r := range made.at("records").Items() {
			kind, _ := r.Member("kind").Text()
			kinds[kind]++
			if kind == "take" && r.Member("number") != "2" {
				t.Errorf("the take's number is %s, want 2", r.Member("number"))
			}
		}
		if kinds["take"] != 1 || kinds["clip"] != 2 {
			t.Errorf("got %v, want one take and two clips", kinds)
		}
		before := g.head()
		again := g.ask("POST", setUp+"/events", g.fill(`{"event":"nextTake","cameras":{"$b":{"whiteMode":"kelvin","kelvin":5600}}}`), "Idempotency-Key", "t2").want(201)
		if string(again.body) != string(made.body) || g.head() != before {
			t.Error("the event was logged twice")
		}
	})
}
