package handset

import (
	"encoding/hex"
	"strconv"

	"evenwhite/logbook"
)

// said are the members of a message. The first that is wrong is told.
type said struct {
	v   logbook.Value
	err *logbook.FieldError
}

func read(text []byte) (*said, error) {
	v, err := logbook.ParseValue(string(text))
	if err != nil || v[0] != '{' {
		return nil, &logbook.FieldError{Field: "message", Value: logbook.TextValue(logbook.Shorten(string(text))), Allowed: "a JSON object"}
	}
	return &said{v: v}, nil
}

func (s *said) wrong(name string, v logbook.Value, allowed string) {
	if s.err == nil {
		s.err = &logbook.FieldError{Field: name, Value: v, Allowed: allowed}
	}
}

func (s *said) has(name string) bool {
	v := s.v.Member(name)
	return v != "" && v != logbook.Null
}

// id is an id that must be there; optional one that may be zero.
func (s *said) id(name string) logbook.ID {
	id, ok := s.v.Member(name).ID()
	if !ok {
		s.wrong(name, s.v.Member(name), "a UUID")
	}
	return id
}

func (s *said) optional(name string) logbook.ID {
	if !s.has(name) {
		return logbook.ID{}
	}
	return s.id(name)
}

func (s *said) text(name string) string {
	text, ok := s.v.Member(name).Text()
	if !ok {
		s.wrong(name, s.v.Member(name), "a text")
	}
	return text
}

func (s *said) textOr(name, absent string) string {
	if !s.has(name) {
		return absent
	}
	return s.text(name)
}

func (s *said) cursor() *string {
	if !s.has("cursor") {
		return nil
	}
	text := s.text("cursor")
	return &text
}

func (s *said) flag(name string) bool {
	v := s.v.Member(name)
	if v != "" && v != logbook.Null && v != "true" && v != "false" {
		s.wrong(name, v, "true or false")
	}
	return v == "true"
}

// whole is a whole number, which may be missing where absent is said.
func (s *said) whole(name string, least, most int64, absent ...int64) int64 {
	if !s.has(name) && len(absent) == 1 {
		return absent[0]
	}
	n, err := strconv.ParseInt(string(s.v.Member(name)), 10, 64)
	if err != nil || n < least || n > most {
		s.wrong(name, s.v.Member(name), "a whole number from "+strconv.FormatInt(least, 10)+" to "+strconv.FormatInt(most, 10))
	}
	return n
}

// now is the page's clock, put right by the server's.
func (s *said) now() logbook.Millis {
	return logbook.Millis(s.whole("now", 0, int64(logbook.YearTenThousand)-1))
}

func (s *said) limit() int { return int(s.whole("limit", 1, 500, 100)) }

func (s *said) kind() logbook.Kind { return logbook.Kind(s.text("kind")) }

func (s *said) dot(name string) logbook.Dot {
	d, err := logbook.ParseDot(s.text(name))
	if err != nil {
		s.wrong(name, s.v.Member(name), "the dot of an edit, such as 00c0ffee00c0ffee.1")
	}
	return d
}

func (s *said) line(name string) logbook.Line {
	l, err := logbook.ParseLine(s.text(name))
	if err != nil {
		s.wrong(name, s.v.Member(name), "a line: 16 hexadecimal digits")
	}
	return l
}

// object is a member that is a JSON object.
func (s *said) object(name string) logbook.Value {
	v := s.v.Member(name)
	if v == "" || v[0] != '{' {
		s.wrong(name, v, "a JSON object")
		return "{}"
	}
	return v
}

// chance is what the page drew by chance: at least 16 bytes, of which all ids of the answer
// are made.
func (s *said) chance() []byte {
	b, err := hex.DecodeString(s.text("chance"))
	if err != nil || len(b) < 16 {
		s.wrong("chance", s.v.Member("chance"), "at least 32 hexadecimal digits, drawn anew for each message")
	}
	return b
}

// fault is what was wrong with the message, or nil.
func (s *said) fault() error {
	if s.err == nil {
		return nil
	}
	return s.err
}
