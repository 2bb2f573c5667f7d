package main

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"net/http"
	"time"
)

// A device has a key, and proves with each request that it holds it (RFC 9449).
type device struct {
	key   *ecdsa.PrivateKey
	token string // "": it is not paired yet
	nonce string
}

func newDevice() (*device, error) {
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	return &device{key: key}, err
}

// Do sends a request with a proof, and once more where the server wants a newer nonce.
func (d *device) Do(r *http.Request) (*http.Response, error) {
	for tries := 0; ; tries++ {
		again := r.Clone(r.Context())
		if r.GetBody != nil {
			body, err := r.GetBody()
			if err != nil {
				return nil, err
			}
			again.Body = body
		}
		proof, err := d.proof(again)
		if err != nil {
			return nil, err
		}
		again.Header.Set("DPoP", proof)
		if d.token != "" {
			again.Header.Set("Authorization", "DPoP "+d.token)
		}
		response, err := http.DefaultClient.Do(again)
		if err != nil {
			return nil, err
		}
		given := response.Header.Get("DPoP-Nonce")
		stale := given != "" && given != d.nonce
		if d.nonce = given; response.StatusCode != http.StatusUnauthorized || !stale || tries > 0 {
			return response, nil
		}
		_ = response.Body.Close()
	}
}

func base64url(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }

func (d *device) proof(r *http.Request) (string, error) {
	point, err := d.key.PublicKey.Bytes()
	if err != nil {
		return "", err
	}
	header := map[string]any{"typ": "dpop+jwt", "alg": "ES256",
		"jwk": map[string]string{"kty": "EC", "crv": "P-256", "x": base64url(point[1:33]), "y": base64url(point[33:])}}
	claims := map[string]any{"jti": rand.Text(), "htm": r.Method, "iat": time.Now().Unix(), "nonce": d.nonce,
		"htu": r.URL.Scheme + "://" + r.URL.Host + r.URL.EscapedPath()}
	if d.token != "" {
		sum := sha256.Sum256([]byte(d.token))
		claims["ath"] = base64url(sum[:])
	}
	var parts [2]string
	for i, part := range []map[string]any{header, claims} {
		b, err := json.Marshal(part)
		if err != nil {
			return "", err
		}
		parts[i] = base64url(b)
	}
	signed := parts[0] + "." + parts[1]
	sum := sha256.Sum256([]byte(signed))
	x, y, err := ecdsa.Sign(rand.Reader, d.key, sum[:])
	if err != nil {
		return "", err
	}
	var signature [64]byte
	x.FillBytes(signature[:32])
	y.FillBytes(signature[32:])
	return signed + "." + base64url(signature[:]), nil
}
