package pairing

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"evenwhite/logbook"
)

func TestADeviceWithAKey(t *testing.T) {
	t.Run("comes in with token and proof", func(t *testing.T) {
		d := openDoor(t)
		p := paired(t, d, Editor)
		if !p.Bound {
			t.Errorf("got %+v, want a token that is bound", p.Admission)
		}
		c, err := d.Authenticate(p.shows("POST", "/v1/productions", p.Token))
		if err != nil || c.Device != p.Device || c.Grants[Everywhere] != Editor {
			t.Errorf("got %+v and %v, want %s", c, err, p.Device)
		}
		if list := d.Devices(); !list[1].Keyed() {
			t.Errorf("got %+v, want it listed as one with a key", list[1])
		}
	})
	t.Run("has the same id when it is paired again, also after a restart", func(t *testing.T) {
		d := openDoor(t)
		p := paired(t, d, Reader)
		p.at = reopenDoor(t, d.keep, d.clock, d.key)
		was, here := p.Device, drawID()
		if err := p.pair(Editor, here, Claim{}); err != nil || p.Device != was {
			t.Fatalf("got %s and %v, want %s", p.Device, err, was)
		}
		c, err := p.at.Authenticate(p.shows("GET", "/", p.Token))
		if err != nil || c.Grants[Everywhere] != Reader || c.Grants[here.String()] != Editor {
			t.Errorf("got %+v and %v, want both roles", c, err)
		}
	})
	t.Run("gets the next token by a proof alone, after days, by a new key of the server too", func(t *testing.T) {
		d := openDoor(t)
		p := paired(t, d, Editor)
		d.clock.move(9 * 24 * time.Hour)
		wantErr(t, p.asks(), ErrExpired)
		p.at = reopenDoor(t, d.keep, d.clock, DrawKey())
		wantErr(t, p.asks(), ErrBadToken)
		next, err := p.at.Recognise(p.shows("POST", "/v1/token", ""))
		if err != nil || next.Device != p.Device {
			t.Fatalf("got %s and %v, want %s", next.Device, err, p.Device)
		}
		p.Token = next.Token
		wantErr(t, p.asks(), nil)
	})
	t.Run("that was revoked hears so, also when it pairs again", func(t *testing.T) {
		d := openDoor(t)
		p := paired(t, d, Editor)
		if err := d.Revoke(p.Device, true); err != nil {
			t.Fatal(err)
		}
		wantErr(t, p.asks(), ErrRevoked)
		_, err := d.Recognise(p.shows("POST", "/v1/token", ""))
		wantErr(t, err, ErrRevoked)
		_, err = d.Listening("DPoP " + p.Token)
		wantErr(t, err, ErrRevoked)
		wantErr(t, p.pair(Editor, logbook.ID{}, Claim{}), ErrRevoked)
		if n := len(d.Invitations()); n != 1 {
			t.Errorf("%d invitations are open, want the one that it could not use", n)
		}
	})
	t.Run("that was never here hears that, and one of another server hears which", func(t *testing.T) {
		d, other := openDoor(t), openDoor(t)
		p := paired(t, other, Owner)
		p.at = d
		_, err := d.Recognise(p.shows("POST", "/v1/token", ""))
		wantErr(t, err, ErrUnknown)
		err = p.asks()
		if wantErr(t, err, ErrOtherServer); err == nil || !strings.Contains(err.Error(), other.Own().String()) {
			t.Errorf("got %v, want it to name %s", err, other.Own())
		}
	})
	t.Run("says when it was seen, how its clock goes and what it has unsent", func(t *testing.T) {
		d := openDoor(t)
		p := paired(t, d, Editor)
		p.key.Clock = func() time.Time { return d.clock.now().Add(-71 * time.Hour) }
		wantErr(t, p.asks(), nil)
		unsent, program, label := 12, "phone 0.1", "phone of the 2nd AC"
		if err := d.Tell(p.Device, Report{&label, &unsent, &program}); err != nil {
			t.Fatal(err)
		}
		for _, at := range []door{d, reopenDoor(t, d.keep, d.clock, d.key)} {
			got := at.Devices()[1]
			s := got.Seen
			if !s.At.Equal(d.clock.at) || s.Clock == nil || *s.Clock != -71*time.Hour ||
				*s.Unsent != 12 || s.Program != program || got.Label != label {
				t.Errorf("got %+v of %s", s, got.Label)
			}
		}
	})
	t.Run("leaves when it has said what it has unsent", func(t *testing.T) {
		d := openDoor(t)
		p, none, three := paired(t, d, Editor), 0, 3
		wantErr(t, d.Leave(p.Device, nil, false, false), ErrUnsent)
		wantErr(t, d.Leave(p.Device, &three, false, false), ErrUnsent)
		wantErr(t, p.asks(), nil)
		wantErr(t, d.Leave(p.Device, &none, false, false), nil)
		wantErr(t, p.asks(), ErrRevoked)
		p = paired(t, d, Owner)
		wantErr(t, d.Leave(p.Device, &none, false, false), ErrLastOwner)
		wantErr(t, d.Leave(p.Device, &three, true, true), nil)
	})
}

