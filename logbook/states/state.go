package states

import (
	"encoding/hex"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"evenwhite/logbook"
)

// A State names a set of edits.
type State struct {
	Held   logbook.Ranges
	Digest logbook.Hash
}

// ErrName is wrapped by errors about a text that names no state.
var ErrName = errors.New("it names no state of a log")

// String is the digest, then of each line its id and its spans, of which one that begins with edit 1
// is told by its end: 00112233445566778899aabbccddeeff.00c0ffee00c0ffee_120_124-130.
func (s State) String() string {
	var out strings.Builder
	out.WriteString(s.Key())
	for _, line := range s.Held.Lines() {
		out.WriteString("." + line.String())
		for _, span := range s.Held[line] {
			out.WriteByte('_')
			if span.From != 1 {
				out.WriteString(strconv.FormatUint(span.From, 10) + "-")
			}
			out.WriteString(strconv.FormatUint(span.To, 10))
		}
	}
	return out.String()
}

// Key is the digest, in 32 hexadecimal digits.
func (s State) Key() string { return hex.EncodeToString(s.Digest[:]) }

// Parse reads what String writes, and nothing else.
func Parse(text string) (s State, err error) {
	wrong := func() (State, error) {
		return State{}, fmt.Errorf("%w: %q; allowed is what an export names as its state, such as "+
			"00112233445566778899aabbccddeeff.00c0ffee00c0ffee_120", ErrName, logbook.Shorten(text))
	}
	parts := strings.Split(text, ".")
	digest, err := hex.DecodeString(parts[0])
	if err != nil || len(digest) != len(s.Digest) {
		return wrong()
	}
	s.Held = logbook.Ranges{}
	copy(s.Digest[:], digest)
	for _, part := range parts[1:] {
		spans := strings.Split(part, "_")
		line, err := logbook.ParseLine(spans[0])
		if err != nil {
			return wrong()
		}
		last := uint64(0)
		for _, text := range spans[1:] {
			span, ok := parseSpan(text)
			if !ok || span.From <= last || span.To < span.From || last > 0 && span.From == last+1 {
				return wrong()
			}
			s.Held[line] = append(s.Held[line], span)
			last = span.To
		}
	}
	if s.String() != text { // lines in another order, zeros before a number
		return wrong()
	}
	return s, nil
}

func parseSpan(text string) (s logbook.Span, ok bool) {
	from, to, two := strings.Cut(text, "-")
	if !two {
		from, to = "1", from
	}
	var errs [2]error
	s.From, errs[0] = strconv.ParseUint(from, 10, 53)
	s.To, errs[1] = strconv.ParseUint(to, 10, 53)
	return s, errs[0] == nil && errs[1] == nil
}

// Edits counts the edits.
func (s State) Edits() (n uint64) {
	for _, spans := range s.Held {
		for _, span := range spans {
			n += span.To - span.From + 1
		}
	}
	return n
}

// ErrNotHeld is wrapped by a NotHeld.
var ErrNotHeld = errors.New("the log does not hold the state")

// NotHeld says that a log does not hold a state.
type NotHeld struct {
	// Missing are the edits that are not here; empty: all are, and some say something else.
	Missing logbook.Ranges
}

// mostMissing is how many lines a message names.
const mostMissing = 5

// Unwrap is ErrNotHeld.
func (e *NotHeld) Unwrap() error { return ErrNotHeld }

func (e *NotHeld) Error() string {
	const begins = "this log does not hold the state: "
	if len(e.Missing) == 0 {
		return begins + "it holds other edits under the same numbers"
	}
	var parts []string
	lines := e.Missing.Lines()
	for _, line := range lines[:min(len(lines), mostMissing)] {
		var spans []string
		for _, s := range e.Missing[line] {
			spans = append(spans, fmt.Sprintf("%d to %d", s.From, s.To))
		}
		parts = append(parts, "of line "+line.String()+" it lacks "+strings.Join(spans, ", "))
	}
	if more := len(lines) - len(parts); more > 0 {
		parts = append(parts, fmt.Sprintf("and of %d more lines", more))
	}
	return begins + strings.Join(parts, "; ")
}
