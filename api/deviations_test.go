package api

import (
	"sync"
	"testing"
	"time"

	"evenwhite/logbook"
	"evenwhite/logbook/deviation"
)

func TestDeviationsThatAreKnownAreNotLookedForAgain(t *testing.T) {
	g := setStage(t)
	path := g.base + "/deviations"
	first := g.ask("GET", path, "").want(200)
	for range 2 {
		if r := g.ask("GET", path, "", "If-None-Match", first.tag()).want(304); len(r.body) != 0 || r.tag() != first.tag() {
			t.Errorf("got %s under %s, want nothing under %s", r.body, r.tag(), first.tag())
		}
	}
	g.ask("POST", g.base+"/set-ups/"+g.ids["setUp"]+"/events",
		g.fill(`{"event":"nextTake","cameras":{"$b":{"whiteMode":"auto"}}}`)).want(201)
	next := g.ask("GET", path, "", "If-None-Match", first.tag()).want(200)
	if next.tag() == first.tag() || next.count("deviations") <= first.count("deviations") {
		t.Errorf("after a take on automatic white there are %d under %s, before it %d under %s",
			next.count("deviations"), next.tag(), first.count("deviations"), first.tag())
	}
	g.clock.move(6 * time.Hour) // readings age
	if aged := g.ask("GET", path, "", "If-None-Match", next.tag()).want(200); aged.count("deviations") == 0 {
		t.Error("hours later there is nothing left")
	}
}

func TestWhoAsksForDeviationsHearsOfAllThatWasHeld(t *testing.T) {
	g := setStage(t)
	l, err := g.logs.Find(g.production)
	if err != nil {
		t.Fatal(err)
	}
	var all offAnswers
	var askers sync.WaitGroup
	now := logbook.MillisOf(g.clock.now())
	for range 4 {
		askers.Go(func() {
			for range 10 {
				before, err := l.Head()
				if err != nil {
					t.Error(err)
				}
				a, err := all.ask(l, offQuery{}, now)
				if err != nil || !a.holds(before) {
					t.Errorf("an answer of %d to who knew of %d (%v)", a.head.Seq, before.Seq, err)
				}
			}
		})
	}
	for range 10 {
		g.ask("POST", g.base+"/records/note", g.fill(`{"about":"$setUp","text":"clouds"}`)).want(201)
	}
	askers.Wait()
	if l.Frozen() != 0 {
		t.Errorf("%d books are frozen for nobody", l.Frozen())
	}
	for _, name := range []string{"day", "setUp"} {
		for _, accepted := range []bool{true, false} {
			id, err := logbook.ParseID(g.ids[name])
			if err != nil {
				t.Fatal(err)
			}
			scope := map[string]deviation.Scope{"day": {Day: id}, "setUp": {SetUp: id}}[name]
			if _, err := all.ask(l, offQuery{scope, true, accepted}, now); err != nil {
				t.Fatal(err)
			}
		}
	}
	if n := len(all.board(g.production).last); n > mostAnswers {
		t.Errorf("%d answers are kept, want at most %d", n, mostAnswers)
	}
}
