package main

import (
	"net/http"
	"sync"

	"evenwhite/api/pairing/prooftest"
)

// A pass is what a device shows with each request: its token, and a proof where it has a
// key. It may be shown by several requests at once.
type pass struct {
	token string
	key   *prooftest.Key // nil: the token works alone

	mu    sync.Mutex
	nonce string
}

func (p *pass) show(request *http.Request) {
	if p.key == nil {
		request.Header.Set("Authorization", "Bearer "+p.token)
		return
	}
	p.mu.Lock()
	nonce := p.nonce
	p.mu.Unlock()
	request.Header.Set("Authorization", "DPoP "+p.token)
	request.Header.Set("DPoP", p.key.Proof(request.Method, request.URL.String(), p.token, nonce))
}

// send makes and sends a request, once more where the nonce was old.
func (p *pass) send(ask func() (*http.Request, error)) (*http.Response, error) {
	for again := false; ; again = true {
		request, err := ask()
		if err != nil {
			return nil, err
		}
		p.show(request)
		response, err := starClient.Do(request)
		if err != nil {
			return nil, err
		}
		given := response.Header.Get("DPoP-Nonce")
		p.mu.Lock()
		fresh := given != "" && given != p.nonce
		if fresh {
			p.nonce = given
		}
		p.mu.Unlock()
		if response.StatusCode != http.StatusUnauthorized || !fresh || again {
			return response, nil
		}
		_ = response.Body.Close()
	}
}
