//go:build ignore

package main

import (
	"encoding/json"
	"fmt"
	"log"
	"maps"
	"math/big"
	"reflect"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/slate"
)

// A use is what a schema of a kind describes: a record as it is read, what makes one,
// and a merge patch of one.
type use int

const (
	read use = iota
	create
	patch
)

// recordSchemas are those of all kinds and of the events, with what they refer to, in the
// order in which they were met.
func recordSchemas() []named {
	var all parts
	var records []object
	names := object{}
	for _, spec := range kinds.Specs {
		name := title(string(spec.Kind))
		all.add(name, recordSchema(spec, read))
		all.add("New"+name, recordSchema(spec, create))
		all.add("PatchOf"+name, recordSchema(spec, patch))
		if spec.Kind != kinds.Production { // of which there is a list of its own
			all.add(name+"Page", object{"type": "object", "additionalProperties": false, "required": []string{"records"},
				"properties": object{"records": object{"type": "array", "items": reference(name)}, "next": reference("NextPage")}})
		}
		records = append(records, reference(name))
		names[string(spec.Kind)] = reference(name)["$ref"]
	}
	all.add("Record", object{"description": "a record of any kind, told apart by kind", "oneOf": records,
		"discriminator": object{"propertyName": "kind", "mapping": names}})
	event := newObject("what happened; which members an event may have is said in its error")
	for i := range slate.Fields {
		f := &slate.Fields[i]
		place(event, strings.Split(f.Name, "/"), f, create)
	}
	event["required"] = []string{"event"}
	event["x-go-type"] = "json.RawMessage" // numbers stay as typed
	all.add("Event", event)
	return all.list
}

// recordSchema nests the fields of a kind by the slashes of their names.
func recordSchema(spec kinds.Spec, as use) object {
	doc := spec.Doc
	if as == patch {
		doc = "a merge patch (RFC 7396): what is not named stays, null clears; facts are not here, for they never change"
	}
	root := newObject(doc)
	properties := root["properties"].(object)
	kind := object{"type": "string", "enum": []logbook.Kind{spec.Kind}}
	required := []string{}
	switch as {
	case read:
		required = serviceMembers(properties, kind)
	case create:
		properties["id"] = object{"type": "string", "format": "uuid",
			"description": "a UUIDv7 that the device made; absent: the service makes one"}
		properties["kind"] = kind
	}
	for i := range spec.Fields {
		f := &spec.Fields[i]
		if f.Name == logbook.DeletedField || as == patch && f.Fact || as != read && strings.HasPrefix(f.Name, logbook.SamePrefix) {
			continue
		}
		if as == create && f.Required {
			required = append(required, f.Name)
		}
		place(root, strings.Split(f.Name, "/"), f, as)
	}
	if len(required) > 0 {
		root["required"] = required
	}
	return root
}

// serviceMembers puts what every record that is read has, and returns what it never lacks.
func serviceMembers(properties object, kind object) []string {
	id := func() object { return object{"type": "string", "format": "uuid"} }
	properties["id"], properties["kind"], properties["production"] = id(), kind, id()
	properties["deleted"] = object{"type": "boolean", "description": "the record is struck out: hidden, kept whole"}
	properties["madeBy"] = object{"type": "string"}
	for _, name := range []string{"madeAt", "changedAt"} {
		properties[name] = object{"type": "string", "format": "date-time"}
	}
	properties["conflicts"] = object{"type": "array", "items": reference("FieldConflict"),
		"description": "fields with several values that nobody decided"}
	properties["twins"] = object{"type": "array", "items": id(), "description": "the other records that read as this one"}
	for _, property := range properties {
		property.(object)["readOnly"] = true
	}
	return []string{"id", "kind", "production", "madeBy", "madeAt", "changedAt"}
}

func newObject(doc string) object {
	o := object{"type": "object", "properties": object{}, "additionalProperties": false}
	if doc != "" {
		o["description"] = doc
	}
	return o
}

// place puts a field's schema under its path; a star stands for any key.
func place(in object, path []string, f *kinds.Field, as use) {
	into, name := in["properties"].(object), path[0]
	if name == "*" {
		into, name = in, "additionalProperties"
	}
	if len(path) == 1 {
		into[name] = fieldSchema(f, as)
		if as == patch && !f.Required {
			clearable(into[name].(object))
		}
		return
	}
	inner, ok := into[name].(object)
	if !ok {
		inner = newObject("")
		into[name] = inner
		if as == patch {
			clearable(inner)
		}
	}
	place(inner, path[1:], f, as)
}

// clearable lets null through. A generator of Go that has no word for null must leave out
// what is not set: else it would clear every other field. Null is not among the values of
// an enum, because generators make a word of it.
func clearable(schema object) { schema["nullable"], schema["x-omitempty"] = true, true }

func fieldSchema(f *kinds.Field, as use) object {
	s := valueSchema(f, as)
	doc := f.Doc
	if f.Required && as != patch {
		doc += "; required"
	}
	if f.Fact {
		doc += "; a fact: set when the record is made, never changed"
	}
	if f.Default != "" {
		doc += "; by default: " + f.Default
	}
	if f.UsualMin != "" {
		doc += fmt.Sprintf("; usual are %s to %s", f.UsualMin, f.UsualMax)
	}
	if f.Unit != "" {
		doc += " (" + f.Unit + ")"
	}
	s["description"] = doc
	return s
}

