package logbook

import (
	"errors"
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Scanner reads JSON text (RFC 8259) and brings it into canonical form.
type Scanner struct {
	In string
	At int
}

func (s *Scanner) Space() {
	for s.At < len(s.In) {
		switch s.In[s.At] {
		case ' ', '\t', '\n', '\r':
			s.At++
		default:
			return
		}
	}
}

// Value appends the canonical form of the next value to out.
func (s *Scanner) Value(out []byte, depth int) ([]byte, error) {
	if depth > maxDepth {
		return nil, fmt.Errorf("the JSON text is nested deeper than %d", maxDepth)
	}
	s.Space()
	if s.At == len(s.In) {
		return nil, errValueEnd
	}
	switch c := s.In[s.At]; {
	case c == '{':
		return s.object(out, depth)
	case c == '[':
		return s.list(out, depth)
	case c == '"':
		text, err := s.Text()
		return AppendText(out, text), err
	case c == '-' || '0' <= c && c <= '9':
		return s.number(out)
	}
	for _, word := range [...]string{"null", "true", "false"} {
		if strings.HasPrefix(s.In[s.At:], word) {
			s.At += len(word)
			return append(out, word...), nil
		}
	}
	return nil, fmt.Errorf("unexpected %q in the JSON text", Shorten(s.In[s.At:]))
}

func (s *Scanner) object(out []byte, depth int) ([]byte, error) {
	type member struct{ name, value string }
	var members []member
	err := s.members(func(name string) error {
		value, err := s.Value(nil, depth+1)
		members = append(members, member{name, string(value)})
		return err
	})
	if err != nil {
		return nil, err
	}
	byName := func(a, b member) int { return strings.Compare(a.name, b.name) }
	if !slices.IsSortedFunc(members, byName) {
		sort.Slice(members, func(i, j int) bool { return members[i].name < members[j].name })
	}
	out = append(out, '{')
	for i, m := range members {
		if i > 0 {
			if members[i-1].name == m.name {
				return nil, fmt.Errorf("the name %q stands twice in one object", Shorten(m.name))
			}
			out = append(out, ',')
		}
		out = append(AppendText(out, m.name), ':')
		out = append(out, m.value...)
	}
	return append(out, '}'), nil
}

// members walks an object whose brace is next; each reads the member's value.
func (s *Scanner) members(each func(name string) error) error {
	s.At++
	s.Space()
	if s.At < len(s.In) && s.In[s.At] == '}' {
		s.At++
		return nil
	}
	for {
		s.Space()
		if s.At == len(s.In) {
			return errValueEnd
		}
		if s.In[s.At] != '"' {
			return fmt.Errorf("a member's name is expected before %q", Shorten(s.In[s.At:]))
		}
		name, err := s.Text()
		if err != nil {
			return err
		}
		s.Space()
		if s.At == len(s.In) || s.In[s.At] != ':' {
			return fmt.Errorf("a colon is expected after the name %q", Shorten(name))
		}
		s.At++
		if err := each(name); err != nil {
			return err
		}
		if more, err := s.More('}'); !more || err != nil {
			return err
		}
	}
}

func (s *Scanner) list(out []byte, depth int) ([]byte, error) {
	out = append(out, '[')
	first := true
	err := s.items(func() (err error) {
		if !first {
			out = append(out, ',')
		}
		first = false
		out, err = s.Value(out, depth+1)
		return err
	})
	return append(out, ']'), err
}

// items walks a list whose bracket is next; each reads one item.
func (s *Scanner) items(each func() error) error {
	s.At++
	s.Space()
	if s.At < len(s.In) && s.In[s.At] == ']' {
		s.At++
		return nil
	}
	for {
		if err := each(); err != nil {
			return err
		}
		if more, err := s.More(']'); !more || err != nil {
			return err
		}
	}
}

// More reads the comma or the closing sign after a member or an item.
func (s *Scanner) More(closing byte) (bool, error) {
	s.Space()
	if s.At == len(s.In) {
		return false, errValueEnd
	}
	c := s.In[s.At]
	s.At++
	switch c {
	case ',':
		return true, nil
	case closing:
		return false, nil
	}
	return false, fmt.Errorf("a comma or %q is expected before %q", closing, Shorten(s.In[s.At-1:]))
}

func (s *Scanner) number(out []byte) ([]byte, error) {
	from := s.At
	for s.At < len(s.In) && strings.IndexByte("+-.eE0123456789", s.In[s.At]) >= 0 {
		s.At++
	}
	text := s.In[from:s.At]
	if !isNumber(text) {
		return nil, fmt.Errorf("%q is not a JSON number", Shorten(text))
	}
	return append(out, text...), nil
}

// isNumber reports whether text is one JSON number (RFC 8259, section 6).
func isNumber(text string) bool {
	i := 0
	digits := func() bool {
		from := i
		for i < len(text) && '0' <= text[i] && text[i] <= '9' {
			i++
		}
		return i > from
	}
	if i < len(text) && text[i] == '-' {
		i++
	}
	from := i
	if !digits() || text[from] == '0' && i-from > 1 {
		return false
	}
	if i < len(text) && text[i] == '.' {
		i++
		if !digits() {
			return false
		}
	}
	if i < len(text) && (text[i] == 'e' || text[i] == 'E') {
		i++
		if i < len(text) && (text[i] == '+' || text[i] == '-') {
			i++
		}
		if !digits() {
			return false
		}
	}
	return i == len(text)
}

// Text reads the string whose quote is next.
func (s *Scanner) Text() (string, error) {
	s.At++
	from := s.At
	for s.At < len(s.In) {
		switch c := s.In[s.At]; {
		case c == '"':
			text := s.In[from:s.At]
			s.At++
			if !utf8.ValidString(text) {
				return "", errors.New("the JSON text is not UTF-8")
			}
			return text, nil
		case c == '\\':
			return s.escaped(from)
		case c < ' ':
			return "", errors.New("a control character stands unescaped in a JSON string")
		}
		s.At++
	}
	return "", errValueEnd
}

// escaped reads on from the first backslash of a string that began at from.
func (s *Scanner) escaped(from int) (string, error) {
	end := s.At
	for ; end < len(s.In) && s.In[end] != '"'; end++ {
		if s.In[end] == '\\' {
			end++
		}
	}
	if end >= len(s.In) {
		return "", errValueEnd
	}
	text := s.In[from:end]
	s.At = end + 1
	out := make([]byte, 0, len(text))
	for i := 0; i < len(text); i++ {
		if text[i] != '\\' {
			if text[i] < ' ' {
				return "", errors.New("a control character stands unescaped in a JSON string")
			}
			out = append(out, text[i])
			continue
		}
		r, used, err := unescape(text[i:])
		if err != nil {
			return "", err
		}
		out = utf8.AppendRune(out, r)
		i += used - 1
	}
	if !utf8.Valid(out) {
		return "", errors.New("the JSON text is not UTF-8")
	}
	return string(out), nil
}

// unescape reads one escape sequence and says how many bytes it took.
func unescape(text string) (rune, int, error) {
	const plain, meaning = `"\/bfnrt`, "\"\\/\b\f\n\r\t"
	if i := strings.IndexByte(plain, text[1]); i >= 0 {
		return rune(meaning[i]), 2, nil
	}
	unit := func(t string) (rune, bool) {
		if len(t) < 6 || t[0] != '\\' || t[1] != 'u' {
			return 0, false
		}
		n, err := strconv.ParseUint(t[2:6], 16, 32)
		return rune(n), err == nil
	}
	first, ok := unit(text)
	if !ok {
		return 0, 0, fmt.Errorf("%q is not a JSON escape", Shorten(text))
	}
	if first < 0xD800 || first > 0xDFFF {
		return first, 6, nil
	}
	second, ok := unit(text[6:])
	if first > 0xDBFF || !ok || second < 0xDC00 || second > 0xDFFF {
		return 0, 0, errors.New("a JSON string holds half of a surrogate pair")
	}
	return (first-0xD800)<<10 + (second - 0xDC00) + 0x10000, 12, nil
}

// AppendText appends a JSON string with the fewest escapes.
func AppendText(out []byte, text string) []byte {
	const hexDigits = "0123456789abcdef"
	out = append(out, '"')
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == '"' || c == '\\':
			out = append(out, '\\', c)
		case c >= ' ':
			out = append(out, c)
		case c == '\n':
			out = append(out, '\\', 'n')
		case c == '\r':
			out = append(out, '\\', 'r')
		case c == '\t':
			out = append(out, '\\', 't')
		default:
			out = append(out, '\\', 'u', '0', '0', hexDigits[c>>4], hexDigits[c&15])
		}
	}
	return append(out, '"')
}

