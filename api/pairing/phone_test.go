package pairing

import (
	"testing"

	"evenwhite/api/pairing/prooftest"
	"evenwhite/logbook"
)

const testOrigin = "https://set7.local:8443"

// A phone holds a key, and what it was given.
type phone struct {
	*testing.T
	at  door
	key *prooftest.Key
	Admission
}

func newPhone(t *testing.T, at door) *phone {
	key := prooftest.Draw()
	key.Clock = at.clock.now
	return &phone{T: t, at: at, key: key}
}

// shows is what a request of the phone shows, with its token or without.
func (p *phone) shows(method, path, token string) Credentials {
	c := Credentials{Method: method, Path: path, Origins: []string{testOrigin},
		Proofs: []string{p.key.Proof(method, testOrigin+path, token, p.at.Nonce())}}
	if token != "" {
		c.Authorization = "DPoP " + token
	}
	return c
}

func (p *phone) pair(role Role, production logbook.ID, claim Claim) error {
	p.Helper()
	inv, err := p.at.Invite("the test", role, "phone", production)
	if err != nil {
		p.Fatal(err)
	}
	p.Admission, err = p.at.Pair(Request{Address: "192.0.2.7", Code: inv.Secret, Shown: p.shows("POST", "/v1/pairing", ""), Claims: claim})
	return err
}

func paired(t *testing.T, at door, role Role) *phone {
	t.Helper()
	p := newPhone(t, at)
	if err := p.pair(role, logbook.ID{}, Claim{}); err != nil {
		t.Fatal(err)
	}
	return p
}

func (p *phone) asks() error {
	_, err := p.at.Authenticate(p.shows("GET", "/v1/productions", p.Token))
	return err
}