func valueSchema(f *kinds.Field, as use) object {
	s := object{}
	switch f.Type {
	case kinds.Text, kinds.Choice:
		s["type"] = "string"
		if f.Longest > 0 {
			s["maxLength"] = f.Longest
		}
		if len(f.Choices) > 0 {
			s["enum"] = f.Choices
		}
	case kinds.Flag:
		s["type"] = "boolean"
	case kinds.Whole:
		s["type"] = "integer"
	case kinds.Decimal:
		s["type"], s["format"] = "number", "double"
	case kinds.Date:
		s["type"], s["format"] = "string", "date"
	case kinds.Instant:
		s["type"], s["format"] = "string", "date-time"
	case kinds.Reference:
		s["type"], s["format"] = "string", "uuid"
	case kinds.Group:
		return groupSchema(f, "", as)
	case kinds.Form:
		var forms []object
		for i := range f.Forms {
			forms = append(forms, groupSchema(&f.Forms[i], f.Forms[i].Name, read)) // sent whole, also in a patch
		}
		s["type"], s["oneOf"] = "object", forms
	case kinds.List:
		s["type"], s["items"] = "array", fieldSchema(f.Item, read)
		if f.Longest > 0 {
			s["maxItems"] = f.Longest
		}
	}
	if f.Min != "" {
		s["minimum"], s["maximum"] = plain(f.Min), plain(f.Max)
	}
	return s
}

// plain writes a number without an exponent, which YAML 1.1 takes for a text.
func plain(number string) json.Number {
	if !strings.ContainsAny(number, "eE") {
		return json.Number(number)
	}
	r, ok := new(big.Rat).SetString(number)
	if !ok || !r.IsInt() {
		log.Fatalf("%s: a limit with an exponent is to be whole", number)
	}
	return json.Number(r.RatString())
}

// groupSchema lets members of a newer version through: an edit that was pushed
// may hold them. What is sent by REST is checked against the table itself.
func groupSchema(f *kinds.Field, form string, as use) object {
	s := newObject(f.Doc)
	delete(s, "additionalProperties")
	var required []string
	if form != "" {
		s["properties"].(object)["as"] = object{"type": "string", "enum": []string{form}}
		required = append(required, "as")
	}
	for i := range f.Members {
		m := &f.Members[i]
		member := fieldSchema(m, as)
		s["properties"].(object)[m.Name] = member
		switch {
		case as == patch && !m.Required:
			clearable(member)
		case as != patch && m.Required:
			required = append(required, m.Name)
		}
	}
	if len(required) > 0 {
		s["required"] = required
	}
	return s
}

func reference(name string) object { return object{"$ref": "#/components/schemas/" + name} }

func title(name string) string { return strings.ToUpper(name[:1]) + name[1:] }

type named struct {
	name   string
	schema object
}

// parts are schemas by name: a generator gives what has a name a type of that name, and
// only what has a name can be told apart by a member.
type parts struct {
	list []named
	made map[string]object
}

// add makes every object below a schema a schema of its own, named by the way to it.
func (p *parts) add(name string, schema object) {
	if p.made == nil {
		p.made = map[string]object{}
	}
	if old, ok := p.made[name]; ok {
		if p.below(name, schema); !reflect.DeepEqual(old, schema) {
			log.Fatalf("there would be two schemas %s", name)
		}
		return
	}
	p.made[name] = schema
	p.list = append(p.list, named{name, schema})
	p.below(strings.TrimPrefix(name, "New"), schema) // what is read and what makes it share their parts
}

// below gives names to what stands in a schema.
func (p *parts) below(name string, schema object) {
	if properties, ok := schema["properties"].(object); ok {
		for _, member := range slices.Sorted(maps.Keys(properties)) {
			properties[member] = p.named(name+title(member), properties[member].(object))
		}
		if len(properties) == 0 {
			delete(schema, "properties")
		}
	}
	if entry, ok := schema["additionalProperties"].(object); ok {
		schema["additionalProperties"] = p.named(name+"Entry", entry)
	}
	if item, ok := schema["items"].(object); ok {
		schema["items"] = p.named(unpatched(name)+"Item", item)
	}
	forms, ok := schema["oneOf"].([]object)
	if !ok || schema["discriminator"] != nil {
		return
	}
	mapping := object{}
	for i, form := range forms {
		as := form["properties"].(object)["as"].(object)["enum"].([]string)[0]
		forms[i] = p.named(unpatched(name)+title(as), form)
		mapping[as] = forms[i]["$ref"]
	}
	schema["discriminator"] = object{"propertyName": "as", "mapping": mapping}
}

// unpatched is the name of what a patch holds whole.
func unpatched(name string) string { return strings.TrimPrefix(name, "PatchOf") }

// named is a schema, or a reference to it where it is an object or one of several.
func (p *parts) named(name string, schema object) object {
	if schema["$ref"] == nil && (schema["type"] == "object" || schema["oneOf"] != nil) {
		p.add(name, schema)
		return reference(name)
	}
	p.below(name, schema)
	return schema
}
