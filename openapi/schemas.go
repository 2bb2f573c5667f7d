//go:build ignore

// Schemas writes the generated part of openapi.yaml: one schema per record kind,
// from logbook's table, and one per result type, from its source. Nothing in
// Go reads a result by its schema, so it lists them in generate.yaml: no types are
// made of them.
package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"evenwhite/logbook"
	"evenwhite/logbook/kinds"
	"evenwhite/logbook/slate"
)

const (
	begin = "    # begin generated\n"
	end   = "    # end generated\n"
)

func main() {
	to := "."
	if len(os.Args) > 1 {
		to = os.Args[1] // for the test that compares
	}
	var schemas, noTypes bytes.Buffer
	for _, spec := range kinds.Specs {
		schema := recordSchema(spec)
		goType(schema, "json.RawMessage", "") // numbers stay as typed
		fmt.Fprintf(&schemas, "    Record_%s: %s\n", spec.Kind, compact(schema))
	}
	event := eventSchema()
	goType(event, "json.RawMessage", "")
	fmt.Fprintf(&schemas, "    Event: %s\n", compact(event))
	for _, s := range resultSchemas() {
		fmt.Fprintf(&schemas, "    %s: %s\n", s.name, compact(s.schema))
		fmt.Fprintf(&noTypes, "    - %s\n", s.name)
	}
	fill("openapi.yaml", to, schemas.Bytes())
	fill("generate.yaml", to, noTypes.Bytes())
}

// fill copies a file to a folder with another part between the marks.
func fill(file, folder string, part []byte) {
	text, err := os.ReadFile(file)
	if err != nil {
		log.Fatal(err)
	}
	from, rest := bytes.Index(text, []byte(begin)), bytes.Index(text, []byte(end))
	if from < 0 || rest < from {
		log.Fatalf("%s: the marks of the generated part are missing", file)
	}
	text = slices.Concat(text[:from+len(begin)], part, text[rest:])
	if err := os.WriteFile(filepath.Join(folder, file), text, 0o644); err != nil {
		log.Fatal(err)
	}
}

// object is a schema; JSON is YAML, and json.Marshal sorts the members.
type object = map[string]any

// goType says which Go type stands for a schema, so that none is generated.
func goType(schema object, name, path string) {
	if schema["x-go-type"] = name; path != "" {
		schema["x-go-type-import"] = object{"path": path}
	}
}

func compact(v any) string {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		log.Fatal(err)
	}
	return strings.TrimSpace(b.String())
}

// recordSchema nests the fields of a kind by the slashes of their names.
func recordSchema(spec kinds.Spec) object {
	root := newObject(spec.Doc)
	properties := root["properties"].(object)
	id := object{"type": "string", "format": "uuid"}
	properties["id"] = id
	properties["kind"] = object{"type": "string", "enum": []logbook.Kind{spec.Kind}}
	properties["production"] = id
	properties["deleted"] = object{"type": "boolean", "description": "the record is struck out: hidden, kept whole"}
	properties["madeBy"] = object{"type": "string"}
	for _, name := range []string{"madeAt", "changedAt"} {
		properties[name] = object{"type": "string", "format": "date-time"}
	}
	properties["conflicts"] = object{"type": "array", "items": object{"type": "object"},
		"description": "fields with several values that nobody decided"}
	properties["twins"] = object{"type": "array", "items": id, "description": "the other records that read as this one"}
	root["required"] = []string{"id", "kind", "production"}
	for i := range spec.Fields {
		f := &spec.Fields[i]
		if f.Name == logbook.DeletedField {
			continue
		}
		place(root, strings.Split(f.Name, "/"), f)
	}
	return root
}

func newObject(doc string) object {
	o := object{"type": "object", "properties": object{}, "additionalProperties": false}
	if doc != "" {
		o["description"] = doc
	}
	return o
}

// place puts a field's schema under its path; a star stands for any key.
func place(in object, path []string, f *kinds.Field) {
	if len(path) == 1 && path[0] != "*" {
		in["properties"].(object)[path[0]] = fieldSchema(f)
		return
	}
	if path[0] == "*" {
		if len(path) == 1 {
			in["additionalProperties"] = fieldSchema(f)
			return
		}
		inner, ok := in["additionalProperties"].(object)
		if !ok {
			inner = newObject("")
			in["additionalProperties"] = inner
		}
		place(inner, path[1:], f)
		return
	}
	properties := in["properties"].(object)
	inner, ok := properties[path[0]].(object)
	if !ok {
		inner = newObject("")
		properties[path[0]] = inner
	}
	place(inner, path[1:], f)
}

func fieldSchema(f *kinds.Field) object {
	s := valueSchema(f)
	doc := f.Doc
	if f.Required {
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

func valueSchema(f *kinds.Field) object {
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
	case kinds.Whole, kinds.Decimal:
		s["type"] = map[kinds.Type]string{kinds.Whole: "integer", kinds.Decimal: "number"}[f.Type]
		if f.Min != "" {
			s["minimum"], s["maximum"] = json.Number(f.Min), json.Number(f.Max)
		}
	case kinds.Date:
		s["type"], s["format"] = "string", "date"
	case kinds.Instant:
		s["type"], s["format"] = "string", "date-time"
	case kinds.Reference:
		s["type"], s["format"] = "string", "uuid"
	case kinds.Group:
		return groupSchema(f, "")
	case kinds.Form:
		var forms []object
		for i := range f.Forms {
			forms = append(forms, groupSchema(&f.Forms[i], f.Forms[i].Name))
		}
		s["oneOf"] = forms
	case kinds.List:
		s["type"], s["items"] = "array", fieldSchema(f.Item)
		if f.Longest > 0 {
			s["maxItems"] = f.Longest
		}
	}
	return s
}

// groupSchema lets members of a newer version through: an edit that was pushed
// may hold them. What is sent by REST is checked against the table itself.
func groupSchema(f *kinds.Field, as string) object {
	s := newObject(f.Doc)
	delete(s, "additionalProperties")
	var required []string
	if as != "" {
		s["properties"].(object)["as"] = object{"type": "string", "enum": []string{as}}
		required = append(required, "as")
	}
	for i := range f.Members {
		m := &f.Members[i]
		s["properties"].(object)[m.Name] = fieldSchema(m)
		if m.Required {
			required = append(required, m.Name)
		}
	}
	if len(required) > 0 {
		s["required"] = required
	}
	return s
}

func eventSchema() object {
	root := newObject("what happened; which members an event may have is said in its error")
	for i := range slate.Fields {
		f := &slate.Fields[i]
		place(root, strings.Split(f.Name, "/"), f)
	}
	root["required"] = []string{"event"}
	return root
}
