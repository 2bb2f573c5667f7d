package pairing

import (
	"crypto/ed25519"
	"errors"
	"fmt"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"evenwhite/logbook"
)

// TokenLife is how long a token is good for: a long shooting day. The device asks
// for the next one with this one or with its secret.
const TokenLife = 12 * time.Hour

// What a token must say of itself, beside the issuer (RFC 7519; the type as in
// RFC 9068).
const (
	tokenAudience = "evenwhite"
	tokenType     = "at+jwt"
)

// Admission is what a device is given when it is admitted or renews its token.
type Admission struct {
	Device      logbook.ID
	Role        Role     // the greatest that it has anywhere
	Productions []string // ids, or Everywhere
	Token       string
	ExpiresAt   time.Time
	Secret      string // given once, at pairing
}

func (a *Auth) issuer() string { return "urn:uuid:" + a.own.String() }

func (a *Auth) admission(d Device) (Admission, error) {
	now := a.now()
	expires := now.Add(TokenLife).UTC().Truncate(time.Second)
	t := jwt.NewWithClaims(jwt.SigningMethodEdDSA, jwt.RegisteredClaims{
		Issuer: a.issuer(), Subject: d.ID.String(), Audience: jwt.ClaimStrings{tokenAudience},
		IssuedAt: jwt.NewNumericDate(now), ExpiresAt: jwt.NewNumericDate(expires),
	})
	t.Header["typ"] = tokenType
	token, err := t.SignedString(a.signing())
	if err != nil {
		return Admission{}, fmt.Errorf("sign a token: %w", err)
	}
	out := Admission{Device: d.ID, Productions: d.Productions(), Token: token, ExpiresAt: expires}
	for _, role := range d.Grants {
		if rank[role] > rank[out.Role] {
			out.Role = role
		}
	}
	return out, nil
}

// subject returns the device that a token was made for. One method is valid, so
// that no token can choose how it is checked.
func (a *Auth) subject(token string) (logbook.ID, error) {
	key := a.signing().Public().(ed25519.PublicKey)
	signed := string(key) + token // a token that another key signed is another one
	if id, ok := a.verified.find(signed, a.now()); ok {
		return id, nil
	}
	var claims jwt.RegisteredClaims
	parser := jwt.NewParser(
		jwt.WithValidMethods([]string{jwt.SigningMethodEdDSA.Alg()}), jwt.WithStrictDecoding(),
		jwt.WithIssuer(a.issuer()), jwt.WithAudience(tokenAudience),
		jwt.WithExpirationRequired(), jwt.WithTimeFunc(a.now),
	)
	_, err := parser.ParseWithClaims(token, &claims, func(t *jwt.Token) (any, error) {
		if t.Header["typ"] != tokenType {
			return nil, ErrBadToken
		}
		return key, nil
	})
	if errors.Is(err, jwt.ErrTokenExpired) {
		return logbook.ID{}, fmt.Errorf("%w: it has expired, ask for a new one with the device's secret", ErrBadToken)
	}
	if err != nil {
		return logbook.ID{}, ErrBadToken
	}
	id, err := logbook.ParseID(claims.Subject)
	if err != nil {
		return logbook.ID{}, ErrBadToken
	}
	a.verified.keep(signed, id, claims.ExpiresAt.Time)
	return id, nil
}

// Renew gives a device that has a valid token the next one.
func (a *Auth) Renew(device logbook.ID) (Admission, error) {
	d, err := a.Standing(device)
	if err != nil {
		return Admission{}, err
	}
	return a.admission(d)
}

// Reissue gives a token to a device that knows its secret, however long it was
// away.
func (a *Auth) Reissue(device logbook.ID, secret string) (Admission, error) {
	d, err := a.proven(device, secret)
	if err != nil {
		return Admission{}, err
	}
	return a.admission(d)
}
