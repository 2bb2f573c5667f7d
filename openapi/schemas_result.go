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

// folders hold the types of the results.
var folders = []string{
	"../logbook/rigging", "../logbook/rebuild", "../logbook/wrap",
	"../logbook", "../logbook/glance", "../logbook/advice", "../logbook/deviation", "../logbook/slate", "../logbook/setup",
	"../logbook/cameras", "../logbook/lighting", "../logbook/figure", "../logbook/exchange", "../logbook/amend", "../logbook/kinds",
	"../logbook/footage", "../logbook/comparison",
}

// results are the schemas of the answers; what they hold follows.
var results = []string{
	"RebuildSheet", "SetUpsApart", "SceneContinuity", "RiggingList", "WrapCheck",
	"SetUpNow", "MatchAnswer", "Deviation", "SpectrumTold", "StillTold", "ReadingColor", "SetUpPlan",
	"SampleColor", "ClipCorrections", "LampLearnt", "GelLearnt", "MeterLearnt", "SetUpPlane", "SetUpDrift", "SetUpSwatches", "ClipList",
	"HowRight", "StillCheck", "FootageJoined", "Comparison"}

// schemaNames has a row for each type whose schema is not called like it, such as
// "cameras.Error": "CameraError". The contract keeps a name when Go takes another, and
// has names of its own for types that two packages call the same.
var schemaNames = map[string]string{
	"advice.Matched": "MatchAnswer", "advice.Following": "MatchFollowing", "cameras.Error": "CameraError", "cameras.StillReading": "StillTold",
	"footage.Joined": "FootageJoined", "footage.Settings": "FileSettings",
	"lighting.SpectrumReading": "SpectrumTold", "setup.Drift": "DriftTold",
	"setup.Mix": "MixNow", "setup.Slope": "TrendTold", "setup.White": "WhiteInForce",
}

func schemaName(goName string) string {
	if name, ok := schemaNames[goName]; ok {
		return name
	}
	_, name, _ := strings.Cut(goName, ".")
	return name
}

// A goStruct is a struct as the source has it.
type goStruct struct {
	room, name string
	doc        string
	written    *ast.StructType
}

// structsIn reads the struct types of packages from their source, by package and name.
func structsIn(folders []string) map[string]goStruct {
	structs := map[string]goStruct{}
	for _, folder := range folders {
		paths, err := filepath.Glob(filepath.Join(folder, "*.go"))
		if err != nil || len(paths) == 0 {
			log.Fatalf("%s: no Go files (%v)", folder, err)
		}
		for _, path := range paths {
			if strings.HasSuffix(path, "_test.go") {
				continue
			}
			parsed, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ParseComments)
			if err != nil {
				log.Fatal(err)
			}
			for _, s := range structsOf(parsed) {
				structs[s.room+"."+s.name] = s
			}
		}
	}
	return structs
}

func structsOf(f *ast.File) (all []goStruct) {
	for _, d := range f.Decls {
		if g, ok := d.(*ast.GenDecl); ok && g.Tok == token.TYPE {
			for _, spec := range g.Specs {
				t := spec.(*ast.TypeSpec)
				if s, ok := t.Type.(*ast.StructType); ok {
					all = append(all, goStruct{f.Name.Name, t.Name.Name, oneLine(g.Doc), s})
				}
			}
		}
	}
	return all
}

// resultSchemas makes a schema of each result and of each struct that it refers to.
func resultSchemas() []named {
	structs := structsIn(folders)
	for goName := range schemaNames {
		if _, ok := structs[goName]; !ok {
			log.Fatalf("schemaNames has a row for %s, which is no struct in %v", goName, folders)
		}
	}
	var todo []string
	for _, name := range results {
		todo = append(todo, typeOf(name, structs))
	}
	made := map[string]string{} // the Go name by that of the schema
	var out []named
	for ; len(todo) > 0; todo = todo[1:] {
		goName := todo[0]
		s, ok := structs[goName]
		if !ok {
			log.Fatalf("no struct %s in %v", goName, folders)
		}
		name := schemaName(goName)
		if made[name] == goName {
			continue
		}
		if made[name] != "" {
			log.Fatalf("the schema %s would be that of %s and of %s: give one another name in schemaNames", name, made[name], goName)
		}
		made[name] = goName
		schema := newObject(strings.Replace(s.doc, s.name, name, 1)) // a comment begins with the name of its type
		todo = append(todo, fillStruct(schema, s)...)
		out = append(out, named{name, schema})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].name < out[j].name })
	return out
}

// typeOf finds the type that has a schema.
func typeOf(schema string, structs map[string]goStruct) string {
	var found []string
	for goName := range structs {
		if schemaName(goName) == schema {
			found = append(found, goName)
		}
	}
	if len(found) != 1 {
		log.Fatalf("the schema %s is that of %q, want one struct of %v: see schemaNames", schema, found, folders)
	}
	return found[0]
}

// fillStruct adds a struct's exported fields to a schema and returns the structs
// that they refer to.
func fillStruct(schema object, s goStruct) (refers []string) {
	var required []string
	for _, f := range s.written.Fields.List {
		if f.Tag == nil {
			if len(f.Names) == 0 || f.Names[0].IsExported() {
				log.Fatalf("%s.%s has a field without a JSON name: %v", s.room, s.name, f.Names)
			}
			continue
		}
		tag := strings.Split(strings.TrimSuffix(strings.TrimPrefix(f.Tag.Value, "`json:\""), "\"`"), ",")
		if tag[0] == "-" {
			continue
		}
		property, more := typeSchema(s.room, f.Type)
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

// typeSchema is the schema of a type as it is written in a package.
func typeSchema(room string, t ast.Expr) (object, []string) {
	switch t := t.(type) {
	case *ast.StarExpr:
		return typeSchema(room, t.X)
	case *ast.ArrayType:
		items, refers := typeSchema(room, t.Elt)
		return object{"type": "array", "items": items}, refers
	case *ast.MapType:
		values, refers := typeSchema(room, t.Value)
		return object{"type": "object", "additionalProperties": values}, refers
	case *ast.SelectorExpr:
		if of, ok := t.X.(*ast.Ident); ok {
			return namedSchema(of.Name + "." + t.Sel.Name)
		}
	case *ast.Ident:
		switch t.Name {
		case "string":
			return object{"type": "string"}, nil
		case "float64":
			return object{"type": "number", "format": "double"}, nil
		case "int":
			return object{"type": "integer"}, nil
		case "bool":
			return object{"type": "boolean"}, nil
		}
		return namedSchema(room + "." + t.Name)
	}
	log.Fatalf("a type that has no schema: %#v", t)
	return nil, nil
}

func namedSchema(goName string) (object, []string) {
	switch goName {
	case "time.Time":
		return object{"type": "string", "format": "date-time"}, nil
	case "json.Number":
		return object{"type": "number"}, nil
	case "logbook.Kind":
		return object{"type": "string"}, nil
	case "logbook.ID":
		return object{"type": "string", "format": "uuid"}, nil
	}
	return object{"$ref": "#/components/schemas/" + schemaName(goName)}, []string{goName}
}

func oneLine(c *ast.CommentGroup) string {
	if c == nil {
		return ""
	}
	return strings.Join(strings.Fields(c.Text()), " ")
}
