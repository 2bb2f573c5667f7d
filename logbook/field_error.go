package logbook

import "strings"

// A FieldError says what is wrong with one field: its name, the value as it was
// given ("" where it is missing) and what is allowed. Parts of groups and items
// of lists are named with a slash: tint/min, kelvinValues/2 (items count from 0).
type FieldError struct {
	Kind    Kind
	Field   string
	Value   Value
	Allowed string
}

func (e *FieldError) Error() string {
	if e.Value == "" {
		return e.Field + " is missing; allowed is " + e.Allowed
	}
	return e.Field + " is " + Shorten(string(e.Value)) + "; allowed is " + e.Allowed
}

// Within puts the name of what holds the field before it.
func (e *FieldError) Within(name string) *FieldError {
	if e != nil && name != "" {
		e.Field = strings.TrimSuffix(name+"/"+e.Field, "/")
	}
	return e
}
