package main

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// A room is a folder and what its files may import beside the standard library.
type room struct {
	inside  []string // folders of this module
	outside []string // modules of others, and what is heavy
	pure    bool     // no file, socket, clock or chance
}

// rooms is the table of arrows. A folder without a row fails.
var rooms = map[string]room{
	"colorimetry":              {inside: []string{"colorimetry/tables"}, pure: true},
	"colorimetry/spectrumfile": {inside: []string{"colorimetry"}, outside: heavy, pure: true},
	"colorimetry/tables":       {pure: true},
	"logbook":                  {pure: true},
	"logbook/colorlog":         {inside: []string{"logbook", "logbook/amend", "logbook/deviation", "logbook/figure", "logbook/glance", "logbook/kinds", "logbook/lighting", "logbook/setup", "logbook/slate"}, pure: true},
	"logbook/picture":          {inside: []string{"colorimetry", "colorimetry/tables", "logbook/figure", "logbook/glance", "logbook/setup"}, outside: []string{"encoding/xml"}, pure: true},
	"logbook/amendtest":        {inside: []string{"logbook", "logbook/amend", "logbook/kinds", "logbook/logtest"}, pure: true},
	"logbook/logtest":          {inside: []string{"logbook"}, outside: []string{"pgregory.net/rapid"}, pure: true},
	"logbook/bolt":             {inside: []string{"logbook"}, outside: []string{"go.etcd.io/bbolt"}},
	"logbook/stage":            {inside: []string{"colorimetry", "logbook", "logbook/advice", "logbook/deviation", "logbook/figure", "logbook/kinds", "logbook/lighting", "logbook/setup"}},
	"logbook/storetest":        {inside: []string{"logbook", "logbook/kinds"}, outside: []string{"pgregory.net/rapid"}},
	"openapi":                  {inside: []string{"logbook", "logbook/kinds", "logbook/slate"}, outside: []string{echo, contract, generator}},
	"api":                      {inside: []string{"api/pairing", "api/still", "colorimetry", "colorimetry/spectrumfile", "logbook", "logbook/advice", "logbook/amend", "logbook/cameras", "logbook/colorlog", "logbook/deviation", "logbook/exchange", "logbook/figure", "logbook/glance", "logbook/kinds", "logbook/lighting", "logbook/picture", "logbook/setup", "logbook/slate", "openapi"}, outside: []string{echo, contract, generator, "github.com/google/uuid"}},
	"api/pairing":              {inside: []string{"logbook"}, outside: []string{"github.com/golang-jwt/jwt/v5", "github.com/google/uuid"}},
	"api/still":                {inside: []string{"colorimetry"}, outside: []string{"golang.org/x/image"}, pure: true},
	"server":                   {inside: []string{"api", "api/pairing", "logbook", "logbook/bolt", "logbook/colorlog", "logbook/exchange", "logbook/kinds", "server/colour", "server/command", "server/demo"}},
	"server/colour":            {inside: []string{"colorimetry", "colorimetry/spectrumfile", "logbook", "logbook/figure", "logbook/kinds", "logbook/setup", "server/command"}},
	"server/command":           {},
	"server/demo":              {inside: []string{"logbook", "logbook/kinds"}, outside: []string{"regexp"}, pure: true},
	"testdata/benchlines":      {},
	"testdata/setlog":          {},
	"testdata/yardstick":       {outside: []string{"go.etcd.io/bbolt"}},
	"logbook/glance":           {inside: []string{"colorimetry", "logbook", "logbook/cameras", "logbook/deviation", "logbook/figure", "logbook/kinds", "logbook/lighting", "logbook/setup"}, pure: true},
	"logbook/advice":           {inside: []string{"colorimetry", "logbook", "logbook/cameras", "logbook/figure", "logbook/kinds", "logbook/lighting", "logbook/setup"}, pure: true},
	"logbook/deviation":        {inside: []string{"colorimetry", "logbook", "logbook/cameras", "logbook/figure", "logbook/kinds", "logbook/lighting", "logbook/setup"}, pure: true},
	"logbook/slate":            {inside: []string{"logbook", "logbook/amend", "logbook/cameras", "logbook/kinds", "logbook/setup"}, pure: true},
	"logbook/setup":            {inside: []string{"colorimetry", "logbook", "logbook/cameras", "logbook/figure", "logbook/kinds", "logbook/lighting"}, pure: true},
	"logbook/cameras":          {inside: []string{"colorimetry", "logbook", "logbook/figure", "logbook/kinds", "logbook/lighting"}, pure: true},
	"logbook/lighting":         {inside: []string{"colorimetry", "logbook", "logbook/figure", "logbook/kinds"}, pure: true},
	"logbook/figure":           {inside: []string{"colorimetry", "logbook"}, pure: true},
	"logbook/exchange":         {inside: []string{"logbook"}, pure: true},
	"logbook/amend":            {inside: []string{"logbook", "logbook/kinds"}, pure: true},
	"logbook/kinds":            {inside: []string{"logbook"}, pure: true},
}

const (
	echo      = "github.com/labstack/echo/v4"
	contract  = "github.com/getkin/kin-openapi"
	generator = "github.com/oapi-codegen/runtime"
)

// forTests are the modules that tests of any room may import as well.
var forTests = []string{contract, "golang.org/x/image", "github.com/rogpeppe/go-internal", "github.com/santhosh-tekuri/jsonschema/v6", "pgregory.net/rapid"}

// impure are what a pure room must not know.
var impure = []string{
	"crypto/rand", "log", "log/slog", "math/rand", "math/rand/v2", "net", "net/http", "os", "os/exec", "os/signal",
	"syscall", "syscall/js",
}

