package api

import (
	"encoding/json"
	"errors"
	"fmt"
	"strings"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"

	"evenwhite/logbook"
	"evenwhite/logbook/amend"
)

// wrongRequest turns what the contract finds wrong into the field, its value and
// what is allowed there.
func wrongRequest(err error) error {
	if err == nil {
		return nil
	}
	fault := func(field, value, allowed string) error {
		return &Wrong{"the request is not as the contract says", []FieldProblem{{field, shorten(value), allowed}}}
	}
	field := "body"
	var request *openapi3filter.RequestError
	var schema *openapi3.SchemaError
	var text *openapi3filter.ParseError
	if errors.As(err, &request) && request.Parameter != nil {
		field = request.Parameter.Name
	}
	switch {
	case errors.As(err, &schema):
		return fault(faultIn(field, schema))
	case errors.As(err, &text) && request != nil && request.Parameter != nil:
		return fault(field, fmt.Sprint(text.Value), "a value of type "+strings.Join(request.Parameter.Schema.Value.Type.Slice(), " or "))
	case request != nil && request.Err != nil:
		return fault(field, "", shorten(request.Err.Error()))
	}
	return fault(field, "", shorten(err.Error()))
}

// faultIn says where in a body or parameter a schema is not met, what stands
// there, and what may.
func faultIn(field string, fault *openapi3.SchemaError) (string, string, string) {
	path := fault.JSONPointer()
	for fault.SchemaField == "allOf" { // a schema with a description of its own: what is not met lies within
		var within *openapi3.SchemaError
		if !errors.As(fault.Origin, &within) {
			break
		}
		fault, path = within, append(path, within.JSONPointer()...)
	}
	value, err := json.Marshal(fault.Value)
	if err != nil {
		value = []byte(fmt.Sprint(fault.Value))
	}
	if fault.SchemaField == "properties" {
		if _, name, quoted := strings.Cut(fault.Reason, `"`); quoted {
			name, _, _ = strings.Cut(name, `"`)
			object, _ := fault.Value.(map[string]any)
			if value, err = json.Marshal(object[name]); err == nil {
				return strings.Join(append(path, name), "/"), string(value), "no member of this name: " + shorten(fault.Reason)
			}
		}
	}
	if len(path) > 0 {
		field = strings.Join(path, "/")
	}
	return field, string(value), allowedBy(fault)
}

// allowedBy says in words what a schema takes. The validator's own words repeat the
// value and can be of any length.
func allowedBy(fault *openapi3.SchemaError) string {
	switch schema := fault.Schema; {
	case fault.SchemaField == "format" && schema.Format == "uuid":
		return "an id (a UUID) as lists of records tell it, no name or letter"
	case fault.SchemaField == "enum":
		var names []string
		for _, name := range schema.Enum {
			names = append(names, fmt.Sprint(name))
		}
		return "one of " + strings.Join(names, ", ")
	}
	return shorten(fault.Reason)
}

// fieldsWrong turns what a handler found wrong in fields into the same form.
func fieldsWrong(err error) error {
	var all amend.Errors
	var one *logbook.FieldError
	switch {
	case errors.As(err, &all):
	case errors.As(err, &one):
		all = amend.Errors{one}
	default:
		return err
	}
	w := &Wrong{Detail: "the request holds a value that is not allowed"}
	for _, e := range all {
		w.Fields = append(w.Fields, FieldProblem{e.Field, shorten(string(e.Value)), e.Allowed})
	}
	return w
}
