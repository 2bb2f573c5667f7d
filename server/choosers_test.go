package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// choosers are the functions that choose among readings and cards. Setup calls them, once
// for everybody: two rooms above it that chose differently would contradict each other.
var choosers = []string{
	"lighting.NewCourse", "lighting.ReadingsOf",
	"cameras.ShotIn", "cameras.ErrorByCards", "cameras.LightOnCard", "cameras.BehindCard",
}

// chosenIn lists the choosers that a file calls.
func chosenIn(f *ast.File) (list []string) {
	ast.Inspect(f, func(n ast.Node) bool {
		if s, ok := n.(*ast.SelectorExpr); ok {
			if x, ok := s.X.(*ast.Ident); ok && slices.Contains(choosers, x.Name+"."+s.Sel.Name) {
				list = append(list, x.Name+"."+s.Sel.Name)
			}
		}
		return true
	})
	return list
}

func TestNobodyAboveSetUpChooses(t *testing.T) {
	files := token.NewFileSet()
	chosen := map[string]bool{}
	for storey, name := range stair {
		paths, err := filepath.Glob(filepath.Join("..", "logbook", name, "*.go"))
		if err != nil || len(paths) == 0 {
			t.Fatalf("%s has no files: %v", name, err)
		}
		for _, path := range paths {
			if strings.HasSuffix(path, "_test.go") {
				continue
			}
			f, err := parser.ParseFile(files, path, nil, parser.SkipObjectResolution)
			if err != nil {
				t.Fatal(err)
			}
			for _, what := range chosenIn(f) {
				chosen[what] = true
				if storey > slices.Index(stair, "setup") {
					t.Errorf("%s calls %s: setup chooses for the rooms above it", path, what)
				}
			}
		}
	}
	for _, what := range choosers {
		if !chosen[what] {
			t.Errorf("nobody calls %s: has it another name?", what)
		}
	}
}