// heavy are what every build for a phone would carry: a pure room that may import one
// names it in its row.
var heavy = []string{"encoding/xml", "regexp"}

// clocks are the functions of package time that look at one.
var clocks = []string{"After", "AfterFunc", "NewTicker", "NewTimer", "Now", "Since", "Sleep", "Tick", "Until"}

const module = "evenwhite"

// transgressions lists what a file of a room must not hold.
func (r room) transgressions(folder string, isTest bool, f *ast.File) (list []string) {
	for _, spec := range f.Imports {
		name, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			list = append(list, "imports "+spec.Path.Value)
			continue
		}
		if !r.allows(folder, name, isTest) {
			list = append(list, "imports "+name)
		}
	}
	if !r.pure || isTest {
		return list
	}
	ast.Inspect(f, func(n ast.Node) bool {
		if s, ok := n.(*ast.SelectorExpr); ok {
			if x, ok := s.X.(*ast.Ident); ok && x.Name == "time" && slices.Contains(clocks, s.Sel.Name) {
				list = append(list, "uses time."+s.Sel.Name)
			}
		}
		return true
	})
	return list
}

func (r room) allows(folder, name string, isTest bool) bool {
	if name == module+"/server" {
		return false
	}
	if inside, ok := strings.CutPrefix(name, module+"/"); ok {
		return isTest || slices.Contains(r.inside, inside) || inside == folder
	}
	if first, _, _ := strings.Cut(name, "/"); !strings.Contains(first, ".") {
		refused := slices.Contains(impure, name) || slices.Contains(heavy, name) && !slices.Contains(r.outside, name)
		return !r.pure || isTest || !refused
	}
	allowed := r.outside
	if isTest {
		allowed = slices.Concat(r.outside, forTests)
	}
	return slices.ContainsFunc(allowed, func(m string) bool { return name == m || strings.HasPrefix(name, m+"/") })
}

func TestArrows(t *testing.T) {
	files := make(map[string]int)
	err := filepath.WalkDir("..", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && strings.HasPrefix(d.Name(), ".") && d.Name() != ".." {
			return filepath.SkipDir
		}
		if d.IsDir() || filepath.Ext(name) != ".go" {
			return nil
		}
		rel, err := filepath.Rel("..", name)
		if err != nil {
			return err
		}
		folder := path.Dir(filepath.ToSlash(rel))
		r, ok := rooms[folder]
		if files[folder]++; !ok && files[folder] == 1 {
			t.Errorf("folder %s has no row in the table of arrows", folder)
		}
		if !ok {
			return nil
		}
		source, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		if bytes.HasPrefix(source, []byte("//go:build ignore\n")) {
			r.pure = false // a program beside the room that makes a part of it
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, source, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		for _, what := range r.transgressions(folder, strings.HasSuffix(name, "_test.go"), f) {
			t.Errorf("%s %s, which its room may not", rel, what)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for folder := range rooms {
		if files[folder] == 0 {
			t.Errorf("the table of arrows has a row for %s, where no Go file is", folder)
		}
	}
}

func TestArrowsFindTransgressions(t *testing.T) {
	for _, c := range []struct {
		name, folder, source string
		isTest               bool
		want                 string
	}{
		{"a pure room reads the clock", "logbook", `import "time"; var _ = time.Now()`, false, "uses time.Now"},
		{"a pure room may hold a time", "logbook", `import "time"; var _ time.Time`, false, ""},
		{"a pure room opens a file", "colorimetry", `import "os"; var _ = os.Open`, false, "imports os"},
		{"a test of a pure room opens a file", "colorimetry", `import "os"; var _ = os.Open`, true, ""},
		{"a pure room takes chances", "logbook", `import "math/rand/v2"; var _ = rand.Int`, false, "imports math/rand/v2"},
		{"the log reads by patterns", "logbook", `import _ "regexp"`, false, "imports regexp"},
		{"a room that may read XML", "colorimetry/spectrumfile", `import _ "encoding/xml"`, false, ""},
		{"the log knows the database", "logbook", `import _ "go.etcd.io/bbolt"`, false, "imports go.etcd.io/bbolt"},
		{"a test of the program knows the database", "server", `import _ "go.etcd.io/bbolt"`, true, "imports go.etcd.io/bbolt"},
		{"the program knows the router", "server", `import _ "github.com/labstack/echo/v4/middleware"`, false, "imports github.com/labstack/echo/v4/middleware"},
		{"the door knows the router", "api", `import _ "github.com/labstack/echo/v4/middleware"`, false, ""},
		{"the door knows what a token is", "api", `import _ "github.com/golang-jwt/jwt/v5"`, false, "imports github.com/golang-jwt/jwt/v5"},
		{"pairing knows the router", "api/pairing", `import _ "github.com/labstack/echo/v4"`, false, "imports github.com/labstack/echo/v4"},
		{"colour knows the log", "colorimetry", `import _ "evenwhite/logbook"`, false, "imports evenwhite/logbook"},
		{"somebody knows the program", "api", `import _ "evenwhite/server"`, true, "imports evenwhite/server"},
		{"a name that only begins alike", "api", `import _ "github.com/labstack/echo/v44"`, false, "imports github.com/labstack/echo/v44"},
	} {
		t.Run(c.name, func(t *testing.T) {
			f, err := parser.ParseFile(token.NewFileSet(), "x.go", "package x\n"+c.source, 0)
			if err != nil {
				t.Fatal(err)
			}
			got := strings.Join(rooms[c.folder].transgressions(c.folder, c.isTest, f), "; ")
			if got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}
