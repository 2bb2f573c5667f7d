package main

import (
	"net/http"
	"sync"

	"evenwhite/api/pairing/prooftest"
)

// A pass is what a device shows with each request: its token, and a proof where it has a
// key. It may be shown by several requests at once.
type pass struct {
	token string         // "": it has none yet
	key   *prooftest.Key // nil: the token works alone

	mu    sync.Mutex
	nonce string
}

// show puts it on a request, and returns the nonce of the proof.
func (p *pass) show(request *http.Request) (nonce string) {
	scheme := "Bearer "
	if p.key != nil {
		scheme = "DPoP "
		p.mu.Lock()
		nonce = p.nonce
		p.mu.Unlock()
		address := *request.URL
		address.RawQuery = ""
		request.Header.Set("DPoP", p.key.Proof(request.Method, address.String(), p.token, nonce))
	}
	if p.token != "" {
		request.Header.Set("Authorization", scheme+p.token)
	}
	return nonce
}

// send makes and sends a request, and again where the nonce was old: a server that was started
// in between has another.
func (p *pass) send(client *http.Client, ask func() (*http.Request, error)) (*http.Response, error) {
	for {
		request, err := ask()
		if err != nil {
			return nil, err
		}
		used := p.show(request)
		response, err := client.Do(request)
		if err != nil {
			return nil, err
		}
		given := response.Header.Get("DPoP-Nonce")
		if given != "" {
			p.mu.Lock()
			p.nonce = given
			p.mu.Unlock()
		}
		if response.StatusCode != http.StatusUnauthorized || given == "" || given == used {
			return response, nil
		}
		_ = response.Body.Close()
	}
}
