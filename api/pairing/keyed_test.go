package pairing

import (
	"errors"
	"log/slog"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/golang-jwt/jwt/v5"

	"evenwhite/api/pairing/prooftest"
	"evenwhite/logbook"
)

const testOrigin = "https://set7.local:8443"

// A phone holds a key, and what it was given.
type phone struct {
	*testing.T
	at  door
	key *prooftest.Key
	Admission
}

func newPhone(t *testing.T, at door) *phone {
	key := prooftest.Draw()
	key.Clock = at.clock.now
	return &phone{T: t, at: at, key: key}
}

// shows is what a request of the phone shows, with its token or without.
func (p *phone) shows(method, path, token string) Credentials {
	c := Credentials{Method: method, Path: path, Origins: []string{testOrigin},
		Proofs: []string{p.key.Proof(method, testOrigin+path, token, p.at.Nonce())}}
	if token != "" {
		c.Authorization = "DPoP " + token
	}
	return c
}

func (p *phone) pair(role Role, production logbook.ID, claim Claim) error {
	p.Helper()
	inv, err := p.at.Invite("the test", role, "phone", production)
	if err != nil {
		p.Fatal(err)
	}
	p.Admission, err = p.at.Pair(Request{Address: "192.0.2.7", Code: inv.Secret, Shown: p.shows("POST", "/v1/pairing", ""), Claims: claim})
	return err
}

func paired(t *testing.T, at door, role Role) *phone {
	t.Helper()
	p := newPhone(t, at)
	if err := p.pair(role, logbook.ID{}, Claim{}); err != nil {
		t.Fatal(err)
	}
	return p
}

func (p *phone) asks() error {
	_, err := p.at.Authenticate(p.shows("GET", "/v1/productions", p.Token))
	return err
}

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

// yielding lets all others run before it keeps something, as a disk does.
type yielding struct{ Keeper }

func (y yielding) Keep(name string, value []byte) error {
	for range 1000 {
		runtime.Gosched()
	}
	return y.Keeper.Keep(name, value)
}

func TestAnInvitationHasTwoForms(t *testing.T) {
	for name, pick := range map[string]func(Invitation) (string, string){
		"the one that is scanned": func(i Invitation) (string, string) { return i.Secret, i.Code },
		"the one that is typed":   func(i Invitation) (string, string) { return i.Code, i.Secret },
	} {
		t.Run(name+" lets one in, and ends both", func(t *testing.T) {
			d := openDoor(t)
			inv, err := d.Invite("the test", Reader, "phone", logbook.ID{})
			if err != nil || len(inv.Secret) != 22 {
				t.Fatalf("got %+v and %v, want a secret of 22 letters", inv, err)
			}
			first, other := pick(inv)
			_, err = d.Pair(Request{Address: "a", Code: first, Shown: newPhone(t, d).shows("POST", "/v1/pairing", "")})
			wantErr(t, err, nil)
			for _, again := range []string{first, other} {
				_, err = d.Pair(d.asOf("a", again))
				wantErr(t, err, ErrCode)
			}
		})
		t.Run(name+" lets one of fifty in", func(t *testing.T) {
			d := openDoor(t)
			d.Auth.keep = yielding{d.keep}
			inv, err := d.Invite("the test", Reader, "phone", logbook.ID{})
			if err != nil {
				t.Fatal(err)
			}
			let := make(chan error, 50)
			var all sync.WaitGroup
			for i := range 50 {
				shown := newPhone(t, d).shows("POST", "/v1/pairing", "")
				code := inv.Code
				if i%2 == 0 {
					code = inv.Secret
				}
				all.Go(func() {
					_, err := d.Pair(Request{Address: string(rune('a' + i)), Code: code, Shown: shown})
					let <- err
				})
			}
			all.Wait()
			close(let)
			in := 0
			for err := range let {
				if err == nil {
					in++
				} else if !errors.Is(err, ErrCode) {
					t.Error(err)
				}
			}
			if in != 1 || len(d.Devices()) != 2 {
				t.Errorf("%d came in, and %d devices are listed; want 1, and it with the server's own", in, len(d.Devices()))
			}
		})
		t.Run(name+" is good for five minutes", func(t *testing.T) {
			d := openDoor(t)
			inv, err := d.Invite("the test", Reader, "phone", logbook.ID{})
			if err != nil {
				t.Fatal(err)
			}
			d.clock.move(InvitationLife)
			code, _ := pick(inv)
			_, err = d.Pair(Request{Address: "a", Code: code, Shown: newPhone(t, d).shows("POST", "/v1/pairing", "")})
			wantErr(t, err, ErrCode)
		})
	}
}

