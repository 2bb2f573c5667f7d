package pairing

import (
	"errors"
	"strings"
	"testing"
	"time"

	"evenwhite/logbook"
)

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
