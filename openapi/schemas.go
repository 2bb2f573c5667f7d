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

// The generated parts stand between "# begin" and "# end" and their name.
const (
	generated = " generated\n"
	examples  = " examples\n"
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
	write("openapi.yaml", to, map[string][]byte{generated: schemas.Bytes(), examples: conversation()})
	write("generate.yaml", to, map[string][]byte{generated: noTypes.Bytes()})
}

// conversation makes examples of the exchanges in the folder examples, which a test of api
// holds with a server. The text of numbers stays.
func conversation() []byte {
	paths, err := filepath.Glob("examples/*.json")
	if err != nil || len(paths) == 0 {
		log.Fatalf("examples: no files (%v)", err)
	}
	var out bytes.Buffer
	for i, path := range paths { // in the order of their numbers
		text, err := os.ReadFile(path)
		if err != nil {
			log.Fatal(err)
		}
		var said struct {
			Summary         string
			Request, Answer json.RawMessage
		}
		if err := json.Unmarshal(text, &said); err != nil {
			log.Fatalf("%s: %v", path, err)
		}
		_, name, _ := strings.Cut(strings.TrimSuffix(filepath.Base(path), ".json"), "-")
		summary := fmt.Sprintf("%d. %s", i+1, said.Summary)
		fmt.Fprintf(&out, "    %sRequest: {summary: %s, value: %s}\n", name, compact(summary), compact(said.Request))
		fmt.Fprintf(&out, "    %sAnswer: {summary: %s, value: %s}\n", name, compact(summary), compact(said.Answer))
	}
	return out.Bytes()
}

// write copies a file to a folder with other parts between the marks.
func write(file, folder string, parts map[string][]byte) {
	text, err := os.ReadFile(file)
	if err != nil {
		log.Fatal(err)
	}
	for name, part := range parts {
		begin, end := []byte("    # begin"+name), []byte("    # end"+name)
		from, rest := bytes.Index(text, begin), bytes.Index(text, end)
		if from < 0 || rest < from {
			log.Fatalf("%s: the marks of the part%s are missing", file, name)
		}
		text = slices.Concat(text[:from+len(begin)], part, text[rest:])
	}
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
