package kinds

import (
	"strconv"
	"strings"

	"evenwhite/logbook"
)

// Allowed says in words what may stand in a field: "a number from 1000 to 25000
// K".
func Allowed(f *Field) string {
	switch f.Type {
	case Text:
		return allowedText(f)
	case Choice:
		return "one of " + strings.Join(f.Choices, ", ")
	case Flag:
		return "true or false"
	case Whole:
		return "a whole number" + between(f)
	case Decimal:
		return "a number" + between(f)
	case Date:
		return "a date such as 2026-03-04, from 1900 on"
	case Instant:
		return "an RFC 3339 time such as 2026-03-04T05:06:07Z, from 1970 on"
	case Reference:
		if len(f.To) == 0 {
			return "the id of a record, in lower-case digits"
		}
		to := make([]string, len(f.To))
		for i, kind := range f.To {
			to[i] = string(kind)
		}
		return "the id of a " + strings.Join(to, " or ") + ", in lower-case digits"
	case Group:
		if len(f.Members) == 0 {
			return "an object without members"
		}
		return "an object of " + namesOf(f.Members)
	case Form:
		return "an object whose member \"as\" is one of " + namesOf(f.Forms)
	}
	if f.Required {
		return "a list of 1 to " + strconv.Itoa(f.Longest) + " items"
	}
	return "a list of at most " + strconv.Itoa(f.Longest) + " items"
}

func allowedText(f *Field) string {
	switch f.Pattern {
	case "shortName":
		return "a text of 1 to 16 letters, digits and -"
	case "timeZone":
		return "an IANA time zone such as Europe/Berlin"
	case "timecode":
		return "a timecode hh:mm:ss:ff, or hh:mm:ss;ff for drop frame"
	case "dot":
		return "the dot of an edit: its line, a full stop and its number"
	}
	if f.Required {
		return "a text of 1 to " + strconv.Itoa(f.Longest) + " characters"
	}
	return "a text of at most " + strconv.Itoa(f.Longest) + " characters"
}

func between(f *Field) string {
	s := ""
	switch {
	case f.Min != "" && f.Max != "":
		s = " from " + f.Min + " to " + f.Max
	case f.Min != "":
		s = " from " + f.Min
	case f.Max != "":
		s = " up to " + f.Max
	}
	if f.Unit != "" {
		s += " " + f.Unit
	}
	return s
}

func namesOf(fields []Field) string {
	names := make([]string, len(fields))
	for i := range fields {
		names[i] = fields[i].Name
	}
	return strings.Join(names, ", ")
}

// A Remark says that a value is possible, but outside the usual.
type Remark struct {
	Field string
	Value logbook.Value
	Usual string
}

func (r Remark) String() string {
	return r.Field + " is " + logbook.Shorten(string(r.Value)) + "; usual is " + r.Usual
}

// Remarks lists the valid values of changes that lie outside their usual ranges.
func Remarks(kind logbook.Kind, changes []logbook.Change) []Remark {
	spec, ok := Of(kind)
	if !ok {
		return nil
	}
	var out []Remark
	for _, c := range changes {
		if f, ok := spec.Field(c.Field); ok && c.Value != logbook.Null && JudgeField(f, c.Value, false) == nil {
			out = append(out, remarks(f, c.Field, c.Value)...)
		}
	}
	return out
}

func remarks(f *Field, name string, v logbook.Value) (out []Remark) {
	members := f.Members
	switch f.Type {
	case Whole, Decimal:
		text, _ := v.Number()
		if f.UsualMin != "" && (CompareNumbers(text, f.UsualMin) < 0 || CompareNumbers(text, f.UsualMax) > 0) {
			usual := *f
			usual.Min, usual.Max = f.UsualMin, f.UsualMax
			out = append(out, Remark{name, v, Allowed(&usual)})
		}
		return out
	case Form:
		as, _ := v.Member("as").Text()
		if at := MemberNamed(f.Forms, as); at >= 0 {
			members = f.Forms[at].Members
		}
	case List:
		n := 0
		for item := range v.Items() {
			out = append(out, remarks(f.Item, name+"/"+strconv.Itoa(n), item)...)
			n++
		}
		return out
	}
	for member, value := range v.Members() {
		if at := MemberNamed(members, member); at >= 0 {
			out = append(out, remarks(&members[at], name+"/"+member, value)...)
		}
	}
	return out
}
