//go:build ignore

package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"log"
	"path/filepath"
	"sort"
	"strings"
)

// results are the answers; what they hold follows.
var results = []string{"SetUpNow", "MatchAnswer", "Deviation", "SpectrumTold", "StillTold", "ReadingColor", "SetUpPlan",
	"SampleColor", "ClipCorrections", "LampLearnt", "GelLearnt", "MeterLearnt", "SetUpPlane", "SetUpDrift", "SetUpSwatches"}

type named struct {
	name   string
	schema object
}

// resultSchemas reads the struct types of package logbook from its source, with
// their comments, beginning with those named.
func resultSchemas(names []string) []named {
	structs := map[string]*ast.StructType{}
	docs := map[string]string{}
	paths, err := filepath.Glob("../logbook/*.go")
	if err != nil {
		log.Fatal(err)
	}
	for _, path := range paths {
		if strings.HasSuffix(path, "_test.go") {
			continue
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
		if err != nil {
			log.Fatal(err)
		}
		for _, d := range parsed.Decls {
			if g, ok := d.(*ast.GenDecl); ok && g.Tok == token.TYPE {
				for _, spec := range g.Specs {
					t := spec.(*ast.TypeSpec)
					if s, ok := t.Type.(*ast.StructType); ok {
						structs[t.Name.Name] = s
						docs[t.Name.Name] = oneLine(g.Doc)
					}
				}
			}
		}
	}
	done := map[string]object{}
	for len(names) > 0 {
		name := names[0]
		names = names[1:]
		if done[name] != nil {
			continue
		}
		s, ok := structs[name]
		if !ok {
			log.Fatalf("logbook has no struct %s", name)
		}
		schema := newObject(docs[name])
		goType(schema, "logbook."+name, "evenwhite/logbook")
		done[name] = schema
		names = append(names, fillStruct(schema, s)...)
	}
	var out []named
	for name, schema := range done {
		out = append(out, named{name, schema})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].name < out[j].name })
	return out
}

// fillStruct adds a struct's exported fields to a schema and returns the structs
// that they refer to.
func fillStruct(schema object, s *ast.StructType) (refers []string) {
	var required []string
	for _, f := range s.Fields.List {
		if f.Tag == nil {
			if len(f.Names) == 0 || f.Names[0].IsExported() {
				log.Fatalf("a field without a JSON name: %v", f.Names)
			}
			continue
		}
		tag := strings.Split(strings.TrimSuffix(strings.TrimPrefix(f.Tag.Value, "`json:\""), "\"`"), ",")
		if tag[0] == "-" {
			continue
		}
		property, more := typeSchema(f.Type)
		refers = append(refers, more...)
		if doc := strings.TrimSpace(oneLine(f.Doc) + " " + oneLine(f.Comment)); doc != "" {
			if property["$ref"] != nil {
				property = object{"allOf": []object{property}}
			}
			property["description"] = doc
		}
		schema["properties"].(object)[tag[0]] = property
		if len(tag) == 1 {
			required = append(required, tag[0])
		}
	}
	if len(required) > 0 {
		schema["required"] = required
	}
	return refers
}

func typeSchema(t ast.Expr) (object, []string) {
	switch t := t.(type) {
	case *ast.StarExpr:
		return typeSchema(t.X)
	case *ast.ArrayType:
		items, refers := typeSchema(t.Elt)
		return object{"type": "array", "items": items}, refers
	case *ast.MapType:
		values, refers := typeSchema(t.Value)
		return object{"type": "object", "additionalProperties": values}, refers
	case *ast.SelectorExpr:
		switch t.Sel.Name {
		case "Time":
			return object{"type": "string", "format": "date-time"}, nil
		}
	case *ast.Ident:
		switch t.Name {
		case "string", "Kind":
			return object{"type": "string"}, nil
		case "float64":
			return object{"type": "number"}, nil
		case "int":
			return object{"type": "integer"}, nil
		case "bool":
			return object{"type": "boolean"}, nil
		case "ID":
			return object{"type": "string", "format": "uuid"}, nil
		}
		return object{"$ref": "#/components/schemas/" + t.Name}, []string{t.Name}
	}
	log.Fatalf("a type that has no schema: %#v", t)
	return nil, nil
}

func oneLine(c *ast.CommentGroup) string {
	if c == nil {
		return ""
	}
	return strings.Join(strings.Fields(c.Text()), " ")
}
