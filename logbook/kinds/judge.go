package kinds

import (
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"evenwhite/logbook"
)

// MaxNames is the greatest number of dots that an edit may name for one field.
const MaxNames = 256

// Judge says whether an edit is valid, from its own bytes alone, so that every
// copy comes to the same verdict: types and ranges of the fields that this
// version knows, and what an edit may name. Kinds, fields and members of groups
// that it does not know are valid. Whether what it refers to exists is not asked.
// The error is a *FieldError.
func Judge(e *logbook.Edit) error {
	spec, known := Of(e.Kind)
	for i := range e.Set {
		c := &e.Set[i]
		err := judgeNames(e.Dot, c)
		if err == nil && known {
			if f, ok := spec.Field(c.Field); ok {
				err = judgeChange(f, c)
			}
		}
		if err != nil {
			err.Kind = e.Kind
			return err
		}
	}
	return nil
}

func judgeNames(own logbook.Dot, c *logbook.Change) *logbook.FieldError {
	if len(c.Over) > MaxNames {
		return &logbook.FieldError{Field: "over/" + c.Field, Value: countOf(c.Over), Allowed: "at most " + strconv.Itoa(MaxNames)}
	}
	for _, d := range c.Over {
		if d.Line == own.Line && d.N >= own.N {
			return &logbook.FieldError{Field: "over/" + c.Field, Value: logbook.TextValue(d.String()),
				Allowed: "an edit made before this one, " + own.String()}
		}
	}
	return nil
}

// countOf says how many names there are: no JSON, but short.
func countOf(over []logbook.Dot) logbook.Value {
	if len(over) == 1 {
		return "1 name"
	}
	return logbook.Value(strconv.Itoa(len(over)) + " names")
}

func judgeChange(f *Field, c *logbook.Change) *logbook.FieldError {
	if f.Fact && len(c.Over) > 0 {
		return &logbook.FieldError{Field: "over/" + c.Field, Value: countOf(c.Over),
			Allowed: "none: " + c.Field + " is a fact, set once"}
	}
	if c.Value == logbook.Null {
		if f.Fact {
			return &logbook.FieldError{Field: c.Field, Value: c.Value, Allowed: Allowed(f) + ": a fact is never cleared"}
		}
		return nil
	}
	if err := JudgeField(f, c.Value, false); err != nil {
		return Rename(err, f, c.Field)
	}
	return nil
}

// Rename puts the name that a field has in an edit in place of its row's.
func Rename(err *logbook.FieldError, f *Field, name string) *logbook.FieldError {
	err.Field = name + strings.TrimPrefix(err.Field, f.Name)
	return err
}

// JudgeValue says whether a value may stand in a field; null may not. Strict also
// refuses members of groups that this version does not know. The error is a
// *FieldError that names the field by its row.
func JudgeValue(f *Field, v logbook.Value, strict bool) error {
	if err := JudgeField(f, v, strict); err != nil {
		return err
	}
	return nil
}

func JudgeField(f *Field, v logbook.Value, strict bool) *logbook.FieldError {
	ok := false
	switch f.Type {
	case Group:
		return judgeGroup(f, v, strict).Within(f.Name)
	case Form:
		return judgeForm(f, v, strict).Within(f.Name)
	case List:
		return judgeList(f, v, strict).Within(f.Name)
	case Text:
		ok = judgeText(f, v)
	case Choice:
		ok = judgeChoice(f, v)
	case Flag:
		ok = v == "true" || v == "false"
	case Whole, Decimal:
		ok = judgeNumber(f, v)
	case Date:
		text, isText := v.Text()
		ok = isText && IsDate(text)
	case Instant:
		text, isText := v.Text()
		ok = isText && isInstant(text)
	case Reference:
		text, isText := v.Text()
		ok = isText && IsReference(text)
	}
	if ok {
		return nil
	}
	allowed := Allowed(f)
	if text, isText := v.Text(); isText && f.Type == Text && hasControl(text) {
		allowed += ", with no control characters"
	}
	return &logbook.FieldError{Field: f.Name, Value: v, Allowed: allowed}
}

// hasControl finds control characters other than tab and line feed.
func hasControl(text string) bool {
	for i := 0; i < len(text); i++ {
		if c := text[i]; c < ' ' && c != '\t' && c != '\n' || c == 0x7f {
			return true
		}
	}
	return false
}

// judgeText: an empty text is no answer to a required question, and control
// characters other than tab and line feed are no text that anybody typed.
func judgeText(f *Field, v logbook.Value) bool {
	text, ok := v.Text()
	switch {
	case !ok || f.Required && strings.TrimSpace(text) == "":
		return false
	case len(text) > f.Longest && utf8.RuneCountInString(text) > f.Longest:
		return false
	case hasControl(text):
		return false
	}
	switch f.Pattern {
	case "shortName":
		return isShortName(text)
	case "timeZone":
		return isTimeZone(text)
	case "timecode":
		return isTimecode(text)
	case "dot":
		_, err := logbook.ParseDot(text)
		return err == nil
	}
	return true
}

func judgeChoice(f *Field, v logbook.Value) bool {
	text, ok := v.Text()
	return ok && slices.Contains(f.Choices, text)
}

func judgeNumber(f *Field, v logbook.Value) bool {
	text, ok := v.Number()
	if !ok || f.Min != "" && CompareNumbers(text, f.Min) < 0 || f.Max != "" && CompareNumbers(text, f.Max) > 0 {
		return false
	}
	return f.Type == Decimal || isWhole(text)
}

