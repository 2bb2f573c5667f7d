package pairing

import (
	"errors"
	"runtime"
	"sync"
	"testing"

	"evenwhite/logbook"
)

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