// skip passes over one value of canonical text.
func (s *Scanner) skip() error {
	depth := 0
	for s.At < len(s.In) {
		switch c := s.In[s.At]; c {
		case '"':
			for s.At++; s.At < len(s.In) && s.In[s.At] != '"'; s.At++ {
				if s.In[s.At] == '\\' {
					s.At++
				}
			}
		case '{', '[':
			depth++
		case '}', ']', ',':
			if depth == 0 {
				return nil
			}
			if c != ',' {
				depth--
			}
		}
		s.At++
	}
	return nil
}

// Plain reads a value that is in canonical form and needs no copy: a number or a
// string of printable ASCII with no escape.
func (s *Scanner) Plain() (Value, bool) {
	from, at := s.At, s.At
	if at < len(s.In) && s.In[at] == '"' {
		for at++; at < len(s.In); at++ {
			if c := s.In[at]; c == '"' {
				s.At = at + 1
				return Value(s.In[from:s.At]), true
			} else if c < ' ' || c > '~' || c == '\\' {
				break
			}
		}
		return "", false
	}
	for at < len(s.In) && strings.IndexByte("+-.eE0123456789", s.In[at]) >= 0 {
		at++
	}
	if !isNumber(s.In[from:at]) {
		return "", false
	}
	s.At = at
	return Value(s.In[from:at]), true
}

// plainForm passes over a value that is in canonical form and whose names and scalars need no
// copy to see it. Of others it reports false, canonical or not.
func (s *Scanner) plainForm(depth int) bool {
	switch rest := s.In[s.At:]; {
	case depth > maxDepth || rest == "":
		return false
	case rest[0] == '{' || rest[0] == '[':
		return s.plainParts(rest[0]+2, depth)
	}
	for _, word := range [...]string{"null", "true", "false"} {
		if strings.HasPrefix(s.In[s.At:], word) {
			s.At += len(word)
			return true
		}
	}
	_, ok := s.Plain()
	return ok
}

func (s *Scanner) plainParts(closing byte, depth int) bool {
	next := func(c byte) bool {
		found := s.At < len(s.In) && s.In[s.At] == c
		if found {
			s.At++
		}
		return found
	}
	s.At++
	if next(closing) {
		return true
	}
	for before := Value(""); ; {
		if closing == '}' {
			name, ok := s.Plain()
			if !ok || name[0] != '"' || name[1:len(name)-1] <= before || !next(':') {
				return false
			}
			before = name[1 : len(name)-1]
		}
		if !s.plainForm(depth + 1) {
			return false
		}
		if next(closing) {
			return true
		}
		if !next(',') {
			return false
		}
	}
}
