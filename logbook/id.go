package logbook

import (
	"encoding/hex"
	"fmt"
	"sort"
	"strconv"
	"strings"
)

// ID identifies a production, record or device: a UUID (RFC 9562), version 7
// where a device of ours made it.
type ID [16]byte

// ParseID reads the hyphenated form of a UUID, in either case.
func ParseID(s string) (ID, error) {
	var id ID
	if len(s) != 36 || s[8] != '-' || s[13] != '-' || s[18] != '-' || s[23] != '-' {
		return ID{}, fmt.Errorf("id %q is not a UUID such as 018f6d2a-0000-7000-8000-000000000001", Shorten(s))
	}
	at := 0
	for i := 0; i < 36; {
		if s[i] == '-' {
			i++
			continue
		}
		hi, lo := unhex(s[i]), unhex(s[i+1])
		if hi > 15 || lo > 15 {
			return ID{}, fmt.Errorf("id %q is not a UUID: only 0-9 and a-f are allowed", Shorten(s))
		}
		id[at] = hi<<4 | lo
		at++
		i += 2
	}
	if id.IsZero() {
		return ID{}, fmt.Errorf("id %q is the nil UUID, which names nothing", s)
	}
	return id, nil
}

func unhex(c byte) byte {
	switch {
	case '0' <= c && c <= '9':
		return c - '0'
	case 'a' <= c && c <= 'f':
		return c - 'a' + 10
	case 'A' <= c && c <= 'F':
		return c - 'A' + 10
	}
	return 255
}

func (id ID) String() string {
	var b [36]byte
	hex.Encode(b[0:8], id[0:4])
	hex.Encode(b[9:13], id[4:6])
	hex.Encode(b[14:18], id[6:8])
	hex.Encode(b[19:23], id[8:10])
	hex.Encode(b[24:36], id[10:16])
	b[8], b[13], b[18], b[23] = '-', '-', '-', '-'
	return string(b[:])
}

// IsZero reports whether the id names nothing.
func (id ID) IsZero() bool { return id == ID{} }

// Less orders ids by their bytes.
func (id ID) Less(other ID) bool { return string(id[:]) < string(other[:]) }

// MarshalText writes the hyphenated form.
func (id ID) MarshalText() ([]byte, error) { return []byte(id.String()), nil }

// UnmarshalText reads the hyphenated form; the nil UUID is refused.
func (id *ID) UnmarshalText(text []byte) (err error) {
	*id, err = ParseID(string(text))
	return err
}

// Line names the run of a program in which a device wrote edits: drawn at the
// first edit after each start and never written under again, so that a copied or
// set-back device cannot give one dot to two edits.
type Line [8]byte

func (l Line) String() string { return hex.EncodeToString(l[:]) }

// ParseLine reads 16 hexadecimal digits.
func ParseLine(s string) (Line, error) {
	var l Line
	if len(s) != 16 {
		return l, fmt.Errorf("line %q is not 16 hexadecimal digits", Shorten(s))
	}
	if _, err := hex.Decode(l[:], []byte(s)); err != nil {
		return Line{}, fmt.Errorf("line %q is not 16 hexadecimal digits", Shorten(s))
	}
	return l, nil
}

// Dot is the identity of an edit: the Nth of its line, counted from 1.
type Dot struct {
	Line Line
	N    uint64
}

// IsZero reports whether the dot names nothing.
func (d Dot) IsZero() bool { return d.N == 0 }

func (d Dot) String() string { return d.Line.String() + "." + strconv.FormatUint(d.N, 10) }

// ParseDot reads the form line.n.
func ParseDot(s string) (Dot, error) {
	line, n, found := strings.Cut(s, ".")
	if !found {
		return Dot{}, fmt.Errorf("dot %q is not of the form line.n, such as 00c0ffee00c0ffee.1", Shorten(s))
	}
	l, err := ParseLine(line)
	if err != nil {
		return Dot{}, fmt.Errorf("dot %q: %w", Shorten(s), err)
	}
	number, err := strconv.ParseUint(n, 10, 64)
	if err != nil || number == 0 || strconv.FormatUint(number, 10) != n {
		return Dot{}, fmt.Errorf("dot %q: n is a whole number from 1", Shorten(s))
	}
	return Dot{l, number}, nil
}

// Less orders dots by line, then by n.
func (d Dot) Less(other Dot) bool {
	if d.Line != other.Line {
		return string(d.Line[:]) < string(other.Line[:])
	}
	return d.N < other.N
}

// Shorten keeps foreign text in messages short.
func Shorten(s string) string {
	const most = 64
	if len(s) <= most {
		return s
	}
	return strings.ToValidUTF8(s[:most], "") + "…"
}

type IDSet map[ID]bool

func (s IDSet) Add(id ID) {
	if !id.IsZero() {
		s[id] = true
	}
}

func (s IDSet) Sorted() []ID {
	out := make([]ID, 0, len(s))
	for id := range s {
		out = append(out, id)
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Less(out[j]) })
	return out
}