func judgeGroup(f *Field, v logbook.Value, strict bool) *logbook.FieldError {
	if v == "" || v[0] != '{' {
		return &logbook.FieldError{Value: v, Allowed: Allowed(f)}
	}
	if err := judgeMembers(f.Members, v, "", strict); err != nil {
		return err
	}
	return judgeTogether(f, v)
}

// judgeMembers judges the members of an object; apart is the name of one that is
// no member of the group.
func judgeMembers(members []Field, v logbook.Value, apart string, strict bool) *logbook.FieldError {
	var found uint64
	for name, value := range v.Members() {
		at := MemberNamed(members, name)
		switch {
		case at >= 0:
			found |= 1 << at
			if err := JudgeField(&members[at], value, strict); err != nil {
				return err
			}
		case strict && name != apart:
			return &logbook.FieldError{Field: name, Value: value, Allowed: "no member of this name, but " + namesOf(members)}
		}
	}
	for i := range members {
		if members[i].Required && found&(1<<i) == 0 {
			return &logbook.FieldError{Field: members[i].Name, Allowed: Allowed(&members[i])}
		}
	}
	return nil
}

func MemberNamed(members []Field, name string) int {
	for i := range members {
		if members[i].Name == name {
			return i
		}
	}
	return -1
}

func judgeForm(f *Field, v logbook.Value, strict bool) *logbook.FieldError {
	if v == "" || v[0] != '{' {
		return &logbook.FieldError{Value: v, Allowed: Allowed(f)}
	}
	as := v.Member("as")
	if text, ok := as.Text(); ok {
		if at := MemberNamed(f.Forms, text); at >= 0 {
			if err := judgeMembers(f.Forms[at].Members, v, "as", strict); err != nil {
				return err
			}
			return judgeTogether(&f.Forms[at], v)
		}
	}
	return &logbook.FieldError{Field: "as", Value: as, Allowed: "one of " + namesOf(f.Forms)}
}

func judgeList(f *Field, v logbook.Value, strict bool) *logbook.FieldError {
	if v == "" || v[0] != '[' {
		return &logbook.FieldError{Value: v, Allowed: Allowed(f)}
	}
	n := 0
	for item := range v.Items() {
		if n++; n > f.Longest {
			break
		}
		if err := JudgeField(f.Item, item, strict); err != nil {
			return err.Within(strconv.Itoa(n - 1))
		}
	}
	if n > f.Longest || n == 0 && f.Required {
		return &logbook.FieldError{Value: v, Allowed: Allowed(f)}
	}
	return nil
}

func isShortName(text string) bool {
	for i := 0; i < len(text); i++ {
		if c := text[i]; !isAlphanumeric(c) && c != '-' {
			return false
		}
	}
	return text != "" && len(text) <= 16
}

func isAlphanumeric(c byte) bool {
	return 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' || '0' <= c && c <= '9'
}

// isTimeZone asks for the form of an IANA name only: which zones there are
// changes from one system to the next.
func isTimeZone(text string) bool {
	begins := true
	for i := 0; i < len(text); i++ {
		c := text[i]
		switch {
		case c == '/':
			if begins {
				return false
			}
			begins = true
			continue
		case begins && !isAlphanumeric(c), !isAlphanumeric(c) && c != '_' && c != '-' && c != '+':
			return false
		}
		begins = false
	}
	return !begins
}

// isTimecode: hh:mm:ss:ff, with a semicolon before the frames of drop-frame code.
func isTimecode(text string) bool {
	if len(text) != 11 || text[2] != ':' || text[5] != ':' || text[8] != ':' && text[8] != ';' {
		return false
	}
	return pair(text) < 24 && pair(text[3:]) < 60 && pair(text[6:]) < 60 && pair(text[9:]) < 60
}

// pair reads two digits; 100 where they are none.
func pair(text string) int {
	if len(text) < 2 || text[0] < '0' || text[0] > '9' || text[1] < '0' || text[1] > '9' {
		return 100
	}
	return int(text[0]-'0')*10 + int(text[1]-'0')
}

func IsDate(text string) bool {
	if len(text) != 10 || text[4] != '-' || text[7] != '-' {
		return false
	}
	century, year, month, day := pair(text), pair(text[2:]), pair(text[5:]), pair(text[8:])
	if century > 99 || year > 99 || century*100+year < 1900 || month < 1 || month > 12 || day < 1 {
		return false
	}
	return day <= time.Date(century*100+year, time.Month(month+1), 0, 0, 0, 0, 0, time.UTC).Day()
}

// isInstant is stricter than time.Parse, which takes more forms than RFC 3339.
func isInstant(text string) bool {
	if len(text) < 20 || !IsDate(text[:10]) || text[10] != 'T' || text[13] != ':' || text[16] != ':' {
		return false
	}
	if pair(text[:2])*100+pair(text[2:4]) < 1970 || pair(text[11:]) > 23 || pair(text[14:]) > 59 || pair(text[17:]) > 59 {
		return false
	}
	zone := text[19:]
	if zone[0] == '.' {
		n := 1
		for n < len(zone) && '0' <= zone[n] && zone[n] <= '9' {
			n++
		}
		if n == 1 || n > 10 {
			return false
		}
		zone = zone[n:]
	}
	return zone == "Z" || len(zone) == 6 && (zone[0] == '+' || zone[0] == '-') && pair(zone[1:]) < 24 && zone[3] == ':' && pair(zone[4:]) < 60
}

// IsReference asks for lower-case digits: one id has one text, so that equal
// references are equal values.
func IsReference(text string) bool {
	for i := 0; i < len(text); i++ {
		if 'A' <= text[i] && text[i] <= 'F' {
			return false
		}
	}
	_, err := logbook.ParseID(text)
	return err == nil
}
