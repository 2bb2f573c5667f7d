//go:build ignore

// Schemas writes the generated part of openapi.yaml: the schemas of the records, from
// the table of kinds, and those of the results, from the source of their types. Nothing
// in Go reads a record or a result by its schema, so it lists them in generate.yaml: no
// types are made of them.
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
	for _, s := range append(recordSchemas(), resultSchemas()...) {
		fmt.Fprintf(&schemas, "    %s: %s\n", s.name, compact(s.schema))
		if s.schema["x-go-type"] == nil {
			fmt.Fprintf(&noTypes, "    - %s\n", s.name)
		}
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

func compact(v any) string {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		log.Fatal(err)
	}
	return strings.TrimSpace(b.String())
}
