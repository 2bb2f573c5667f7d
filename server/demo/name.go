package demo

import (
	"crypto/sha256"
	"encoding/binary"
	"regexp"
	"strings"
	"time"

	"evenwhite/logbook"
)

// Production is the id of the invented production, and of its record.
var Production = idOf("production")

var reference = regexp.MustCompile(`#[a-z]+/[a-z0-9-]+`)

// recordID is the id of a named record.
func recordID(name string) logbook.ID {
	if name == "production" {
		return Production
	}
	return idOf("record/" + name)
}

// kindOf is the kind of a named record; names are in small letters.
func kindOf(name string) logbook.Kind {
	kind, _, _ := strings.Cut(name, "/")
	return logbook.Kind(strings.Replace(kind, "setup", "setUp", 1))
}

// lineOf is the line in which a phone writes.
func lineOf(phone string) (line logbook.Line) {
	copy(line[:], hashOf("line "+phone))
	return line
}

// idOf makes the id of a named thing: a version 7 UUID (RFC 9562) whose time is
// the morning of the first day, as it is written, and whose random part is a hash of the name.
func idOf(name string) (id logbook.ID) {
	morning := time.Date(2026, 3, 4, 5, 0, 0, 0, time.UTC).UnixMilli()
	binary.BigEndian.PutUint64(id[:], uint64(morning)<<16)
	copy(id[6:], hashOf(name))
	id[6] = id[6]&0x0f | 0x70
	id[8] = id[8]&0x3f | 0x80
	return id
}

func hashOf(name string) []byte {
	sum := sha256.Sum256([]byte("evenwhite demo " + name))
	return sum[:]
}
