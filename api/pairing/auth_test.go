package pairing

import (
	"bytes"
	"crypto/ed25519"
	"encoding/base64"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"evenwhite/logbook"
)

// A clock that stands until it is moved.
type testClock struct {
	at time.Time
	mu sync.Mutex
}

func (c *testClock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.at
}

func (c *testClock) move(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.at = c.at.Add(d)
}

type door struct {
	*Auth
	keep  Keeper
	clock *testClock
	log   *bytes.Buffer
}

func openDoor(t *testing.T) door {
	t.Helper()
	clock := &testClock{at: time.Date(2031, 3, 4, 6, 30, 0, 0, time.UTC)}
	store := logbook.NewMemory()
	t.Cleanup(func() { _ = store.Close() })
	return reopenDoor(t, store, clock)
}

func reopenDoor(t *testing.T, keep Keeper, clock *testClock) door {
	t.Helper()
	var log bytes.Buffer
	a, err := OpenAuth(keep, clock.now, slog.New(slog.NewTextHandler(&log, nil)))
	if err != nil {
		t.Fatal(err)
	}
	return door{a, keep, clock, &log}
}

func (d door) pair(t *testing.T, role Role, production logbook.ID) Admission {
	t.Helper()
	inv, err := d.Invite("the test", role, "phone", production)
	if err != nil {
		t.Fatal(err)
	}
	out, err := d.Pair(Request{Address: "192.0.2.1", Code: inv.Code})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func wantErr(t *testing.T, got, want error) {
	t.Helper()
	if !errors.Is(got, want) {
		t.Errorf("got error %v, want %v", got, want)
	}
}

func TestToken(t *testing.T) {
	t.Run("a paired device is known by its token", func(t *testing.T) {
		d := openDoor(t)
		out := d.pair(t, Editor, logbook.ID{})
		c, err := d.Authenticate("Bearer " + out.Token)
		if err != nil {
			t.Fatal(err)
		}
		if c.Device != out.Device || c.Name != "phone" || c.Grants[Everywhere] != Editor {
			t.Errorf("got caller %+v, want device %s, phone, editor everywhere", c, out.Device)
		}
	})
	t.Run("a request without a token hears so", func(t *testing.T) {
		d := openDoor(t)
		for _, header := range []string{"", "Bearer", "Bearer ", "Basic dXNlcjpwYXNz"} {
			_, err := d.Authenticate(header)
			wantErr(t, err, ErrNoToken)
		}
	})
	t.Run("a token is good until twelve hours have passed and no longer", func(t *testing.T) {
		d := openDoor(t)
		out := d.pair(t, Reader, logbook.ID{})
		d.clock.move(TokenLife - time.Second)
		if _, err := d.Authenticate("Bearer " + out.Token); err != nil {
			t.Errorf("a second before the end: %v", err)
		}
		d.clock.move(time.Second)
		_, err := d.Authenticate("Bearer " + out.Token)
		wantErr(t, err, ErrBadToken)
		if err == nil || !strings.Contains(err.Error(), "expired") {
			t.Errorf("got %v, want it to say expired", err)
		}
	})
	t.Run("many tokens take bounded room, and none is known that was not checked", func(t *testing.T) {
		var v verified
		at := time.Date(2031, 3, 4, 6, 0, 0, 0, time.UTC)
		for i := range 2*mostVerified + 1 {
			v.keep(fmt.Sprint("token ", i), logbook.ID{1}, at.Add(TokenLife))
			if len(v.tokens) > mostVerified {
				t.Fatalf("%d tokens are remembered; allowed are %d", len(v.tokens), mostVerified)
			}
		}
		if id, ok := v.find(fmt.Sprint("token ", 2*mostVerified), at); !ok || id != (logbook.ID{1}) {
			t.Errorf("got %v and %v for the last one", id, ok)
		}
		if _, ok := v.find("token 0", at); ok {
			t.Error("a token is known that was forgotten")
		}
	})
	t.Run("tokens outlive a restart, because the key is kept", func(t *testing.T) {
		d := openDoor(t)
		out := d.pair(t, Reader, logbook.ID{})
		again := reopenDoor(t, d.keep, d.clock)
		if _, err := again.Authenticate("Bearer " + out.Token); err != nil {
			t.Error(err)
		}
		if again.Own() != d.Own() {
			t.Errorf("own device: got %s, want %s", again.Own(), d.Own())
		}
	})
	t.Run("a key that was damaged at rest is not signed with", func(t *testing.T) {
		d := openDoor(t)
		if err := d.keep.Keep(keptKey, []byte("short")); err != nil {
			t.Fatal(err)
		}
		_, err := OpenAuth(d.keep, d.clock.now, slog.New(slog.DiscardHandler))
		if err == nil || !strings.Contains(err.Error(), "key/jwt has 5 bytes; allowed: 32") {
			t.Errorf("got %v, want it to name the key and its size", err)
		}
	})
	t.Run("a server does not take another server's tokens", func(t *testing.T) {
		out := openDoor(t).pair(t, Owner, logbook.ID{})
		_, err := openDoor(t).Authenticate("Bearer " + out.Token)
		wantErr(t, err, ErrBadToken)
	})
}

// forge makes a token in every respect like a real one but for what change does.
func forge(
	t *testing.T, d door, device logbook.ID, method jwt.SigningMethod, key any, change func(*jwt.Token, *jwt.RegisteredClaims),
) string {
	t.Helper()
	claims := &jwt.RegisteredClaims{
		Issuer: d.issuer(), Subject: device.String(), Audience: jwt.ClaimStrings{tokenAudience},
		ExpiresAt: jwt.NewNumericDate(d.clock.at.Add(time.Hour)),
	}
	token := jwt.NewWithClaims(method, claims)
	token.Header["typ"] = tokenType
	change(token, claims)
	s, err := token.SignedString(key)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestForgedTokensAreRefused(t *testing.T) {
	d := openDoor(t)
	device := d.pair(t, Owner, logbook.ID{}).Device
	_, otherKey, err := ed25519.GenerateKey(nil)
	if err != nil {
		t.Fatal(err)
	}
	public := []byte(d.key.Public().(ed25519.PublicKey))
	ed := jwt.SigningMethodEdDSA
	same := func(*jwt.Token, *jwt.RegisteredClaims) {}

	if _, err := d.Authenticate("Bearer " + forge(t, d, device, ed, d.key, same)); err != nil {
		t.Fatalf("a token like the real ones is refused, so that the cases below show nothing: %v", err)
	}
	tampered := forge(t, d, device, ed, d.key, same)
	parts := strings.Split(tampered, ".")
	body, err := base64.RawURLEncoding.DecodeString(parts[1])
	if err != nil {
		t.Fatal(err)
	}
	parts[1] = base64.RawURLEncoding.EncodeToString(bytes.Replace(body, []byte(device.String()), []byte(d.Own().String()), 1))
	flipped := []byte(tampered)
	flipped[len(flipped)-10] ^= 1
	// 64 bytes leave four bits of the last letter without meaning: A and B begin alike.
	const letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
	last := strings.IndexByte(letters, tampered[len(tampered)-1])
	loose := tampered[:len(tampered)-1] + letters[last+1:last+2]

	cases := map[string]string{
		"signed with another key":              forge(t, d, device, ed, otherKey, same),
		"method none":                          forge(t, d, device, jwt.SigningMethodNone, jwt.UnsafeAllowNoneSignatureType, same),
		"HMAC with the public key as secret":   forge(t, d, device, jwt.SigningMethodHS256, public, same),
		"another issuer":                       forge(t, d, device, ed, d.key, func(_ *jwt.Token, c *jwt.RegisteredClaims) { c.Issuer = "urn:uuid:" + device.String() }),
		"no issuer":                            forge(t, d, device, ed, d.key, func(_ *jwt.Token, c *jwt.RegisteredClaims) { c.Issuer = "" }),
		"another audience":                     forge(t, d, device, ed, d.key, func(_ *jwt.Token, c *jwt.RegisteredClaims) { c.Audience = jwt.ClaimStrings{"elsewhere"} }),
		"no audience":                          forge(t, d, device, ed, d.key, func(_ *jwt.Token, c *jwt.RegisteredClaims) { c.Audience = nil }),
		"no expiry":                            forge(t, d, device, ed, d.key, func(_ *jwt.Token, c *jwt.RegisteredClaims) { c.ExpiresAt = nil }),
		"another type":                         forge(t, d, device, ed, d.key, func(t *jwt.Token, _ *jwt.RegisteredClaims) { t.Header["typ"] = "JWT" }),
		"no type":                              forge(t, d, device, ed, d.key, func(t *jwt.Token, _ *jwt.RegisteredClaims) { delete(t.Header, "typ") }),
		"a subject that is no id":              forge(t, d, device, ed, d.key, func(_ *jwt.Token, c *jwt.RegisteredClaims) { c.Subject = "owner" }),
		"another subject under the signature":  strings.Join(parts, "."),
		"a bit of the signature turned":        string(flipped),
		"no signature":                         strings.Join(strings.Split(tampered, ".")[:2], ".") + ".",
		"padding":                              tampered + "==",
		"another last letter of equal meaning": loose,
		"not a token at all":                   "a.b.c",
		"an empty header and a good signature": "." + parts[1] + "." + parts[2],
	}
	for name, token := range cases {
		t.Run(name, func(t *testing.T) {
			_, err := d.Authenticate("Bearer " + token)
			wantErr(t, err, ErrBadToken)
		})
	}
	t.Run("a device that was never admitted, and the server's own", func(t *testing.T) {
		for _, id := range []logbook.ID{drawID(), d.Own()} {
			_, err := d.Authenticate("Bearer " + forge(t, d, id, ed, d.key, same))
			wantErr(t, err, ErrRevoked)
		}
	})
}

func TestRevocation(t *testing.T) {
	t.Run("works at the next request, and after a restart", func(t *testing.T) {
		d := openDoor(t)
		out := d.pair(t, Editor, logbook.ID{})
		other := d.pair(t, Editor, logbook.ID{})
		if _, err := d.Authenticate("Bearer " + out.Token); err != nil {
			t.Errorf("before it: %v", err)
		}
		if err := d.Revoke(out.Device); err != nil {
			t.Fatal(err)
		}
		for _, at := range []door{d, reopenDoor(t, d.keep, d.clock)} {
			_, err := at.Authenticate("Bearer " + out.Token)
			wantErr(t, err, ErrRevoked)
			_, err = at.Reissue(out.Device, out.Secret)
			wantErr(t, err, ErrRevoked)
			_, err = at.Renew(out.Device)
			wantErr(t, err, ErrRevoked)
			if _, err := at.Authenticate("Bearer " + other.Token); err != nil {
				t.Errorf("the other device: %v", err)
			}
		}
	})
	t.Run("keeps the device in the list with the time", func(t *testing.T) {
		d := openDoor(t)
		out := d.pair(t, Editor, logbook.ID{})
		if err := d.Revoke(out.Device); err != nil {
			t.Fatal(err)
		}
		first := d.clock.at
		d.clock.move(time.Hour)
		if err := d.Revoke(out.Device); err != nil {
			t.Errorf("a second time: %v", err)
		}
		list := reopenDoor(t, d.keep, d.clock).Devices()
		if len(list) != 2 || !list[0].Own || list[1].ID != out.Device || !list[1].RevokedAt.Equal(first) {
			t.Errorf("got %+v, want the server's own and %s revoked at %s", list, out.Device, first)
		}
	})
	t.Run("an unknown device cannot be revoked, nor the server's own", func(t *testing.T) {
		d := openDoor(t)
		wantErr(t, d.Revoke(drawID()), ErrNoDevice)
		wantErr(t, d.Revoke(d.Own()), ErrOwnDevice)
	})
}

func TestSecret(t *testing.T) {
	t.Run("gives a device that was away for days a new token", func(t *testing.T) {
		d := openDoor(t)
		out := d.pair(t, Editor, logbook.ID{})
		d.clock.move(9 * 24 * time.Hour)
		d = reopenDoor(t, d.keep, d.clock)
		again, err := d.Reissue(out.Device, out.Secret)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := d.Authenticate("Bearer " + again.Token); err != nil {
			t.Error(err)
		}
		if again.Secret != "" {
			t.Error("the secret is given again")
		}
	})
	t.Run("of one device does not open for another", func(t *testing.T) {
		d := openDoor(t)
		one, two := d.pair(t, Editor, logbook.ID{}), d.pair(t, Owner, logbook.ID{})
		for _, secret := range []string{one.Secret, "", two.Token} {
			_, err := d.Reissue(two.Device, secret)
			wantErr(t, err, ErrSecret)
		}
		_, err := d.Reissue(drawID(), one.Secret)
		wantErr(t, err, ErrSecret)
	})
	t.Run("is nowhere at rest and in no log", func(t *testing.T) {
		d := openDoor(t)
		out := d.pair(t, Editor, logbook.ID{})
		values, err := d.keep.KeptUnder("")
		if err != nil || len(values) == 0 {
			t.Fatalf("got %d values, error %v", len(values), err)
		}
		for _, v := range values {
			if bytes.Contains(v.Value, []byte(out.Secret)) || bytes.Contains(v.Value, []byte(out.Token)) {
				t.Errorf("%s holds a secret", v.Name)
			}
		}
		for _, secret := range []string{out.Secret, out.Token} {
			if strings.Contains(d.log.String(), secret) {
				t.Errorf("the log holds a secret: %s", d.log)
			}
		}
	})
}

func FuzzAuthenticate(f *testing.F) {
	clock := &testClock{at: time.Date(2031, 3, 4, 6, 30, 0, 0, time.UTC)}
	a, err := OpenAuth(logbook.NewMemory(), clock.now, slog.New(slog.DiscardHandler))
	if err != nil {
		f.Fatal(err)
	}
	inv, err := a.Invite("the test", Owner, "phone", logbook.ID{})
	if err != nil {
		f.Fatal(err)
	}
	out, err := a.Pair(Request{Code: inv.Code})
	if err != nil {
		f.Fatal(err)
	}
	f.Add("Bearer " + out.Token)
	f.Add("bearer " + out.Token + "=")
	f.Add("Bearer " + out.Token[:len(out.Token)-1])
	f.Add("Bearer a.b.c")
	f.Fuzz(func(t *testing.T, header string) {
		c, err := a.Authenticate(header)
		scheme, rest, _ := strings.Cut(header, " ")
		if err == nil && (!strings.EqualFold(scheme, "Bearer") || strings.TrimSpace(rest) != out.Token || c.Device != out.Device) {
			t.Errorf("%q lets %s in, want only the one token to", header, c.Device)
		}
	})
}
