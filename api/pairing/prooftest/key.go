// Package prooftest makes proofs as a device does, for tests: it signs by hand, and shares
// nothing with what checks them.
package prooftest

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"time"
)

// A Key is the key of a device.
type Key struct {
	Private *ecdsa.PrivateKey
	Clock   func() time.Time // of the device
}

// Draw draws a key on P-256.
func Draw() *Key { return DrawOn(elliptic.P256()) }

// DrawOn draws a key on any curve.
func DrawOn(curve elliptic.Curve) *Key {
	private, err := ecdsa.GenerateKey(curve, rand.Reader)
	if err != nil {
		panic(err)
	}
	return &Key{private, time.Now}
}

func encode(b []byte) string { return base64.RawURLEncoding.EncodeToString(b) }

func hash(b []byte) []byte {
	sum := sha256.Sum256(b)
	return sum[:]
}

// JWK is the public key as a header holds it.
func (k *Key) JWK() map[string]any {
	point, err := k.Private.PublicKey.Bytes()
	if err != nil {
		panic(err)
	}
	half := len(point) / 2
	return map[string]any{"kty": "EC", "crv": k.Private.Params().Name, "x": encode(point[1 : half+1]), "y": encode(point[half+1:])}
}

// Thumbprint names the key (RFC 7638).
func (k *Key) Thumbprint() string {
	b, err := json.Marshal(k.JWK()) // whose members it sorts
	if err != nil {
		panic(err)
	}
	return encode(hash(b))
}

// A Draft is a proof that is not yet signed.
type Draft struct{ Header, Claims map[string]any }

// Draft is what a device says for a request; the token may be "".
func (k *Key) Draft(method, url, token, nonce string) Draft {
	d := Draft{
		map[string]any{"typ": "dpop+jwt", "alg": "ES256", "jwk": k.JWK()},
		map[string]any{"jti": rand.Text(), "htm": method, "htu": url, "iat": k.Clock().Unix()},
	}
	if nonce != "" {
		d.Claims["nonce"] = nonce
	}
	if token != "" {
		d.Claims["ath"] = encode(hash([]byte(token)))
	}
	return d
}

// Text is the draft as it is signed.
func (d Draft) Text() string {
	var parts [2]string
	for i, part := range []map[string]any{d.Header, d.Claims} {
		b, err := json.Marshal(part)
		if err != nil {
			panic(err)
		}
		parts[i] = encode(b)
	}
	return parts[0] + "." + parts[1]
}

// Sign makes a proof of a draft.
func (k *Key) Sign(d Draft) string {
	text := d.Text()
	r, s, err := ecdsa.Sign(rand.Reader, k.Private, hash([]byte(text)))
	if err != nil {
		panic(err)
	}
	size := (k.Private.Params().BitSize + 7) / 8
	signature := make([]byte, 2*size)
	r.FillBytes(signature[:size])
	s.FillBytes(signature[size:])
	return text + "." + encode(signature)
}

// Proof is a proof for a request.
func (k *Key) Proof(method, url, token, nonce string) string {
	return k.Sign(k.Draft(method, url, token, nonce))
}
