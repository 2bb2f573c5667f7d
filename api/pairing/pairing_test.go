package pairing

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
)

func TestInvitation(t *testing.T) {
	invite := func(t *testing.T, d door) Invitation {
		t.Helper()
		inv, err := d.Invite("the test", Reader, "B camera", logbook.ID{})
		if err != nil {
			t.Fatal(err)
		}
		return inv
	}
	t.Run("is eight letters that are easy to read out", func(t *testing.T) {
		seen := make(map[string]bool)
		letters := make(map[rune]int)
		for range 500 {
			code := drawCode()
			if len(code) != 8 || strings.Trim(code, "BCDFGHJKLMNPQRSTVWXZ") != "" {
				t.Fatalf("got code %q, want 8 of BCDFGHJKLMNPQRSTVWXZ", code)
			}
			seen[code] = true
			for _, r := range code {
				letters[r]++
			}
		}
		if len(seen) < 498 || len(letters) != 20 { // one twice is a chance of 1 in 200000
			t.Errorf("got %d codes and %d letters of 500 draws, want 500 and 20", len(seen), len(letters))
		}
	})
	t.Run("lets one device in, once", func(t *testing.T) {
		d := openDoor(t)
		inv := invite(t, d)
		out, err := d.Pair(d.asOf("a", inv.Code))
		if err != nil || out.Role != Reader || !out.Bound {
			t.Fatalf("got %+v, error %v; want a reader whose token is bound to the key", out, err)
		}
		_, err = d.Pair(d.asOf("a", inv.Code))
		wantErr(t, err, ErrCode)
	})
	t.Run("may be typed in small letters and in groups", func(t *testing.T) {
		d := openDoor(t)
		code := strings.ToLower(invite(t, d).Code)
		if _, err := d.Pair(d.asOf("a", " "+code[:4]+"-"+code[4:]+"\n")); err != nil {
			t.Error(err)
		}
	})
	t.Run("is good for five minutes", func(t *testing.T) {
		d := openDoor(t)
		early, late := invite(t, d), invite(t, d)
		d.clock.move(InvitationLife - time.Millisecond)
		if _, err := d.Pair(d.asOf("a", early.Code)); err != nil {
			t.Errorf("just before the end: %v", err)
		}
		d.clock.move(time.Millisecond)
		_, err := d.Pair(d.asOf("a", late.Code))
		wantErr(t, err, ErrCode)
		if n := len(d.Invitations()); n != 0 {
			t.Errorf("got %d open invitations, want none", n)
		}
	})
	t.Run("is not good any more after a restart", func(t *testing.T) {
		d := openDoor(t)
		inv := invite(t, d)
		again := reopenDoor(t, d.keep, d.clock, d.key)
		_, err := again.Pair(again.asOf("a", inv.Code))
		wantErr(t, err, ErrCode)
	})
	t.Run("can be withdrawn", func(t *testing.T) {
		d := openDoor(t)
		inv, other := invite(t, d), invite(t, d)
		if err := d.Withdraw(inv.Code); err != nil {
			t.Fatal(err)
		}
		wantErr(t, d.Withdraw(inv.Code), ErrNoInvitation)
		_, err := d.Pair(d.asOf("a", inv.Code))
		wantErr(t, err, ErrCode)
		if list := d.Invitations(); len(list) != 1 || list[0].Code != other.Code {
			t.Errorf("got %+v, want only %s", list, other.Code)
		}
	})
	t.Run("is one of at most a hundred", func(t *testing.T) {
		d := openDoor(t)
		for range mostInvitations {
			invite(t, d)
		}
		_, err := d.Invite("the test", Reader, "one more", logbook.ID{})
		wantErr(t, err, ErrTooMany)
		d.clock.move(InvitationLife)
		invite(t, d)
	})
	t.Run("names a role that exists and a label that can be shown", func(t *testing.T) {
		d := openDoor(t)
		for _, c := range []struct {
			role  Role
			label string
			field string
		}{
			{"boss", "phone", "role"}, {"", "phone", "role"}, {Owner, " ", "label"},
			{Owner, "a\x00b", "label"}, {Owner, strings.Repeat("ä", 65), "label"}, {Owner, "\xff", "label"},
		} {
			_, err := d.Invite("the test", c.role, c.label, logbook.ID{})
			var refused *FieldError
			if !errors.As(err, &refused) || refused.Field != c.field {
				t.Errorf("role %q label %q: got %v, want a FieldError about %s", c.role, c.label, err, c.field)
			}
		}
		if _, err := d.Invite("the test", Owner, strings.Repeat("ä", 64), logbook.ID{}); err != nil {
			t.Errorf("64 characters: %v", err)
		}
	})
}