func TestADeviceFromBeforeEnrolsItsKey(t *testing.T) {
	d := openDoor(t)
	old := d.before(t, Editor, logbook.ID{})
	p := newPhone(t, d)
	if list := d.Devices(); list[1].Keyed() {
		t.Errorf("got %+v, want it listed as one without a key", list[1])
	}
	_, err := d.Reissue(old.Device, "another secret", p.shows("POST", "/v1/token", ""))
	wantErr(t, err, ErrSecret)
	next, err := d.Reissue(old.Device, old.Secret, p.shows("POST", "/v1/token", ""))
	if err != nil || next.Device != old.Device || !next.Bound {
		t.Fatalf("got %+v and %v, want %s with a bound token", next, err, old.Device)
	}
	p.Admission = next
	wantErr(t, p.asks(), nil)
	for _, at := range []door{d, reopenDoor(t, d.keep, d.clock, d.key)} {
		_, err = at.Reissue(old.Device, old.Secret, Credentials{})
		wantErr(t, err, ErrSecret)
		_, err = at.Reissue(old.Device, "", Credentials{})
		wantErr(t, err, ErrSecret)
		_, err = at.Authenticate(Credentials{Authorization: "Bearer " + old.Token})
		wantErr(t, err, ErrBadToken)
	}
	t.Run("and no two devices have one", func(t *testing.T) {
		second := d.before(t, Editor, logbook.ID{})
		_, err := d.Reissue(second.Device, second.Secret, p.shows("POST", "/v1/token", ""))
		wantErr(t, err, ErrPaired)
		_, err = d.Reissue(second.Device, second.Secret, Credentials{})
		wantErr(t, err, nil)
	})
}

