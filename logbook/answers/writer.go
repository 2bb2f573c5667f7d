package answers

import (
	"encoding/json"
	"fmt"
	"math"
	"sort"
	"strconv"
	"time"

	"evenwhite/logbook"
)

// A Table says what values are made of, as generate.go writes it. A value is named by where it lies: one that
// is nil, or that a table does not know, has no members, no elements and no keys.
type Table struct {
	Members func(at any) (names string, m Members)
	Element func(at any, i int) (one any, list bool)
	Keys    func(at any) (keys []string, of func(key string) any)
}

// Members are where the members of a struct lie. Their names stand in a row with spaces between them; one with ?
// behind it is left out where its member is empty.
type Members [32]any

// A writer writes values of this room's table, and of another room's.
type writer struct {
	text  []byte
	err   error
	other Table
}

// Write writes the answer that lies somewhere, of a type that this room or a table of another knows.
func Write(at any, other Table) ([]byte, error) {
	w := writer{other: other}
	if !w.made(at) {
		return nil, fmt.Errorf("%T is no answer: logbook/answers/generate.go lists them", at)
	}
	return w.text, w.err
}

// JSON writes the answer that lies somewhere, and any other value by encoding/json.
func JSON(at any) ([]byte, error) {
	var w writer
	if w.made(at) {
		return w.text, w.err
	}
	return json.Marshal(at)
}

// made writes what is made of other values, unless it is nil.
func (w *writer) made(at any) bool {
	names, m := members(at)
	if names == "" && w.other.Members != nil {
		names, m = w.other.Members(at)
	}
	if names != "" {
		w.text = append(w.text, '{')
		w.members(names, m[:])
		w.text = append(w.text, '}')
		return true
	}
	if w.list(at, element) || w.other.Element != nil && w.list(at, w.other.Element) {
		return true
	}
	return w.other.Keys != nil && w.keyed(w.other.Keys(at))
}

func (w *writer) list(at any, element func(any, int) (any, bool)) bool {
	one, list := element(at, 0)
	if !list {
		return false
	}
	w.text = append(w.text, '[')
	for i := 1; one != nil; i++ {
		if i > 1 {
			w.text = append(w.text, ',')
		}
		w.value(one)
		one, _ = element(at, i)
	}
	w.text = append(w.text, ']')
	return true
}

func (w *writer) keyed(keys []string, of func(string) any) bool {
	if of == nil {
		return false
	}
	sort.Strings(keys)
	w.text = append(w.text, '{')
	for i, key := range keys {
		if i > 0 {
			w.text = append(w.text, ',')
		}
		w.text = append(appendText(w.text, key), ':')
		w.value(of(key))
	}
	w.text = append(w.text, '}')
	return true
}

func (w *writer) members(names string, members []any) {
	for i := 0; names != ""; i++ {
		end := 0
		for end < len(names) && names[end] != ' ' {
			end++
		}
		name, before := names[:end], len(w.text)
		if names = names[end:]; names != "" {
			names = names[1:]
		}
		some := name[end-1] == '?'
		if some {
			name = name[:end-1]
		}
		out := w.text
		if out[before-1] != '{' {
			out = append(out, ',')
		}
		w.text = append(append(append(out, '"'), name...), '"', ':')
		from := len(w.text)
		if w.value(members[i]); some && empty(members[i], w.text[from:]) {
			w.text = w.text[:before]
		}
	}
}

// empty reports whether a member that was written is what encoding/json calls empty.
func empty(at any, text []byte) bool {
	switch v := at.(type) {
	case *string:
		return *v == ""
	case *float64:
		return *v == 0
	case *int:
		return *v == 0
	case *bool:
		return !*v
	case *logbook.ID:
		return v.IsZero()
	case *time.Time:
		return v.IsZero()
	case *json.RawMessage:
		return len(*v) == 0
	}
	return string(text) == "null" || string(text) == "[]"
}

// value writes what lies somewhere.
func (w *writer) value(at any) {
	switch v := at.(type) {
	case *string:
		w.text = appendText(w.text, *v)
		return
	case *float64:
		w.number(*v)
		return
	case **float64:
		if *v != nil {
			w.number(**v)
			return
		}
	case *logbook.ID:
		w.text = append(append(append(w.text, '"'), v.String()...), '"')
		return
	case *int:
		w.text = strconv.AppendInt(w.text, int64(*v), 10)
		return
	case *bool:
		w.text = strconv.AppendBool(w.text, *v)
		return
	case **bool:
		if *v != nil {
			w.text = strconv.AppendBool(w.text, **v)
			return
		}
	case *time.Time:
		w.time(*v)
		return
	case **time.Time:
		if *v != nil {
			w.time(**v)
			return
		}
	case *json.RawMessage:
		w.json(*v)
		return
	case **logbook.Edit:
		w.edit(*v)
		return
	default:
		if w.made(at) {
			return
		}
	}
	w.null()
}

func (w *writer) null() { w.text = append(w.text, "null"...) }

// number writes a number as JavaScript does.
func (w *writer) number(v float64) {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		w.err = fmt.Errorf("%v is no number of JSON", v)
		return
	}
	if size := math.Abs(v); size == 0 || size >= 1e-6 && size < 1e21 {
		w.text = strconv.AppendFloat(w.text, v, 'f', -1, 64)
		return
	}
	out := strconv.AppendFloat(w.text, v, 'e', -1, 64)
	if n := len(out); string(out[n-4:n-1]) == "e-0" {
		out = append(out[:n-2], out[n-1])
	}
	w.text = out
}

func (w *writer) time(v time.Time) {
	out, err := v.AppendText(append(w.text, '"'))
	if err != nil {
		w.err = err
		return
	}
	w.text = append(out, '"')
}

// json writes what is JSON already, in one line.
func (w *writer) json(v json.RawMessage) {
	if len(v) == 0 {
		w.null()
		return
	}
	w.text = appendJSON(w.text, v)
}

// edit writes an edit in its readable form.
func (w *writer) edit(v *logbook.Edit) {
	if v == nil {
		w.null()
		return
	}
	text, err := v.MarshalJSON()
	if err != nil {
		w.err = err
		return
	}
	w.json(text)
}
