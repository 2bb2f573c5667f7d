package pairing

import (
	"bytes"
	"crypto/ed25519"
	"encoding/base64"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"evenwhite/logbook"
)

func TestToken(t *testing.T) {
	t.Run("a paired device is known by its token", func(t *testing.T) {
		d := openDoor(t)
		out := d.before(t, Editor, logbook.ID{})
		c, err := d.Authenticate(Credentials{Authorization: "Bearer " + out.Token})
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
			_, err := d.Authenticate(Credentials{Authorization: header})
			wantErr(t, err, ErrNoToken)
		}
	})
	t.Run("a token is good until twelve hours have passed and no longer", func(t *testing.T) {
		d := openDoor(t)
		out := d.before(t, Reader, logbook.ID{})
		d.clock.move(TokenLife - time.Second)
		if _, err := d.Authenticate(Credentials{Authorization: "Bearer " + out.Token}); err != nil {
			t.Errorf("a second before the end: %v", err)
		}
		d.clock.move(time.Second)
		_, err := d.Authenticate(Credentials{Authorization: "Bearer " + out.Token})
		wantErr(t, err, ErrBadToken)
		if err == nil || !strings.Contains(err.Error(), "expired") {
			t.Errorf("got %v, want it to say expired", err)
		}
	})
	t.Run("many tokens take bounded room, and none is known that was not checked", func(t *testing.T) {
		var v verified
		at := time.Date(2031, 3, 4, 6, 0, 0, 0, time.UTC)
		for i := range 2*mostVerified + 1 {
			v.keep(fmt.Sprint("token ", i), said{device: logbook.ID{1}, expires: at.Add(TokenLife)})
			if len(v.tokens) > mostVerified {
				t.Fatalf("%d tokens are remembered; allowed are %d", len(v.tokens), mostVerified)
			}
		}
		if id, ok := v.find(fmt.Sprint("token ", 2*mostVerified), at); !ok || id.device != (logbook.ID{1}) {
			t.Errorf("got %v and %v for the last one", id, ok)
		}
		if _, ok := v.find("token 0", at); ok {
			t.Error("a token is known that was forgotten")
		}
	})
	t.Run("tokens outlive a restart with the same key", func(t *testing.T) {
		d := openDoor(t)
		out := d.before(t, Reader, logbook.ID{})
		again := reopenDoor(t, d.keep, d.clock, d.key)
		if _, err := again.Authenticate(Credentials{Authorization: "Bearer " + out.Token}); err != nil {
			t.Error(err)
		}
		if again.Own() != d.Own() {
			t.Errorf("own device: got %s, want %s", again.Own(), d.Own())
		}
	})
	t.Run("the key is not in the store", func(t *testing.T) {
		d := openDoor(t)
		d.before(t, Reader, logbook.ID{})
		values, err := d.keep.KeptUnder("")
		if err != nil || len(values) == 0 {
			t.Fatalf("got %d values and %v", len(values), err)
		}
		for _, v := range values {
			if bytes.Contains(v.Value, d.key.Seed()) {
				t.Errorf("%s holds it", v.Name)
			}
		}
	})
	t.Run("a key that lay in the store is void and goes", func(t *testing.T) {
		d := openDoor(t)
		out := d.before(t, Owner, logbook.ID{})
		old := DrawKey()
		if err := d.keep.Keep(keptOldKey, old.Seed()); err != nil {
			t.Fatal(err)
		}
		forged := forge(t, d, out.Device, jwt.SigningMethodEdDSA, old, func(*jwt.Token, *jwt.RegisteredClaims) {})
		again := reopenDoor(t, d.keep, d.clock, d.key)
		_, err := again.Authenticate(Credentials{Authorization: "Bearer " + forged})
		wantErr(t, err, ErrBadToken)
		if left, err := d.keep.Kept(keptOldKey); left != nil || err != nil {
			t.Errorf("it is still there: %v", err)
		}
		if _, err := again.Reissue(out.Device, out.Secret, Credentials{}); err != nil {
			t.Errorf("with its secret: %v", err)
		}
	})
	t.Run("another key voids every token at once, and no secret", func(t *testing.T) {
		d := openDoor(t)
		out := d.before(t, Reader, logbook.ID{})
		if _, err := d.Authenticate(Credentials{Authorization: "Bearer " + out.Token}); err != nil {
			t.Fatal(err)
		}
		woken := d.Changed()
		d.Rekey(DrawKey())
		_, err := d.Authenticate(Credentials{Authorization: "Bearer " + out.Token})
		wantErr(t, err, ErrBadToken)
		select {
		case <-woken:
		default:
			t.Error("streams are not woken, and so go on")
		}
		next, err := d.Reissue(out.Device, out.Secret, Credentials{})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := d.Authenticate(Credentials{Authorization: "Bearer " + next.Token}); err != nil {
			t.Errorf("the next token: %v", err)
		}
	})
	t.Run("a server does not take another server's tokens", func(t *testing.T) {
		out := openDoor(t).before(t, Owner, logbook.ID{})
		_, err := openDoor(t).Authenticate(Credentials{Authorization: "Bearer " + out.Token})
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
	device := d.before(t, Owner, logbook.ID{}).Device
	_, otherKey, err := ed25519.GenerateKey(nil)
	if err != nil {
		t.Fatal(err)
	}
	public := []byte(d.key.Public().(ed25519.PublicKey))
	ed := jwt.SigningMethodEdDSA
	same := func(*jwt.Token, *jwt.RegisteredClaims) {}

	if _, err := d.Authenticate(Credentials{Authorization: "Bearer " + forge(t, d, device, ed, d.key, same)}); err != nil {
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
			_, err := d.Authenticate(Credentials{Authorization: "Bearer " + token})
			wantErr(t, err, ErrBadToken)
		})
	}
	t.Run("a device that was never admitted, and the server's own", func(t *testing.T) {
		for _, id := range []logbook.ID{drawID(), d.Own()} {
			_, err := d.Authenticate(Credentials{Authorization: "Bearer " + forge(t, d, id, ed, d.key, same)})
			wantErr(t, err, ErrUnknown)
		}
	})
}