func TestPairing(t *testing.T) {
	here, there := drawID(), drawID()
	t.Run("gives the role in one production only", func(t *testing.T) {
		d := openDoor(t)
		c, err := d.Authenticate(Credentials{Authorization: "Bearer " + d.before(t, Editor, here).Token})
		if err != nil {
			t.Fatal(err)
		}
		if c.May(Editor, here) != nil {
			t.Errorf("an editor there may not edit: %v", c.May(Editor, here))
		}
		wantErr(t, c.May(Owner, here), ErrRole)
		wantErr(t, c.May(Guest, there), ErrRole)
		wantErr(t, c.May(Guest, logbook.ID{}), ErrRole)
	})
	t.Run("without a proof lets nobody in, and the code stays good", func(t *testing.T) {
		d := openDoor(t)
		inv, err := d.Invite("the test", Owner, "phone", logbook.ID{})
		if err != nil {
			t.Fatal(err)
		}
		before, _ := d.keep.KeptUnder("")
		other, stale := newPhone(t, d), newPhone(t, d)
		for name, c := range map[string]struct {
			shown Credentials
			want  error
		}{
			"nothing at all":          {Credentials{Method: "POST", Path: "/v1/pairing", Origins: []string{testOrigin}}, ErrNoProof},
			"a text that is no proof": {Credentials{Method: "POST", Path: "/v1/pairing", Origins: []string{testOrigin}, Proofs: []string{"a.b.c"}}, ErrProof},
			"an empty one":            {Credentials{Method: "POST", Path: "/v1/pairing", Origins: []string{testOrigin}, Proofs: []string{""}}, ErrProof},
			"a proof for a token":     {other.shows("POST", "/v1/token", ""), ErrProof},
			"one without a nonce": {Credentials{Method: "POST", Path: "/v1/pairing", Origins: []string{testOrigin},
				Proofs: []string{stale.key.Proof("POST", testOrigin+"/v1/pairing", "", "")}}, ErrNonce},
		} {
			for _, code := range []string{inv.Code, inv.Secret} {
				shown := c.shown
				if name == "a proof for a token" {
					shown.Path = "/v1/pairing"
				}
				out, err := d.Pair(Request{Address: "a", Code: code, Shown: shown})
				if wantErr(t, err, c.want); out.Token != "" {
					t.Errorf("%s: it is given %+v", name, out)
				}
			}
		}
		if after, _ := d.keep.KeptUnder(""); len(after) != len(before) || len(d.Devices()) != 1 {
			t.Errorf("%d values were kept and now %d, of %d devices", len(before), len(after), len(d.Devices()))
		}
		if _, err := d.Pair(d.asOf("a", inv.Code)); err != nil {
			t.Errorf("the code was spent on a refusal: %v", err)
		}
	})
	t.Run("adds a role to a device that proves itself, and never takes one away", func(t *testing.T) {
		d := openDoor(t)
		p := newPhone(t, d)
		wantErr(t, p.pair(Editor, here, Claim{}), nil)
		for _, role := range []Role{Guest, Reader, Guest} {
			wantErr(t, p.pair(role, there, Claim{}), nil)
		}
		c, err := d.Authenticate(p.shows("GET", "/", p.Token))
		if err != nil {
			t.Fatal(err)
		}
		if c.RoleIn(here) != Editor || c.RoleIn(there) != Reader || c.Name != "phone" {
			t.Errorf("got %+v, want editor here, reader there, and the first label", c)
		}
	})
	t.Run("reports whether an owner was ever let in", func(t *testing.T) {
		d := openDoor(t)
		d.before(t, Owner, here)
		if d.Paired() {
			t.Error("an owner of one production counts as the server's")
		}
		out := d.before(t, Owner, logbook.ID{})
		if !d.Paired() {
			t.Error("an owner was paired, and it is not known")
		}
		if err := d.Revoke(out.Device, true); err != nil {
			t.Fatal(err)
		}
		if d.Paired() {
			t.Error("a revoked owner counts")
		}
	})
}

