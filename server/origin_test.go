package main

import (
	"strings"
	"testing"
	"time"

	"evenwhite/api/pairing"
)

func TestWhatADeviceHoldsIsToldAsItSaidItLast(t *testing.T) {
	none, three := 0, 3
	at := time.Date(2031, time.March, 4, 12, 0, 0, 0, time.Local)
	for _, c := range []struct {
		seen pairing.Sighting
		want string
	}{
		{pairing.Sighting{}, "never said"},
		{pairing.Sighting{At: at}, "never said"},
		{pairing.Sighting{At: at, Unsent: &none}, "sent everything, when it was seen last, on 2031-03-04 12:00"},
		{pairing.Sighting{At: at, Unsent: &three}, "EDITS NOT SENT: 3, when it was seen last, on 2031-03-04 12:00"},
	} {
		if got := unsentOf(c.seen); !strings.Contains(got, c.want) {
			t.Errorf("%+v: got %q, want %q", c.seen, got, c.want)
		}
	}
}