func TestAClaim(t *testing.T) {
	was := Claim{drawID(), "phone of the 2nd AC"}
	t.Run("is shown to the owner, who agrees, and the token stays good", func(t *testing.T) {
		d := openDoor(t)
		p := newPhone(t, d)
		wantErr(t, p.pair(Editor, logbook.ID{}, was), nil)
		if p.Device == was.Device || p.Claims != was.Device || d.Devices()[1].Claims != was {
			t.Fatalf("got %+v, listed as %+v; want another id, and the claim", p.Admission, d.Devices()[1])
		}
		wantErr(t, p.asks(), nil)
		given := p.Device
		id, err := d.AnswerClaim(given, true)
		if wantErr(t, err, nil); id != was.Device {
			t.Errorf("got %s, want %s", id, was.Device)
		}
		for _, at := range []door{d, reopenDoor(t, d.keep, d.clock, d.key)} {
			p.at = at
			c, err := at.Authenticate(p.shows("GET", "/", p.Token))
			if wantErr(t, err, nil); c.Device != was.Device || len(at.Devices()) != 2 {
				t.Errorf("got %+v of %d devices, want %s", c, len(at.Devices()), was.Device)
			}
		}
		_, err = d.AnswerClaim(was.Device, true)
		wantErr(t, err, ErrNoClaim)
		_, err = d.AnswerClaim(given, true)
		wantErr(t, err, ErrNoDevice)
	})
	t.Run("is not agreed to, and the device works on as another", func(t *testing.T) {
		d := openDoor(t)
		p := newPhone(t, d)
		wantErr(t, p.pair(Editor, logbook.ID{}, was), nil)
		id, err := d.AnswerClaim(p.Device, false)
		if wantErr(t, err, nil); id != p.Device || !d.Devices()[1].Claims.Device.IsZero() {
			t.Errorf("got %s and %+v", id, d.Devices()[1])
		}
		wantErr(t, p.asks(), nil)
	})
	t.Run("needs no answer where the device could give it", func(t *testing.T) {
		d := openDoor(t)
		p := newPhone(t, d)
		wantErr(t, p.pair(Owner, logbook.ID{}, was), nil)
		if p.Device != was.Device || !p.Claims.IsZero() {
			t.Errorf("got %+v, want the id %s at once", p.Admission, was.Device)
		}
	})
	t.Run("on a device that is or was admitted here is refused, and the code stays good", func(t *testing.T) {
		d := openDoor(t)
		standing, out := paired(t, d, Owner), paired(t, d, Editor)
		if err := d.Revoke(out.Device, false); err != nil {
			t.Fatal(err)
		}
		for _, id := range []logbook.ID{standing.Device, out.Device, d.Own()} {
			for _, role := range []Role{Editor, Owner} {
				p := newPhone(t, d)
				wantErr(t, p.pair(role, logbook.ID{}, Claim{id, "x"}), ErrPaired)
			}
		}
		if n := len(d.Devices()); n != 3 || len(d.Invitations()) != 6 {
			t.Errorf("%d devices, %d invitations; want 3 and 6", n, len(d.Invitations()))
		}
	})
	t.Run("of two that claim one id the first that is agreed to has it", func(t *testing.T) {
		d := openDoor(t)
		one, two := newPhone(t, d), newPhone(t, d)
		wantErr(t, one.pair(Editor, logbook.ID{}, was), nil)
		wantErr(t, two.pair(Editor, logbook.ID{}, was), nil)
		_, err := d.AnswerClaim(one.Device, true)
		wantErr(t, err, nil)
		_, err = d.AnswerClaim(two.Device, true)
		wantErr(t, err, ErrPaired)
		wantErr(t, two.asks(), nil)
	})
	t.Run("that a kill cut short is finished at the next start", func(t *testing.T) {
		d := openDoor(t)
		p := newPhone(t, d)
		wantErr(t, p.pair(Editor, logbook.ID{}, was), nil)
		given, _ := d.keep.Kept(keptDevice + p.Device.String())
		_, err := d.AnswerClaim(p.Device, true)
		wantErr(t, err, nil)
		if err := d.keep.Keep(keptDevice+p.Device.String(), given); err != nil {
			t.Fatal(err)
		}
		p.at = reopenDoor(t, d.keep, d.clock, d.key)
		c, err := p.at.Authenticate(p.shows("GET", "/", p.Token))
		if wantErr(t, err, nil); c.Device != was.Device || len(p.at.Devices()) != 2 {
			t.Errorf("got %+v of %d devices, want %s alone", c, len(p.at.Devices()), was.Device)
		}
	})
	t.Run("on one that the register knows as out is refused on an empty server", func(t *testing.T) {
		d := openDoor(t)
		folder := t.TempDir()
		log := slog.New(slog.DiscardHandler)
		r, err := OpenRegister(folder, log)
		if err != nil {
			t.Fatal(err)
		}
		if err := r.Add(Note{Server: d.Own(), Device: was.Device, What: NoteRevoked, At: d.clock.at}); err != nil {
			t.Fatal(err)
		}
		if d.Auth, err = OpenAuth(Config{Keep: d.keep, Key: d.Auth.key, Register: r, Now: d.clock.now, Log: log}); err != nil {
			t.Fatalf("%s: %v", filepath.Base(folder), err)
		}
		wantErr(t, newPhone(t, d).pair(Owner, logbook.ID{}, was), ErrPaired)
	})
}

