package footage

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode"

	"evenwhite/logbook"
)

// What a listing may have at most.
const (
	MostBytes      = 64 << 20
	mostLine       = 32 << 10
	mostRecordings = 200_000
)

// The forms of listings.
const (
	Lines    = "lines"    // of ls, find, or a program that sums files
	Table    = "table"    // CSV
	HashList = "hashlist" // ASC MHL, version 2
)

// ErrTooLong is wrapped where a listing has more than is read.
var ErrTooLong = errors.New("the listing is too long")

// A ListingError says where a listing is not what it should be.
type ListingError struct {
	Line    int // from 1
	Seen    string
	Allowed string
}

func (e *ListingError) Error() string {
	return fmt.Sprintf("line %d: %s; allowed: %s", e.Line, Shown(e.Seen), e.Allowed)
}

// A Form says how a listing is to be read.
type Form struct {
	Of      string // Lines, Table or HashList; "" finds out
	Columns Columns
	// Around is when the footage was shot: dates without a year are those nearest to it.
	Around logbook.Millis
}

// An entry is one file as a listing has it.
type entry struct {
	path  string
	size  int64 // -1: not said
	at    moment
	hash  string
	said  Settings
	line  int
	plain bool // it may be a folder
}

// Read takes the files of a listing in. After an error nothing of what was read counts.
func (c *Collection) Read(r io.Reader, form Form) error {
	counted := &limited{r: r, left: MostBytes}
	in := bufio.NewReaderSize(counted, mostLine)
	head, err := in.Peek(512)
	if err != nil && !errors.Is(err, io.EOF) && !errors.Is(err, bufio.ErrBufferFull) {
		return err
	}
	head = bytes.TrimPrefix(head, []byte("\ufeff"))
	if len(bytes.TrimSpace(head)) == 0 && errors.Is(err, io.EOF) {
		return &ListingError{1, "", "a listing with at least one file"}
	}
	if form.Of == "" {
		form.Of = Lines
		switch {
		case bytes.HasPrefix(bytes.TrimSpace(head), []byte("<")):
			form.Of = HashList
		case form.Columns != Columns{}:
			form.Of = Table
		}
	}
	switch form.Of {
	case Table:
		err = c.readTable(in, form)
	case HashList:
		err = c.readHashList(in)
	default:
		err = c.readLines(in, form)
	}
	if counted.over {
		return fmt.Errorf("%w: it has more than %d MiB; list one day at a time, or without the frames of sequences", ErrTooLong, MostBytes>>20)
	}
	return err
}

// limited ends a listing that is too long.
type limited struct {
	r    io.Reader
	left int
	over bool
}

func (l *limited) Read(p []byte) (int, error) {
	if l.left == 0 {
		one := make([]byte, 1)
		n, err := io.ReadFull(l.r, one)
		if n > 0 {
			l.over = true
			return 0, io.ErrUnexpectedEOF
		}
		return 0, err
	}
	n, err := l.r.Read(p[:min(len(p), l.left)])
	l.left -= n
	return n, err
}

// Shown writes a text from outside so that it can do nothing to a terminal, and in one piece: no
// signs that control or turn the direction of writing, and not without end.
func Shown(text string) string {
	const most = 80
	out := make([]rune, 0, min(len(text), most+8))
	for _, r := range text {
		if len(out) >= most {
			return string(out) + "…"
		}
		if risky(r) {
			out = append(out, []rune(fmt.Sprintf("\\u%04x", r))...)
			continue
		}
		out = append(out, r)
	}
	return string(out)
}

// risky reports whether a sign is none that is seen as itself.
func risky(r rune) bool {
	return r == unicode.ReplacementChar || unicode.IsControl(r) || unicode.In(r, unicode.Cf, unicode.Zl, unicode.Zp)
}
