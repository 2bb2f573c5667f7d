package handset

import (
	"encoding"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// An answerWriter writes answers as encoding/json does, byte for byte, because the service
// answers by that. It is here because the other one makes the engine of a phone a tenth larger: this one
// knows what answers are made of, and no more.
type answerWriter struct {
	out    []byte
	fields map[reflect.Type][]member
	err    error
}

// A member is a field of a struct, or of one that it embeds.
type member struct {
	name  string // with quotes and colon
	index []int
	plain bool // its type says nothing itself about how it is written
	empty bool // left out where it is empty
	zero  bool // left out where it is zero
}

func (e *Engine) written(answer any) ([]byte, error) {
	if e.fields == nil {
		e.fields = map[reflect.Type][]member{}
	}
	w := answerWriter{fields: e.fields}
	w.value(reflect.ValueOf(answer), false)
	return w.out, w.err
}

// plain reports whether a type says nothing itself about how it is written.
func plain(t reflect.Type) bool { return t.Kind() != reflect.Interface && t.NumMethod() == 0 }

func (w *answerWriter) value(v reflect.Value, plain bool) {
	if !v.IsValid() || (v.Kind() == reflect.Pointer || v.Kind() == reflect.Interface) && v.IsNil() {
		w.out = append(w.out, "null"...)
		return
	}
	if !plain && v.Kind() != reflect.Interface && v.NumMethod() > 0 && w.spelled(v.Interface()) {
		return
	}
	switch v.Kind() {
	case reflect.Pointer, reflect.Interface:
		w.value(v.Elem(), false)
	case reflect.Struct:
		w.object(v)
	case reflect.Map:
		w.table(v)
	case reflect.Slice, reflect.Array:
		w.list(v)
	case reflect.String:
		w.text(v.String())
	case reflect.Bool:
		w.out = strconv.AppendBool(w.out, v.Bool())
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		w.out = strconv.AppendInt(w.out, v.Int(), 10)
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		w.out = strconv.AppendUint(w.out, v.Uint(), 10)
	case reflect.Float64:
		w.number(v.Float())
	default:
		w.err = fmt.Errorf("%s cannot be part of an answer", v.Type())
	}
}

// spelled writes what says itself how it is written.
func (w *answerWriter) spelled(v any) bool {
	switch v := v.(type) {
	case json.Marshaler:
		text, err := v.MarshalJSON()
		if err != nil {
			w.err = err
		}
		w.raw(text)
	case encoding.TextMarshaler:
		text, err := v.MarshalText()
		if err != nil {
			w.err = err
		}
		w.text(string(text))
	default:
		return false
	}
	return true
}

func (w *answerWriter) object(v reflect.Value) {
	members, known := w.fields[v.Type()]
	if !known {
		members = membersOf(v.Type(), nil)
		w.fields[v.Type()] = members
	}
	w.out = append(w.out, '{')
	first := len(w.out)
	for i := range members {
		m := &members[i]
		field, there := fieldAt(v, m.index)
		if !there || m.empty && isEmpty(field) || m.zero && isZero(field, m.plain) {
			continue
		}
		if len(w.out) > first {
			w.out = append(w.out, ',')
		}
		w.out = append(w.out, m.name...)
		w.value(field, m.plain)
	}
	w.out = append(w.out, '}')
}

// fieldAt is a field of a struct or of one that it embeds, unless that is nil.
func fieldAt(v reflect.Value, path []int) (field reflect.Value, there bool) {
	for i, at := range path {
		if i > 0 && v.Kind() == reflect.Pointer {
			if v.IsNil() {
				return v, false
			}
			v = v.Elem()
		}
		v = v.Field(at)
	}
	return v, true
}

func membersOf(t reflect.Type, path []int) (members []member) {
	for i := range t.NumField() {
		field, at := t.Field(i), append(slices.Clone(path), i)
		name, options, _ := strings.Cut(field.Tag.Get("json"), ",")
		switch {
		case name == "-":
		case field.Anonymous && name == "":
			under := field.Type
			if under.Kind() == reflect.Pointer {
				under = under.Elem()
			}
			members = append(members, membersOf(under, at)...)
		case field.IsExported():
			if name == "" {
				name = field.Name
			}
			members = append(members, member{strconv.Quote(name) + ":", at, plain(field.Type),
				strings.Contains(options, "omitempty"), strings.Contains(options, "omitzero")})
		}
	}
	return members
}

func isZero(v reflect.Value, plain bool) bool {
	if !plain && v.Kind() != reflect.Pointer {
		if own, ok := v.Interface().(interface{ IsZero() bool }); ok {
			return own.IsZero()
		}
	}
	return v.IsZero()
}

func isEmpty(v reflect.Value) bool {
	switch v.Kind() {
	case reflect.Array, reflect.Map, reflect.Slice, reflect.String:
		return v.Len() == 0
	case reflect.Struct:
		return false
	}
	return v.IsZero()
}

func (w *answerWriter) table(v reflect.Value) {
	if v.IsNil() {
		w.out = append(w.out, "null"...)
		return
	}
	names := make([]string, 0, v.Len())
	at := map[string]reflect.Value{}
	for _, key := range v.MapKeys() {
		names, at[key.String()] = append(names, key.String()), key
	}
	slices.Sort(names)
	w.out = append(w.out, '{')
	for i, name := range names {
		if i > 0 {
			w.out = append(w.out, ',')
		}
		w.text(name)
		w.out = append(w.out, ':')
		w.value(v.MapIndex(at[name]), false)
	}
	w.out = append(w.out, '}')
}

func (w *answerWriter) list(v reflect.Value) {
	if v.Kind() == reflect.Slice && v.IsNil() {
		w.out = append(w.out, "null"...)
		return
	}
	w.out = append(w.out, '[')
	plain := plain(v.Type().Elem())
	for i := range v.Len() {
		if i > 0 {
			w.out = append(w.out, ',')
		}
		w.value(v.Index(i), plain)
	}
	w.out = append(w.out, ']')
}

// number writes a number as JavaScript does.
func (w *answerWriter) number(f float64) {
	if math.IsInf(f, 0) || math.IsNaN(f) {
		w.err = fmt.Errorf("%v is no number of JSON", f)
		return
	}
	if size := math.Abs(f); size == 0 || size >= 1e-6 && size < 1e21 {
		w.out = strconv.AppendFloat(w.out, f, 'f', -1, 64)
		return
	}
	w.out = strconv.AppendFloat(w.out, f, 'e', -1, 64)
	if n := len(w.out); string(w.out[n-4:n-1]) == "e-0" {
		w.out = append(w.out[:n-2], w.out[n-1])
	}
}

const hexDigits = "0123456789abcdef"

var special = [0x80]bool{'"': true, '\\': true, '<': true, '>': true, '&': true}

func (w *answerWriter) text(text string) {
	w.out = append(w.out, '"')
	n := 0
	for n < len(text) && text[n] >= ' ' && text[n] < 0x7f && !special[text[n]] {
		n++
	}
	w.out = append(w.out, text[:n]...)
	text = text[n:]
	for i, c := range text {
		switch {
		case c == '"' || c == '\\':
			w.out = append(w.out, '\\', byte(c))
		case c == '\n':
			w.out = append(w.out, `\n`...)
		case c == '\r':
			w.out = append(w.out, `\r`...)
		case c == '\t':
			w.out = append(w.out, `\t`...)
		case c == '\b':
			w.out = append(w.out, `\b`...)
		case c == '\f':
			w.out = append(w.out, `\f`...)
		case c < ' ' || unsafeInPages(c):
			w.out = escaped(w.out, c)
		case c == utf8.RuneError && !strings.HasPrefix(text[i:], "\uFFFD"):
			w.out = escaped(w.out, c)
		default:
			w.out = utf8.AppendRune(w.out, c)
		}
	}
	w.out = append(w.out, '"')
}

// raw writes what is JSON already, in one line.
func (w *answerWriter) raw(text []byte) {
	from := 0
	for i, c := range text {
		switch {
		case c == '<' || c == '>' || c == '&':
			w.out = escaped(append(w.out, text[from:i]...), rune(c))
			from = i + 1
		case c == 0xe2 && i+2 < len(text) && text[i+1] == 0x80 && text[i+2]&^1 == 0xa8:
			w.out = escaped(append(w.out, text[from:i]...), '\u2028'|rune(text[i+2]&1))
			from = i + 3
		}
	}
	w.out = append(w.out, text[from:]...)
}

// unsafeInPages tells the characters that encoding/json escapes in case the text is put into a page.
func unsafeInPages(c rune) bool {
	return c == '<' || c == '>' || c == '&' || c == '\u2028' || c == '\u2029'
}

func escaped(out []byte, c rune) []byte {
	return append(out, '\\', 'u', hexDigits[c>>12&15], hexDigits[c>>8&15], hexDigits[c>>4&15], hexDigits[c&15])
}
