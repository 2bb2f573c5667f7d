package zone

import (
	"errors"
	"testing"
	"time"
)

func TestLocalTimeIsThatOfThePlace(t *testing.T) {
	at := func(text string) time.Time {
		v, err := time.Parse(time.RFC3339, text)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, c := range []struct{ zone, utc, want string }{
		{"Europe/Berlin", "2026-03-29T00:59:59Z", "2026-03-29T01:59:59+01:00"},
		{"Europe/Berlin", "2026-03-29T01:00:00Z", "2026-03-29T03:00:00+02:00"},
		{"Asia/Kathmandu", "2026-03-29T00:00:00Z", "2026-03-29T05:45:00+05:45"},
		{"America/St_Johns", "2026-11-01T04:30:00Z", "2026-11-01T01:00:00-03:30"},
		{"Etc/GMT-1", "2026-01-01T00:00:00Z", "2026-01-01T01:00:00+01:00"},
	} {
		zone, err := Of(c.zone)
		if err != nil {
			t.Fatal(err)
		}
		if got := at(c.utc).In(zone).Format(time.RFC3339); got != c.want {
			t.Errorf("%s in %s: got %s, want %s", c.utc, c.zone, got, c.want)
		}
	}
}

func TestAZoneThatIsNotInTheTableIsAnError(t *testing.T) {
	for _, name := range []string{"", "Middle/Earth", "Europe", "Europe/", "../zone.go"} {
		if _, err := Of(name); !errors.Is(err, ErrUnknown) {
			t.Errorf("%q: got %v, want ErrUnknown", name, err)
		}
	}
}
