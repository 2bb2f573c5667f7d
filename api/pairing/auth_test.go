package pairing

import (
	"bytes"
	"crypto/ed25519"
	"errors"
	"log/slog"
	"strings"
	"sync"
	"testing"
	"time"

	"evenwhite/api/pairing/prooftest"
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
	return reopenDoor(t, store, clock, DrawKey())
}

func reopenDoor(t *testing.T, keep Keeper, clock *testClock, key ed25519.PrivateKey) door {
	t.Helper()
	var log bytes.Buffer
	a, err := OpenAuth(Config{Keep: keep, Key: key, Now: clock.now, Log: slog.New(slog.NewTextHandler(&log, nil))})
	if err != nil {
		t.Fatal(err)
	}
	return door{a, keep, clock, &log}
}

// A device that an older version paired: it has a secret, and no key.
type oldDevice struct {
	Admission
	Secret string
}

// before is such a device, as that version left it in the store.
func (d door) before(t testing.TB, role Role, production logbook.ID) (out oldDevice) {
	t.Helper()
	out.Secret = drawSecret()
	was := Device{ID: drawID(), Label: "phone", PairedAt: d.now().UTC(), Grants: Grants{grantFor(production): role},
		secretHash: hashSecret(out.Secret)}
	err := d.store(was)
	if err == nil {
		out.Admission, err = d.Reissue(was.ID, out.Secret, Credentials{})
	}
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// asOf is a request that redeems a code, with a key drawn for it.
func (d door) asOf(address, code string) Request {
	key := prooftest.Draw()
	key.Clock = d.clock.now
	const path = "/v1/pairing"
	return Request{Address: address, Code: code, Shown: Credentials{Method: "POST", Path: path, Origins: []string{testOrigin},
		Proofs: []string{key.Proof("POST", testOrigin+path, "", d.Nonce())}}}
}

func wantErr(t *testing.T, got, want error) {
	t.Helper()
	if !errors.Is(got, want) {
		t.Errorf("got error %v, want %v", got, want)
	}
}

func TestRevocation(t *testing.T) {
	t.Run("works at the next request, and after a restart", func(t *testing.T) {
		d := openDoor(t)
		out := d.before(t, Editor, logbook.ID{})
		other := d.before(t, Editor, logbook.ID{})
		if _, err := d.Authenticate(Credentials{Authorization: "Bearer " + out.Token}); err != nil {
			t.Errorf("before it: %v", err)
		}
		if err := d.Revoke(out.Device, true); err != nil {
			t.Fatal(err)
		}
		for _, at := range []door{d, reopenDoor(t, d.keep, d.clock, d.key)} {
			_, err := at.Authenticate(Credentials{Authorization: "Bearer " + out.Token})
			wantErr(t, err, ErrRevoked)
			_, err = at.Reissue(out.Device, out.Secret, Credentials{})
			wantErr(t, err, ErrRevoked)
			_, err = at.Renew(out.Device)
			wantErr(t, err, ErrRevoked)
			if _, err := at.Authenticate(Credentials{Authorization: "Bearer " + other.Token}); err != nil {
				t.Errorf("the other device: %v", err)
			}
		}
	})
	t.Run("keeps the device in the list with the time", func(t *testing.T) {
		d := openDoor(t)
		out := d.before(t, Editor, logbook.ID{})
		if err := d.Revoke(out.Device, true); err != nil {
			t.Fatal(err)
		}
		first := d.clock.at
		d.clock.move(time.Hour)
		if err := d.Revoke(out.Device, true); err != nil {
			t.Errorf("a second time: %v", err)
		}
		list := reopenDoor(t, d.keep, d.clock, d.key).Devices()
		if len(list) != 2 || !list[0].Own || list[1].ID != out.Device || !list[1].RevokedAt.Equal(first) {
			t.Errorf("got %+v, want the server's own and %s revoked at %s", list, out.Device, first)
		}
	})
	t.Run("an unknown device cannot be revoked, nor the server's own", func(t *testing.T) {
		d := openDoor(t)
		wantErr(t, d.Revoke(drawID(), true), ErrNoDevice)
		wantErr(t, d.Revoke(d.Own(), true), ErrOwnDevice)
	})
}

func TestSecret(t *testing.T) {
	t.Run("gives a device that was away for days a new token", func(t *testing.T) {
		d := openDoor(t)
		out := d.before(t, Editor, logbook.ID{})
		d.clock.move(9 * 24 * time.Hour)
		d = reopenDoor(t, d.keep, d.clock, d.key)
		again, err := d.Reissue(out.Device, out.Secret, Credentials{})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := d.Authenticate(Credentials{Authorization: "Bearer " + again.Token}); err != nil {
			t.Error(err)
		}
	})
	t.Run("of one device does not open for another", func(t *testing.T) {
		d := openDoor(t)
		one, two := d.before(t, Editor, logbook.ID{}), d.before(t, Owner, logbook.ID{})
		for _, secret := range []string{one.Secret, "", two.Token} {
			_, err := d.Reissue(two.Device, secret, Credentials{})
			wantErr(t, err, ErrSecret)
		}
		_, err := d.Reissue(drawID(), one.Secret, Credentials{})
		wantErr(t, err, ErrSecret)
	})
	t.Run("is nowhere at rest and in no log", func(t *testing.T) {
		d := openDoor(t)
		out := d.before(t, Editor, logbook.ID{})
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
	a, err := OpenAuth(Config{Keep: logbook.NewMemory(), Key: DrawKey(), Now: clock.now, Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		f.Fatal(err)
	}
	out := door{a, nil, clock, nil}.before(f, Owner, logbook.ID{})
	f.Add("Bearer " + out.Token)
	f.Add("bearer " + out.Token + "=")
	f.Add("Bearer " + out.Token[:len(out.Token)-1])
	f.Add("Bearer a.b.c")
	f.Fuzz(func(t *testing.T, header string) {
		c, err := a.Authenticate(Credentials{Authorization: header})
		scheme, rest, _ := strings.Cut(header, " ")
		if err == nil && (!strings.EqualFold(scheme, "Bearer") || strings.TrimSpace(rest) != out.Token || c.Device != out.Device) {
			t.Errorf("%q lets %s in, want only the one token to", header, c.Device)
		}
	})
}
