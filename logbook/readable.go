package logbook

import (
	"strconv"
	"strings"
	"time"
)

// timeForm is how an edit's time is written for people: UTC, milliseconds.
const timeForm = "2006-01-02T15:04:05.000Z"

// knownMembers are the members of the readable form that have a place in byte form 1.
// The table never grows: a member that a later version learns stays in Extra, else
// what stands there in stored edits could be read no more.
var knownMembers = map[string]bool{
	"production": true, "kind": true, "record": true, "device": true, "line": true, "n": true,
	"at": true, "offsetMs": true, "by": true, "act": true, "set": true, "over": true,
}

// MarshalJSON writes the readable form of an edit, the one in the contract.
func (e *Edit) MarshalJSON() ([]byte, error) {
	b := make([]byte, 0, 512)
	member := func(name string, value []byte) {
		sep := byte(',')
		if len(b) == 0 {
			sep = '{'
		}
		b = append(AppendText(append(b, sep), name), ':')
		b = append(b, value...)
	}
	quoted := func(s string) []byte { return AppendText(nil, s) }
	member("production", quoted(e.Production.String()))
	member("kind", quoted(string(e.Kind)))
	member("record", quoted(e.Record.String()))
	member("device", quoted(e.Device.String()))
	member("line", quoted(e.Dot.Line.String()))
	member("n", strconv.AppendUint(nil, e.Dot.N, 10))
	member("at", quoted(e.At.Time().Format(timeForm)))
	member("offsetMs", strconv.AppendInt(nil, int64(e.Offset), 10))
	member("by", quoted(e.By))
	if !e.Act.IsZero() {
		member("act", quoted(e.Act.String()))
	}
	set, over := []byte{'{'}, []byte{'{'}
	for i := range e.Set {
		c := &e.Set[i]
		if i > 0 {
			set = append(set, ',')
		}
		set = append(append(AppendText(set, c.Field), ':'), c.Value...)
		if len(c.Over) == 0 {
			continue
		}
		if len(over) > 1 {
			over = append(over, ',')
		}
		over = append(AppendText(over, c.Field), ':', '[')
		for j, d := range c.Over {
			if j > 0 {
				over = append(over, ',')
			}
			over = AppendText(over, d.String())
		}
		over = append(over, ']')
	}
	member("set", append(set, '}'))
	member("over", append(over, '}'))
	for _, m := range e.Extra {
		member(m.Name, []byte(m.Value))
	}
	return append(b, '}'), nil
}

// UnmarshalJSON reads the readable form. Members that this version does not know
// are kept in Extra.
func (e *Edit) UnmarshalJSON(text []byte) error {
	whole, err := ParseValue(string(text))
	if err != nil {
		return formError("%v", err)
	}
	if whole[0] != '{' {
		return formError("an edit is a JSON object, not %s", Shorten(string(whole)))
	}
	*e = Edit{}
	var over Value
	seen := map[string]bool{}
	for name, value := range whole.Members() {
		seen[name] = true
		if name == "over" {
			over = value
			continue
		}
		if err := e.readMember(name, value); err != nil {
			return err
		}
	}
	for _, name := range []string{"production", "kind", "record", "device", "line", "n", "at", "set"} {
		if !seen[name] {
			return formError("%s is missing", name)
		}
	}
	if err := e.readOver(over); err != nil {
		return err
	}
	return e.arrange()
}

func (e *Edit) readMember(name string, value Value) (err error) {
	text, isText := value.Text()
	wrong := func(allowed string) error {
		return formError("%s is %s; allowed is %s", name, Shorten(string(value)), allowed)
	}
	switch name {
	case "production", "record", "device":
		id, ok := value.ID()
		if !ok {
			return wrong("a UUID")
		}
		switch name {
		case "production":
			e.Production = id
		case "record":
			e.Record = id
		default:
			e.Device = id
		}
	case "kind", "by":
		if !isText {
			return wrong("a text")
		}
		if name == "kind" {
			e.Kind = Kind(text)
		} else {
			e.By = text
		}
	case "line":
		if e.Dot.Line, err = ParseLine(text); err != nil {
			return wrong("16 hexadecimal digits")
		}
	case "n":
		if e.Dot.N, err = strconv.ParseUint(string(value), 10, 63); err != nil {
			return wrong("a whole number from 1")
		}
	case "at":
		t, err := time.Parse(time.RFC3339, text)
		if err != nil || !strings.HasSuffix(text, "Z") || t.Nanosecond()%1e6 != 0 {
			return wrong("an RFC 3339 time in UTC with at most three decimals, such as 2026-03-04T05:06:07.089Z")
		}
		e.At = MillisOf(t)
	case "offsetMs":
		n, err := strconv.ParseInt(string(value), 10, 62)
		if err != nil {
			return wrong("a whole number of milliseconds")
		}
		e.Offset = Millis(n)
	case "act":
		if e.Act, err = ParseDot(text); err != nil {
			return wrong("a dot of the form line.n")
		}
	case "set":
		if value[0] != '{' {
			return wrong("an object of fields and values")
		}
		for field, v := range value.Members() {
			e.Set = append(e.Set, Change{Field: field, Value: v})
		}
	default:
		e.Extra = append(e.Extra, Member{name, value})
	}
	return nil
}

func (e *Edit) readOver(over Value) error {
	if over != "" && over[0] != '{' {
		return formError("over is %s; allowed is an object of fields and lists of dots", Shorten(string(over)))
	}
	for field, dots := range over.Members() {
		c, ok := e.Change(field)
		if !ok {
			return formError("over names the field %q, which set does not set", Shorten(field))
		}
		if dots[0] != '[' {
			return formError("over of %q is %s; allowed is a list of dots", Shorten(field), Shorten(string(dots)))
		}
		for item := range dots.Items() {
			text, _ := item.Text()
			d, err := ParseDot(text)
			if err != nil {
				return formError("over of %q: %v", Shorten(field), err)
			}
			c.Over = append(c.Over, d)
		}
	}
	return nil
}