func TestTheTokenOfAScript(t *testing.T) {
	d := openDoor(t)
	here := drawID()
	s, err := d.MakeScript(Reader, "dailies", here, 48*time.Hour)
	if err != nil {
		t.Fatal(err)
	}
	bearer := Credentials{Authorization: "Bearer " + s.Token}
	for _, at := range []door{d, reopenDoor(t, d.keep, d.clock, DrawKey())} {
		c, err := at.Authenticate(bearer)
		if err != nil || c.Device != s.Device || c.Name != "dailies" || c.Grants[here.String()] != Reader || len(c.Grants) != 1 {
			t.Errorf("got %+v and %v, want a reader of one production", c, err)
		}
	}
	values, _ := d.keep.KeptUnder("")
	for _, v := range values {
		if strings.Contains(string(v.Value), s.Token) {
			t.Errorf("%s holds the token", v.Name)
		}
	}
	if strings.Contains(d.log.String(), s.Token) {
		t.Error("the log holds it")
	}
	for _, wrong := range []string{"DPoP " + s.Token, "Bearer " + s.Token + "x", "Bearer script.", "Bearer " + s.Token[:len(s.Token)-1]} {
		_, err := d.Authenticate(Credentials{Authorization: wrong})
		wantErr(t, err, ErrBadToken)
	}
	_, err = d.Reissue(s.Device, s.Token, Credentials{})
	wantErr(t, err, ErrSecret)
	d.clock.move(48*time.Hour - time.Second)
	_, err = d.Authenticate(bearer)
	wantErr(t, err, nil)
	d.clock.move(time.Second)
	_, err = d.Authenticate(bearer)
	wantErr(t, err, ErrExpired)
	t.Run("is revoked like a device, and owns no server", func(t *testing.T) {
		s, err := d.MakeScript(Owner, "set up", logbook.ID{}, time.Hour)
		if err != nil || d.Paired() {
			t.Fatalf("got %v; counted as an owner: %v", err, d.Paired())
		}
		wantErr(t, d.Revoke(s.Device, false), nil)
		_, err = d.Authenticate(Credentials{Authorization: "Bearer " + s.Token})
		wantErr(t, err, ErrRevoked)
	})
	t.Run("is good for an hour to a year", func(t *testing.T) {
		for _, life := range []time.Duration{0, -time.Hour, time.Hour - 1, LongestScript + 1} {
			var field *FieldError
			if _, err := d.MakeScript(Reader, "x", here, life); !errors.As(err, &field) || field.Field != "hours" {
				t.Errorf("%s: got %v, want hours refused", life, err)
			}
		}
	})
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
