package proof

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/sha256"
	"encoding/base64"
)

// coordinate is the length of x and y of a point on P-256.
const coordinate = 32

var strictly = base64.RawURLEncoding.Strict() // two texts of one key would have two thumbprints

// keyOf reads the public key from the header of a proof: an EC key on P-256 as JWK, and
// nothing that is private.
func keyOf(jwk map[string]any) (key *ecdsa.PublicKey, thumbprint string, err error) {
	if jwk["kty"] != "EC" || jwk["crv"] != "P-256" {
		return nil, "", wrong("its key is none of kty EC on crv P-256")
	}
	if _, private := jwk["d"]; private {
		return nil, "", wrong("its key is a private one: draw another, this one is no secret any more")
	}
	x, y := text(jwk["x"]), text(jwk["y"])
	point := []byte{4} // uncompressed: SEC 1, section 2.3.3
	for _, part := range []string{x, y} {
		b, err := strictly.DecodeString(part)
		if err != nil || len(b) != coordinate {
			return nil, "", wrong("x or y of its key is not 32 bytes in base64url")
		}
		point = append(point, b...)
	}
	if key, err = ecdsa.ParseUncompressedPublicKey(elliptic.P256(), point); err != nil {
		return nil, "", wrong("its key is no point on the curve")
	}
	name := sha256.Sum256([]byte(`{"crv":"P-256","kty":"EC","x":"` + x + `","y":"` + y + `"}`))
	return key, base64.RawURLEncoding.EncodeToString(name[:]), nil
}

func text(v any) string {
	s, _ := v.(string)
	return s
}
