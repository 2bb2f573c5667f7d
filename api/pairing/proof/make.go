package proof

import (
	"crypto/ecdsa"
	"encoding/base64"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

// A Draft is what a proof is to be made for.
type Draft struct {
	ID     string // drawn for each
	Method string
	URL    string // without a query
	Token  string // that goes with the request; "": none
	Nonce  string // that the other server gave; "": none yet
	At     time.Time
}

// Make makes a proof, as a device does.
func Make(key *ecdsa.PrivateKey, d Draft) (string, error) {
	point, err := key.PublicKey.Bytes()
	if err != nil {
		return "", err
	}
	said := jwt.MapClaims{"jti": d.ID, "htm": d.Method, "htu": d.URL, "iat": d.At.Unix()}
	if d.Token != "" {
		said["ath"] = hashOf(d.Token)
	}
	if d.Nonce != "" {
		said["nonce"] = d.Nonce
	}
	t := jwt.NewWithClaims(jwt.SigningMethodES256, said)
	t.Header["typ"] = proofType
	t.Header["jwk"] = map[string]string{"kty": "EC", "crv": "P-256",
		"x": base64.RawURLEncoding.EncodeToString(point[1 : 1+coordinate]),
		"y": base64.RawURLEncoding.EncodeToString(point[1+coordinate:]),
	}
	return t.SignedString(key)
}
