package pairing

import (
	"fmt"
	"strings"
	"time"

	"evenwhite/api/pairing/proof"
	"evenwhite/logbook"
)

// Credentials are what a request shows of who makes it.
type Credentials struct {
	Authorization string   // the header
	Proofs        []string // the headers DPoP
	Method        string
	// Origins are scheme, host and port under which the server may be asked, Path what
	// follows them, as it was sent and without a query: a proof names both.
	Origins []string
	Path    string
}

// Nonce is what the next proof must hold.
func (a *Auth) Nonce() string { return a.nonces.Current(a.now()) }

// prove finds the key by which the request was made.
func (a *Auth) prove(c Credentials, token string) (proof.Shown, error) {
	return a.nonces.Check(c.Proofs, proof.Request{Method: c.Method, Origins: c.Origins, Path: c.Path, Token: token}, a.now())
}

// A bearing is a token as it came, and what it says.
type bearing struct {
	text  string
	bound bool // by the scheme: good with a proof
	said  said
}

// bears reads the header Authorization.
func (a *Auth) bears(authorization string) (b bearing, err error) {
	scheme, token, _ := strings.Cut(authorization, " ")
	b.text, b.bound = strings.TrimSpace(token), strings.EqualFold(scheme, "DPoP")
	if b.text == "" || !b.bound && !strings.EqualFold(scheme, "Bearer") {
		return b, ErrNoToken
	}
	if strings.HasPrefix(b.text, scriptPrefix) {
		b.said, err = a.saidByScript(b)
		return b, err
	}
	if b.said, err = a.saidBy(b.text); err != nil {
		return b, err
	}
	switch {
	case b.said.key != "" && !b.bound:
		return b, ErrNoProof
	case b.said.key == "" && b.bound:
		return b, fmt.Errorf("%w: it is one without a key, and goes with Bearer", ErrBadToken)
	}
	return b, nil
}

// Authenticate finds the caller of a request. A token that is bound to a key is worth
// nothing without a proof by it; only then is anything told of the device. One that was
// revoked is refused from the next request on, whatever its token says.
func (a *Auth) Authenticate(c Credentials) (Caller, error) {
	b, err := a.bears(c.Authorization)
	if err != nil {
		return Caller{}, err
	}
	var shown proof.Shown
	if b.said.key != "" {
		if shown, err = a.prove(c, b.text); err != nil {
			return Caller{}, err
		}
		if shown.Thumbprint != b.said.key {
			return Caller{}, fmt.Errorf("%w: the token is bound to another key", ErrProof)
		}
	}
	d, err := a.holder(b.said)
	if err != nil {
		return Caller{}, err
	}
	a.see(d.ID, shown.Clock)
	return d.caller(), nil
}

// Listening asks again what Authenticate asked when a long answer began: whether the token
// holds, and the device stands.
func (a *Auth) Listening(authorization string) (Caller, error) {
	b, err := a.bears(authorization)
	if err != nil {
		return Caller{}, err
	}
	d, err := a.holder(b.said)
	return d.caller(), err
}

// holder is the standing device that a token is for. One with a key is found by it: its id
// may have become the one that it claimed.
func (a *Auth) holder(s said) (Device, error) {
	if s.key != "" {
		return a.byItsKey(s.key)
	}
	d, err := a.Standing(s.device)
	if err == nil && d.key != "" {
		return Device{}, fmt.Errorf("%w: the device has a key since, and its tokens go with proofs", ErrBadToken)
	}
	return d, err
}

// byItsKey finds a standing device by the thumbprint of its key.
func (a *Auth) byItsKey(key string) (Device, error) {
	a.mu.RLock()
	id, ok := a.byKey[key]
	a.mu.RUnlock()
	if !ok {
		return Device{}, ErrUnknown
	}
	return a.Standing(id)
}

func (d Device) caller() Caller {
	return Caller{Device: d.ID, Name: d.Label, Grants: d.Grants, Script: d.Script()}
}

// Standing finds a device that has not been revoked. The server's own is none: nobody calls
// in its name.
func (a *Auth) Standing(id logbook.ID) (Device, error) {
	a.mu.RLock()
	d, ok := a.devices[id]
	a.mu.RUnlock()
	switch {
	case !ok:
		return Device{}, ErrUnknown
	case !d.RevokedAt.IsZero():
		return Device{}, ErrRevoked
	case d.over(a.now()):
		return Device{}, ErrExpired
	}
	return d, nil
}

func (d Device) over(now time.Time) bool { return !d.ExpiresAt.IsZero() && !now.Before(d.ExpiresAt) }
