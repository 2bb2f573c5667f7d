package api

import (
	"testing"

	"evenwhite/api/pairing"
	"evenwhite/logbook"
)

func TestAStrangerLearnsWhichServerThisIs(t *testing.T) {
	s := openSite(t)
	stranger := &client{site: s}
	before := stranger.ask("GET", "/v1/server", "").want(200)
	if got, _ := before.at("identity").ID(); got != s.auth.Own() || before.at("paired") != "false" {
		t.Errorf("got %s, want the identity %s and nobody paired", before.body, s.auth.Own())
	}
	s.admit(pairing.Editor, "phone", logbook.ID{})
	if got := stranger.ask("GET", "/v1/server", "").want(200); got.at("paired") != "false" {
		t.Errorf("an editor is no owner: got %s", got.body)
	}
	s.admit(pairing.Owner, "desk", logbook.ID{})
	if got := stranger.ask("GET", "/v1/server", "").want(200); got.at("paired") != "true" || got.at("rules") == "" {
		t.Errorf("got %s, want an owner paired, and the number of the rules", got.body)
	}
}