func TestPairingLimits(t *testing.T) {
	t.Run("ten tries a minute from one address", func(t *testing.T) {
		d := openDoor(t)
		inv, err := d.Invite("the test", Reader, "phone", logbook.ID{})
		if err != nil {
			t.Fatal(err)
		}
		for range triesPerAddress {
			_, err := d.Pair(d.asOf("a", "wrong"))
			wantErr(t, err, ErrCode)
		}
		_, err = d.Pair(d.asOf("a", inv.Code))
		wantErr(t, err, ErrTooMany)
		if _, err := d.Pair(d.asOf("b", inv.Code)); err != nil {
			t.Errorf("another address: %v", err)
		}
		d.clock.move(time.Minute)
		_, err = d.Pair(d.asOf("a", "wrong"))
		wantErr(t, err, ErrCode)
	})
	t.Run("a right code is let in however many wrong ones others send", func(t *testing.T) {
		d := openDoor(t)
		for i := range 200 { // while nothing is open nothing can be guessed
			_, err := d.Pair(d.asOf(fmt.Sprint(i), "wrong"))
			wantErr(t, err, ErrCode)
		}
		inv, err := d.Invite("the test", Reader, "phone", logbook.ID{})
		if err != nil {
			t.Fatal(err)
		}
		for i := range failuresUntilVoid - 1 {
			_, err := d.Pair(d.asOf(fmt.Sprint("more", i), "wrong"))
			wantErr(t, err, ErrCode)
		}
		if _, err := d.Pair(d.asOf("a", inv.Code)); err != nil {
			t.Error(err)
		}
	})
	t.Run("addresses that are remembered are bounded, and forgotten", func(t *testing.T) {
		d := openDoor(t)
		for i := range 2 * mostAddresses {
			_, err := d.Pair(d.asOf(fmt.Sprint(i), "wrong"))
			wantErr(t, err, ErrCode)
		}
		if n := len(d.pairing.tries.byAddress); n != mostAddresses {
			t.Errorf("got %d addresses remembered, want %d", n, mostAddresses)
		}
		d.clock.move(time.Minute)
		_, err := d.Pair(d.asOf("new", "wrong"))
		wantErr(t, err, ErrCode)
		if n := len(d.pairing.tries.byAddress); n != 1 {
			t.Errorf("a minute later: got %d addresses remembered, want 1", n)
		}
	})
	for _, c := range []struct {
		name   string
		wrongs int
		apart  time.Duration
		void   bool
	}{
		{"nineteen wrong codes in ten minutes leave the invitation", 19, 10 * time.Second, false},
		{"twenty wrong codes in ten minutes end all invitations", 20, 10 * time.Second, true},
		{"twenty wrong codes over a longer time do not", 20, 32 * time.Second, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := openDoor(t)
			var inv Invitation
			for i := range c.wrongs {
				d.clock.move(c.apart)
				var err error
				if inv, err = d.Invite("the test", Reader, "phone", logbook.ID{}); err != nil {
					t.Fatal(err)
				}
				_, err = d.Pair(d.asOf([]string{"a", "b", "a"}[i%3], "wrong"))
				wantErr(t, err, ErrCode)
			}
			_, err := d.Pair(d.asOf("c", inv.Code))
			voided, told := d.Voided()
			if told != c.void {
				t.Errorf("it is told that they were withdrawn: %v, want %v", told, c.void)
			}
			if !c.void {
				if err != nil {
					t.Errorf("got %v, want to be let in", err)
				}
				return
			}
			wantErr(t, err, ErrCode)
			if want := "a (13), b (7)"; voided.From != want || !strings.Contains(d.log.String(), want) {
				t.Errorf("got %q and the log %s, want that they came from %s", voided.From, d.log, want)
			}
			d.clock.move(time.Hour)
			if _, told := d.Voided(); told {
				t.Error("an hour later it is still told")
			}
		})
	}
	t.Run("a waiting time is given", func(t *testing.T) {
		d := openDoor(t)
		for range triesPerAddress {
			_, _ = d.Pair(d.asOf("a", "wrong"))
		}
		d.clock.move(20 * time.Second)
		_, err := d.Pair(d.asOf("a", "wrong"))
		if err == nil || !strings.Contains(err.Error(), "try again in 40 s") {
			t.Errorf("got %v, want to try again in 40 s", err)
		}
	})
}

// Ten thousand guesses from two hundred addresses, while invitations are open.
func TestGuessingFindsNothing(t *testing.T) {
	d := openDoor(t)
	invite := func() Invitation {
		t.Helper()
		inv, err := d.Invite("the test", Owner, "phone", logbook.ID{})
		if err != nil {
			t.Fatal(err)
		}
		return inv
	}
	first, second := invite(), invite()
	heard, refused := 0, 0
	for i := range 10000 {
		_, err := d.Pair(d.asOf(fmt.Sprint("198.51.100.", i%200), drawCode()))
		switch {
		case errors.Is(err, ErrCode):
			heard++
		case errors.Is(err, ErrTooMany):
			refused++
		default:
			t.Fatalf("guess %d: got %v", i, err)
		}
	}
	if heard != 200*triesPerAddress || refused != 10000-heard {
		t.Errorf("%d were heard and %d not, want %d within a minute", heard, refused, 200*triesPerAddress)
	}
	for _, inv := range []Invitation{first, second} {
		for _, code := range []string{inv.Code, inv.Secret} {
			_, err := d.Pair(d.asOf("honest", code))
			wantErr(t, err, ErrCode)
		}
	}
	if n := len(d.Devices()); n != 1 {
		t.Errorf("%d devices are listed, want the server's own alone", n)
	}
	p := newPhone(t, d)
	wantErr(t, p.pair(Owner, logbook.ID{}, Claim{}), nil)
	wantErr(t, p.asks(), nil)
}
