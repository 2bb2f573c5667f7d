package api

import (
	"encoding/base64"
	"strconv"
	"strings"

	"evenwhite/logbook"
)

// place is where a record stands in a list: by the time it was made, then by id.
type place struct {
	made logbook.Millis
	id   logbook.ID
}

func placeOf(v logbook.View) place { return place{v.CreatedAt(), v.ID} }

func (p place) before(other place) bool {
	if p.made != other.made {
		return p.made < other.made
	}
	return p.id.Less(other.id)
}

func (p place) String() string {
	return base64.RawURLEncoding.EncodeToString([]byte(strconv.FormatInt(int64(p.made), 10) + " " + p.id.String()))
}

func parsePlace(text *string) (place, error) {
	if text == nil {
		return place{made: -1 << 62}, nil
	}
	bad := wrong("cursor", *text, "one that this service gave")
	b, err := base64.RawURLEncoding.DecodeString(*text)
	if err != nil {
		return place{}, bad
	}
	made, id, _ := strings.Cut(string(b), " ")
	n, err := strconv.ParseInt(made, 10, 64)
	if err != nil {
		return place{}, bad
	}
	parsed, err := logbook.ParseID(id)
	if err != nil {
		return place{}, bad
	}
	return place{logbook.Millis(n), parsed}, nil
}