func TestATokenWithoutItsKeyIsWorthNothing(t *testing.T) {
	d := openDoor(t)
	p, thief := paired(t, d, Owner), paired(t, d, Reader)
	stolen := p.Token
	values, _ := d.keep.KeptUnder("")
	log := d.log.String()
	with := func(scheme string, proofs ...string) Credentials {
		return Credentials{Authorization: scheme + " " + stolen, Proofs: proofs,
			Method: "GET", Origins: []string{testOrigin}, Path: "/v1/devices"}
	}
	url, nonce := testOrigin+"/v1/devices", d.Nonce()
	for name, row := range map[string]struct {
		shown Credentials
		want  error
	}{
		"as a bearer's":                    {with("Bearer"), ErrNoProof},
		"as a bearer's, with a proof":      {with("Bearer", thief.key.Proof("GET", url, stolen, nonce)), ErrNoProof},
		"without a proof":                  {with("DPoP"), ErrProof},
		"with a proof by another key":      {with("DPoP", thief.key.Proof("GET", url, stolen, nonce)), ErrProof},
		"with two proofs":                  {with("DPoP", p.key.Proof("GET", url, stolen, nonce), p.key.Proof("GET", url, stolen, nonce)), ErrProof},
		"with a proof for another address": {with("DPoP", p.key.Proof("GET", url+"/x", stolen, nonce)), ErrProof},
		"with a proof for another method":  {with("DPoP", p.key.Proof("DELETE", url, stolen, nonce)), ErrProof},
		"with a proof for another token":   {with("DPoP", p.key.Proof("GET", url, thief.Token, nonce)), ErrProof},
		"with a proof for no token":        {with("DPoP", p.key.Proof("GET", url, "", nonce)), ErrProof},
		"with a proof without a nonce":     {with("DPoP", p.key.Proof("GET", url, stolen, "")), ErrNonce},
	} {
		t.Run(name, func(t *testing.T) {
			c, err := d.Authenticate(row.shown)
			wantErr(t, err, row.want)
			if !c.Device.IsZero() || err != nil && strings.Contains(err.Error(), p.Device.String()) {
				t.Errorf("got %+v and %v, which tell whose it is", c, err)
			}
		})
	}
	if after, _ := d.keep.KeptUnder(""); len(after) != len(values) || d.log.String() != log {
		t.Error("something was written, or told in the log")
	}
	wantErr(t, p.asks(), nil)
}

func TestForgedTokensWithAKeyAreRefused(t *testing.T) {
	d := openDoor(t)
	p := paired(t, d, Owner)
	thief := newPhone(t, d)
	bound := func(key any) string {
		return forge(t, d, p.Device, jwt.SigningMethodEdDSA, d.Auth.key, func(token *jwt.Token, c *jwt.RegisteredClaims) {
			token.Claims = jwt.MapClaims{"iss": c.Issuer, "sub": c.Subject, "aud": c.Audience, "exp": c.ExpiresAt,
				"cnf": map[string]any{"jkt": key}}
		})
	}
	p.Token = bound(p.key.Thumbprint())
	if err := p.asks(); err != nil {
		t.Fatalf("a token like the real ones is refused, so that the cases below show nothing: %v", err)
	}
	for name, row := range map[string]struct {
		token string
		want  error
	}{
		"a key that nobody here has": {bound(thief.key.Thumbprint()), ErrUnknown},
		"an empty key":               {bound(""), ErrBadToken},
		"a key that is no text":      {bound(7), ErrBadToken},
		"none":                       {forge(t, d, p.Device, jwt.SigningMethodEdDSA, d.Auth.key, func(*jwt.Token, *jwt.RegisteredClaims) {}), ErrBadToken},
	} {
		thief.Token = row.token
		if err := thief.asks(); !errors.Is(err, row.want) {
			t.Errorf("%s: got %v, want %v", name, err, row.want)
		}
	}
}

// A restored server knows the devices of its backup by their keys; an empty one knows none.
func TestARestoredServerTakesAProof(t *testing.T) {
	d := openDoor(t)
	p := paired(t, d, Editor)
	backup := logbook.NewMemory()
	t.Cleanup(func() { _ = backup.Close() })
	values, err := d.keep.KeptUnder("")
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range values {
		if err := backup.Keep(v.Name, v.Value); err != nil {
			t.Fatal(err)
		}
	}
	later := paired(t, d, Editor)
	restored := reopenDoor(t, backup, d.clock, DrawKey())
	p.at, later.at = restored, restored
	wantErr(t, p.asks(), ErrBadToken)
	next, err := restored.Recognise(p.shows("POST", "/v1/token", ""))
	if err != nil || next.Device != p.Device {
		t.Fatalf("got %s and %v, want %s", next.Device, err, p.Device)
	}
	_, err = restored.Recognise(later.shows("POST", "/v1/token", ""))
	wantErr(t, err, ErrUnknown)
	wantErr(t, later.pair(Owner, logbook.ID{}, Claim{later.Device, "phone"}), nil)
}
