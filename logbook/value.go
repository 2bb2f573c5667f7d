package logbook

import (
	"errors"
	"fmt"
	"sort"
	"strconv"
	"strings"
)

// Value is a JSON value in canonical text: no space outside strings, members of
// an object sorted by name, strings with the fewest escapes, numbers exactly as
// they were typed. The zero Value is no value at all; Null clears a field.
type Value string

// Null is the value that clears a field.
const Null Value = "null"

// maxDepth bounds the nesting of a value from outside.
const maxDepth = 32

var (
	errValueEnd = errors.New("the JSON text ends too early")
	errStop     = errors.New("enough was read")
)

// ParseValue brings JSON text into canonical form. It refuses text that is not
// UTF-8, names that stand twice in one object, nesting deeper than 32 and
// anything after the value.
func ParseValue(text string) (Value, error) { return parseValueAt(text, 0) }

// parseValueAt is ParseValue of a text that stands within so many others.
func parseValueAt(text string, depth int) (Value, error) {
	if v, ok := plainScalar(text); ok {
		return v, nil
	}
	s := Scanner{In: text}
	out, err := s.Value(nil, depth)
	if err != nil {
		return "", err
	}
	s.Space()
	if s.At != len(s.In) {
		return "", fmt.Errorf("unexpected %q after the JSON value", Shorten(s.In[s.At:]))
	}
	return Value(out), nil
}

// plainScalar recognises the commonest canonical values without copying them: a
// number in plain digits, a string of printable ASCII with no escape, a word.
func plainScalar(text string) (Value, bool) {
	if text == "null" || text == "true" || text == "false" {
		return Value(text), true
	}
	if len(text) < 2 || text[0] != '"' || text[len(text)-1] != '"' {
		return Value(text), isNumber(text)
	}
	for i := 1; i < len(text)-1; i++ {
		if c := text[i]; c < ' ' || c > '~' || c == '"' || c == '\\' {
			return "", false
		}
	}
	return Value(text), true
}

// TextValue makes the value of a text.
func TextValue(text string) Value { return Value(AppendText(nil, strings.ToValidUTF8(text, "�"))) }

// IDValue makes the value of a reference.
func IDValue(id ID) Value { return Value(`"` + id.String() + `"`) }

// Text returns the text of a string value.
func (v Value) Text() (string, bool) {
	if len(v) < 2 || v[0] != '"' {
		return "", false
	}
	if inner := string(v[1 : len(v)-1]); strings.IndexByte(inner, '\\') < 0 {
		return inner, true
	}
	s := Scanner{In: string(v)}
	text, err := s.Text()
	return text, err == nil
}

// Number returns a number as it was typed.
func (v Value) Number() (string, bool) {
	if v == "" || v[0] != '-' && (v[0] < '0' || v[0] > '9') {
		return "", false
	}
	return string(v), true
}

// Float returns a number for computing; what is stored stays as typed.
func (v Value) Float() (float64, bool) {
	text, ok := v.Number()
	if !ok {
		return 0, false
	}
	f, err := strconv.ParseFloat(text, 64)
	return f, err == nil
}

// ID returns the id of a reference.
func (v Value) ID() (ID, bool) {
	text, ok := v.Text()
	if !ok {
		return ID{}, false
	}
	id, err := ParseID(text)
	return id, err == nil
}

// Member returns one member of an object, or no value.
func (v Value) Member(name string) Value {
	for n, value := range v.Members() {
		if n == name {
			return value
		}
	}
	return ""
}

// Members walks the members of an object in the order of their names; it walks
// nothing where the value is no object.
func (v Value) Members() func(yield func(string, Value) bool) {
	return func(yield func(string, Value) bool) {
		if v == "" || v[0] != '{' {
			return
		}
		s := Scanner{In: string(v)}
		_ = s.members(func(name string) error {
			from := s.At
			if err := s.skip(); err != nil {
				return err
			}
			if !yield(name, v[from:s.At]) {
				return errStop
			}
			return nil
		})
	}
}

// Items walks the items of a list; it walks nothing where the value is no list.
func (v Value) Items() func(yield func(Value) bool) {
	return func(yield func(Value) bool) {
		if v == "" || v[0] != '[' {
			return
		}
		s := Scanner{In: string(v)}
		_ = s.items(func() error {
			from := s.At
			if err := s.skip(); err != nil {
				return err
			}
			if !yield(v[from:s.At]) {
				return errStop
			}
			return nil
		})
	}
}

// Equal reports whether two values are the same text or the same decimal,
// member by member and item by item.
func (v Value) Equal(other Value) bool {
	if v == other {
		return true
	}
	if v == "" || other == "" {
		return false
	}
	if v[0] == '{' && other[0] == '{' || v[0] == '[' && other[0] == '[' {
		return v.equalParts(other)
	}
	a, aNumber := v.Number()
	b, bNumber := other.Number()
	return aNumber && bNumber && equalDecimals(a, b)
}

func (v Value) equalParts(other Value) bool {
	type part struct {
		name  string
		value Value
	}
	parts := func(v Value) (all []part) {
		for name, value := range v.Members() {
			all = append(all, part{name, value})
		}
		for value := range v.Items() {
			all = append(all, part{"", value})
		}
		return all
	}
	a, b := parts(v), parts(other)
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i].name != b[i].name || !a[i].value.Equal(b[i].value) {
			return false
		}
	}
	return true
}

func FloatOf(v Value) float64 {
	f, _ := v.Float()
	return f
}

// ObjectValue makes an object; no name may stand twice.
func ObjectValue(members []Member) Value {
	sort.Slice(members, func(i, j int) bool { return members[i].Name < members[j].Name })
	out := []byte{'{'}
	for i, m := range members {
		if i > 0 {
			out = append(out, ',')
		}
		out = append(AppendText(out, m.Name), ':')
		out = append(out, m.Value...)
	}
	return Value(append(out, '}'))
}

func ListValue(items []Value) Value {
	out := []byte{'['}
	for i, item := range items {
		if i > 0 {
			out = append(out, ',')
		}
		out = append(out, item...)
	}
	return Value(append(out, ']'))
}

func TimeValue(m Millis) Value { return TextValue(m.Time().Format(timeForm)) }
