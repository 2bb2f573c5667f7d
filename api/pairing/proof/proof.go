package proof

import (
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"math"
	"net/url"
	"slices"
	"strings"
	"time"

	"github.com/golang-jwt/jwt/v5"
)

var (
	// ErrProof is a proof that does not prove what it was shown for.
	ErrProof = errors.New("the proof in the header DPoP is not valid")
	// ErrNonce is a proof without a nonce that this server gave out lately.
	ErrNonce = errors.New("the proof needs the nonce that this server gives: make it anew with the one in the header DPoP-Nonce")
)

func wrong(why string) error { return fmt.Errorf("%w: %s", ErrProof, why) }

// Limits of what is read.
const (
	mostBytes   = 2048 // of a proof; one of a browser has some 500
	longestJTI  = 128
	proofType   = "dpop+jwt"
	proofMethod = "ES256"
)

// A Request is what a proof must have been made for.
type Request struct {
	Method string
	// Origins are scheme, host and port under which the server may be asked.
	Origins []string
	Path    string // as it was sent, percent-encoded and without a query
	Token   string // that came with the request; "": none
}

// Shown is what a proof showed.
type Shown struct {
	Thumbprint string // of the key (RFC 7638, SHA-256, base64url)
	// Clock is what the device believes the time to be; zero where it does not say. It is
	// no reason to refuse anything.
	Clock time.Time
}

// claims are what a proof says. The embedded ones are never read: no time is judged.
type claims struct {
	jwt.MapClaims `json:"-"`

	ID       string `json:"jti"`
	Method   string `json:"htm"`
	URL      string `json:"htu"`
	Token    string `json:"ath"`
	Nonce    string `json:"nonce"`
	IssuedAt any    `json:"iat"`
}

// parser takes one method and no other, so that no proof can choose how it is checked.
var parser = jwt.NewParser(jwt.WithValidMethods([]string{proofMethod}), jwt.WithStrictDecoding(), jwt.WithoutClaimsValidation())

// Check checks the proofs of a request's header DPoP: there must be one, made for this
// request, with a nonce of these, and shown for the first time. The error is ErrNonce or
// ErrProof. What costs little is compared before the signature is.
func (n *Nonces) Check(proofs []string, r Request, now time.Time) (Shown, error) {
	if len(proofs) != 1 {
		return Shown{}, wrong(fmt.Sprintf("there are %d; allowed is one", len(proofs)))
	}
	if len(proofs[0]) > mostBytes {
		return Shown{}, wrong(fmt.Sprintf("it has %d bytes; allowed are %d", len(proofs[0]), mostBytes))
	}
	var said claims
	var shown Shown
	_, err := parser.ParseWithClaims(proofs[0], &said, func(t *jwt.Token) (any, error) {
		if t.Header["typ"] != proofType {
			return nil, wrong("its typ is not " + proofType)
		}
		if _, critical := t.Header["crit"]; critical {
			return nil, wrong("its header crit asks for what is not known here")
		}
		if err := said.isFor(r); err != nil {
			return nil, err
		}
		if !n.holds(said.Nonce, now) {
			return nil, ErrNonce
		}
		jwk, _ := t.Header["jwk"].(map[string]any)
		key, thumbprint, err := keyOf(jwk)
		shown.Thumbprint = thumbprint
		return key, err
	})
	switch {
	case errors.Is(err, ErrNonce):
		return Shown{}, ErrNonce
	case errors.Is(err, ErrProof):
		return Shown{}, ofProof(err)
	case err != nil:
		return Shown{}, wrong("it is no JWT signed by ES256 with the key in its header")
	}
	if err := n.spend(said.Nonce, shown.Thumbprint+" "+said.ID, now); err != nil {
		return Shown{}, err
	}
	shown.Clock = said.clock()
	return shown, nil
}

// ofProof takes off what the library puts before an error of ours.
func ofProof(err error) error {
	_, why, _ := strings.Cut(err.Error(), ErrProof.Error()+": ")
	return wrong(why)
}

// isFor compares a proof with the request.
func (c *claims) isFor(r Request) error {
	switch {
	case c.ID == "" || len(c.ID) > longestJTI:
		return wrong(fmt.Sprintf("its jti has %d bytes; allowed are 1 to %d", len(c.ID), longestJTI))
	case c.Method != r.Method:
		return wrong("its htm is not the method of the request")
	case !sameURL(c.URL, r):
		return wrong("its htu is not the address of the request, at an origin of this server: " + strings.Join(r.Origins, ", "))
	case r.Token != "" && c.Token != hashOf(r.Token):
		return wrong("its ath is not the hash of the token that it came with")
	}
	return nil
}

func hashOf(token string) string {
	sum := sha256.Sum256([]byte(token))
	return base64.RawURLEncoding.EncodeToString(sum[:])
}

// sameURL compares without query and fragment (RFC 9449, section 4.3).
func sameURL(htu string, r Request) bool {
	u, err := url.Parse(htu)
	if err != nil || u.User != nil || u.Opaque != "" {
		return false
	}
	return u.EscapedPath() == r.Path && slices.Contains(r.Origins, strings.ToLower(u.Scheme+"://"+u.Host))
}

func (c *claims) clock() time.Time {
	const last = 1 << 40 // s: far beyond any calendar, and within an int64 of milliseconds
	if s, ok := c.IssuedAt.(float64); ok && math.Abs(s) < last {
		return time.UnixMilli(int64(s * 1000)).UTC()
	}
	return time.Time{}
}
