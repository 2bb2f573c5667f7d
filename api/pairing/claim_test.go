package pairing

import (
	"log/slog"
	"path/filepath"
	"testing"

	"evenwhite/logbook"
)

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
