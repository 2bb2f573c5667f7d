package pairing

import (
	"crypto/ed25519"
	"errors"
	"fmt"
	"strings"
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
	Bound       bool // to the key: it goes with a proof
	ExpiresAt   time.Time
	As          Role       // that the invitation gave; "" where it is no pairing
	Claims      logbook.ID // zero, or the id that an owner has not answered for yet
}

// tokenClaims are what a token says.
type tokenClaims struct {
	jwt.RegisteredClaims
	Confirmation *confirmation `json:"cnf,omitempty"`
}

// confirmation names the key without which the token is worth nothing (RFC 9449, section 6).
type confirmation struct {
	Thumbprint string `json:"jkt"`
}

// said is what a token that was checked says.
type said struct {
	device  logbook.ID
	key     string // thumbprint; "": none
	expires time.Time
}

const issuerPrefix = "urn:uuid:"

func (a *Auth) issuer() string { return issuerPrefix + a.own.String() }

func (a *Auth) admission(d Device) (Admission, error) {
	now := a.now()
	expires := now.Add(TokenLife).UTC().Truncate(time.Second)
	claims := tokenClaims{RegisteredClaims: jwt.RegisteredClaims{
		Issuer: a.issuer(), Subject: d.ID.String(), Audience: jwt.ClaimStrings{tokenAudience},
		IssuedAt: jwt.NewNumericDate(now), ExpiresAt: jwt.NewNumericDate(expires),
	}}
	if d.key != "" {
		claims.Confirmation = &confirmation{d.key}
	}
	t := jwt.NewWithClaims(jwt.SigningMethodEdDSA, claims)
	t.Header["typ"] = tokenType
	token, err := t.SignedString(a.signing())
	if err != nil {
		return Admission{}, fmt.Errorf("sign a token: %w", err)
	}
	out := Admission{Device: d.ID, Productions: d.Productions(), Token: token, Bound: d.key != "", ExpiresAt: expires, Claims: d.Claims.Device}
	for _, role := range d.Grants {
		if rank[role] > rank[out.Role] {
			out.Role = role
		}
	}
	return out, nil
}

// saidBy checks a token and returns what it says. One method is valid, so that no token
// can choose how it is checked.
func (a *Auth) saidBy(token string) (said, error) {
	key := a.signing().Public().(ed25519.PublicKey)
	signed := string(key) + token // a token that another key signed is another one
	if s, ok := a.verified.find(signed, a.now()); ok {
		return s, nil
	}
	var claims tokenClaims
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
		return said{}, ErrExpired
	}
	if err != nil {
		return said{}, a.ofAnother(token)
	}
	s := said{expires: claims.ExpiresAt.Time}
	if claims.Confirmation != nil {
		if s.key = claims.Confirmation.Thumbprint; s.key == "" {
			return said{}, ErrBadToken
		}
	}
	if s.device, err = logbook.ParseID(claims.Subject); err != nil {
		return said{}, ErrBadToken
	}
	a.verified.keep(signed, s)
	return s, nil
}

// ofAnother says whose a token is that is not valid here, where it says so itself: a phone
// that came to another server under the same name must not take itself for shut out.
func (a *Auth) ofAnother(token string) error {
	var claims jwt.RegisteredClaims
	if _, _, err := jwt.NewParser().ParseUnverified(token, &claims); err != nil {
		return ErrBadToken
	}
	if id, ok := strings.CutPrefix(claims.Issuer, issuerPrefix); ok && claims.Issuer != a.issuer() {
		if _, err := logbook.ParseID(id); err == nil {
			return fmt.Errorf("%w, %s; this is %s. Keep what is not sent, for that server or until this one admits the device",
				ErrOtherServer, id, a.own)
		}
	}
	return ErrBadToken
}

// Renew gives a device that has a valid token the next one.
func (a *Auth) Renew(device logbook.ID) (Admission, error) {
	d, err := a.Standing(device)
	if err != nil {
		return Admission{}, err
	}
	return a.admission(d)
}

// Reissue gives a token to a device that knows its secret, however long it was away. One
// that shows a key as well is known by that from now on, and its secret is void.
func (a *Auth) Reissue(device logbook.ID, secret string, c Credentials) (Admission, error) {
	if len(c.Proofs) == 0 {
		d, err := a.proven(device, secret)
		if err != nil {
			return Admission{}, err
		}
		return a.admission(d)
	}
	shown, err := a.prove(c, "")
	if err != nil {
		return Admission{}, err
	}
	a.changing.Lock()
	defer a.changing.Unlock()
	d, err := a.proven(device, secret)
	if err != nil {
		return Admission{}, err
	}
	if d, err = a.enrolled(d, shown.Thumbprint); err != nil {
		return Admission{}, err
	}
	if err := a.store(d); err != nil {
		return Admission{}, err
	}
	a.log.Info("a device is known by its key from now on, and no more by a secret", "device", d.ID.String(), "label", d.Label)
	return a.admission(d)
}

// enrolled is a device with a key in place of its secret. The caller holds a.changing.
func (a *Auth) enrolled(d Device, key string) (Device, error) {
	a.mu.RLock()
	other, taken := a.byKey[key]
	a.mu.RUnlock()
	if taken && other != d.ID {
		return d, fmt.Errorf("%w: the key is that of another device; draw one for this", ErrPaired)
	}
	d.key, d.secretHash = key, nil
	return d, nil
}

// Recognise gives a token to a device that proves to hold its key, however long it was
// away, and also where the server was restored from a backup that knows the device.
func (a *Auth) Recognise(c Credentials) (Admission, error) {
	shown, err := a.prove(c, "")
	if err != nil {
		return Admission{}, err
	}
	d, err := a.byItsKey(shown.Thumbprint)
	if err != nil {
		return Admission{}, err
	}
	a.see(d.ID, shown.Clock)
	return a.admission(d)
}
