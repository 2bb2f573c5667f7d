package demo

import (
	"crypto/sha256"
	"regexp"
	"strings"
	"time"

	"evenwhite/logbook"
)

// Production is the id of the invented production.
var Production = idOf("production")

var namedIn = regexp.MustCompile(`#[a-z]+/[a-z0-9-]+`)

// recordID is the id of a named record; the production's record has the id of the
// production.
func recordID(name string) logbook.ID {
	if name == "production" {
		return Production
	}
	return idOf("record/" + name)
}

// kindOf is the kind of a named record; names are in small letters.
func kindOf(name string) logbook.Kind {
	kind, _, _ := strings.Cut(name, "/")
	if kind == "setup" {
		kind = "setUp"
	}
	return logbook.Kind(kind)
}

// idOf makes the id of a named thing: a version 7 UUID (RFC 9562) whose time is
// the morning of the first day and whose random part is a hash of the name.
func idOf(name string) (id logbook.ID) {
	morning := logbook.MillisOf(time.Date(2026, 3, 4, 6, 0, 0, 0, zone))
	for i := range 6 {
		id[i] = byte(morning >> (8 * (5 - i)))
	}
	copy(id[6:], hashOf(name))
	id[6] = id[6]&0x0f | 0x70
	id[8] = id[8]&0x3f | 0x80
	return id
}

func hashOf(name string) []byte {
	sum := sha256.Sum256([]byte("evenwhite demo " + name))
	return sum[:]
}

// zone is the production's time zone.
var zone = time.FixedZone("Etc/GMT-1", 3600)

// localTime reads a date and a local time of day, hh:mm or hh:mm:ss.
func localTime(date, clock string) (logbook.Millis, error) {
	if len(clock) == len("hh:mm") {
		clock += ":00"
	}
	t, err := time.ParseInLocation(time.DateTime, date+" "+clock, zone)
	return logbook.MillisOf(t), err
}

// instant writes a time as phones do, with the offset of the zone.
func instant(at logbook.Millis) string {
	return at.Time().In(zone).Format(time.RFC3339)
}
