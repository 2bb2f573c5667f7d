package main

import (
	"bytes"
	"flag"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// A room is a folder and what its files may import beside the standard library.
type room struct {
	inside  string   // folders of this module, each of which it does import
	outside []string // modules of others, and what is heavy
	pure    bool     // no file, socket, clock or chance
}

// rooms is the table of arrows. A folder without a row fails, and so does an arrow that
// nobody uses.
var rooms = map[string]room{
	// The arithmetic.
	"colorimetry/tables":       {pure: true},
	"colorimetry":              {inside: "colorimetry/tables", pure: true},
	"colorimetry/spectrumfile": {inside: "colorimetry", outside: heavy, pure: true},

	// The engine.
	"logbook":          {pure: true},
	"logbook/exchange": {inside: "logbook", pure: true},
	"logbook/states":   {inside: "logbook", pure: true},
	"logbook/bolt":     {inside: "logbook", outside: []string{"go.etcd.io/bbolt"}},
	"logbook/etcd":     {inside: "logbook", outside: []string{"go.etcd.io/etcd", "go.uber.org/zap", "google.golang.org/grpc"}},

	// The stair, from the bottom.
	"logbook/kinds":    {inside: "logbook", pure: true},
	"logbook/amend":    {inside: "logbook logbook/kinds", pure: true},
	"logbook/figure":   {inside: "colorimetry logbook", pure: true},
	"logbook/lighting": {inside: "colorimetry logbook logbook/figure logbook/kinds", pure: true},
	"logbook/cameras":  {inside: "colorimetry logbook logbook/figure logbook/kinds logbook/lighting", pure: true},
	"logbook/setup":    {inside: "colorimetry logbook logbook/cameras logbook/figure logbook/kinds logbook/lighting", pure: true},

	// The questions.
	"logbook/deviation": {inside: "colorimetry logbook logbook/cameras logbook/figure logbook/kinds logbook/lighting logbook/setup",
		pure: true},
	"logbook/advice": {inside: "colorimetry logbook logbook/cameras logbook/figure logbook/kinds logbook/lighting logbook/setup",
		pure: true},
	"logbook/slate": {inside: "logbook logbook/amend logbook/cameras logbook/kinds logbook/lighting logbook/setup " +
		"logbook/timecode", pure: true},

	"logbook/review": {inside: "logbook logbook/amend logbook/kinds logbook/setup", pure: true},
	"logbook/glance": {inside: "colorimetry logbook logbook/cameras logbook/deviation logbook/figure logbook/kinds logbook/lighting " +
		"logbook/setup logbook/timecode", pure: true},

	"logbook/footage": {inside: "logbook logbook/kinds logbook/lighting", outside: heavy[:1], pure: true},

	// Handed out.
	"logbook/timecode": {pure: true},
	"logbook/zone":     {pure: true},
	"logbook/colorlog": {inside: "logbook logbook/advice logbook/amend logbook/cameras logbook/deviation logbook/figure logbook/glance " +
		"logbook/kinds logbook/lighting logbook/setup logbook/slate logbook/states logbook/zone", pure: true},
	"logbook/rigging": {inside: "logbook logbook/amend logbook/figure logbook/kinds logbook/lighting logbook/setup logbook/zone", pure: true},
	"logbook/rebuild": {inside: "logbook logbook/cameras logbook/figure logbook/kinds logbook/lighting logbook/rigging logbook/setup", pure: true},
	"logbook/wrap": {inside: "logbook logbook/amend logbook/deviation logbook/figure logbook/kinds logbook/lighting logbook/rigging " +
		"logbook/setup", pure: true},
	"logbook/paper": {inside: "logbook/rebuild logbook/rigging", pure: true},
	"logbook/sheet": {pure: true},
	"logbook/handover": {inside: "logbook logbook/cameras logbook/colorlog logbook/deviation logbook/figure logbook/glance logbook/kinds " +
		"logbook/lighting logbook/picture logbook/setup logbook/sheet", outside: heavy[:1], pure: true},
	"logbook/comparison": {inside: "logbook logbook/colorlog logbook/kinds logbook/states", pure: true},
	"logbook/picture":    {inside: "colorimetry colorimetry/tables logbook/figure logbook/glance logbook/setup", pure: true},
	"logbook/answers": {inside: "logbook logbook/advice logbook/cameras logbook/deviation logbook/figure logbook/glance logbook/lighting " +
		"logbook/review logbook/setup logbook/slate", pure: true},
	"logbook/handset": {inside: "colorimetry logbook logbook/advice logbook/amend logbook/answers logbook/cameras logbook/deviation " +
		"logbook/exchange logbook/figure logbook/glance logbook/kinds logbook/lighting logbook/picture logbook/review " +
		"logbook/setup logbook/slate", pure: true},
	"openapi": {inside: "logbook logbook/kinds logbook/slate", outside: []string{echo, contract, generator, "go.yaml.in/yaml/v4"}},

	// The contract kept.
	"api/door":    {},
	"api/link":    {inside: "logbook", outside: []string{"github.com/google/uuid"}},
	"api/page":    {outside: []string{contract}, pure: true},
	"api/quota":   {},
	"api/still":   {inside: "colorimetry", outside: []string{"golang.org/x/image"}, pure: true},
	"api/pairing": {inside: "api/pairing/audit api/pairing/proof logbook", outside: []string{"github.com/golang-jwt/jwt/v5", "github.com/google/uuid"}},
	"api": {inside: "api/door api/link api/page api/pairing api/pairing/audit api/quota api/still api/uplink " +
		"colorimetry colorimetry/spectrumfile " +
		"logbook logbook/advice logbook/amend logbook/answers logbook/cameras logbook/colorlog logbook/comparison logbook/deviation " +
		"logbook/exchange logbook/figure " +
		"logbook/footage logbook/glance logbook/handover logbook/kinds logbook/lighting logbook/paper logbook/picture logbook/rebuild " +
		"logbook/review logbook/rigging logbook/setup logbook/slate logbook/states logbook/wrap openapi api/removal",
		outside: []string{echo, contract, generator, "github.com/google/uuid"}},

	"api/removal":       {inside: "logbook logbook/colorlog logbook/exchange logbook/kinds logbook/states"},
	"api/uplink":        {inside: "api/pairing/proof logbook logbook/exchange logbook/kinds"},
	"api/pairing/audit": {inside: "logbook"},
	"api/pairing/proof": {outside: []string{"github.com/golang-jwt/jwt/v5"}, pure: true},

	// The program.
	"server/command": {},
	"server/colour":  {inside: "colorimetry colorimetry/spectrumfile logbook logbook/figure logbook/kinds logbook/setup server/command"},
	"server/demo":    {inside: "logbook logbook/kinds", outside: []string{"regexp"}, pure: true},
	"server/desk":    {inside: "api/door server/look server/qr"},
	"server/lan":     {},
	"server/look":    {inside: "api/door"},
	"server/qr":      {outside: []string{"github.com/piglig/go-qr"}},
	"server": {inside: "api api/door api/pairing api/pairing/audit api/quota api/removal logbook logbook/bolt logbook/colorlog " +
		"logbook/comparison " +
		"logbook/exchange logbook/footage logbook/glance logbook/handover logbook/kinds logbook/rigging logbook/states " +
		"logbook/wrap logbook/etcd server/colour " +
		"server/command server/demo server/desk server/doctor server/lan server/lan/authority server/lan/name server/lan/trust " +
		"server/phone server/qr server/seal api/uplink"},
	"server/phone":              {inside: "api/door logbook/picture", outside: []string{"regexp"}},
	"server/phone/engine":       {inside: "logbook/handset"}, // the one room that knows syscall/js
	"server/phone/engine/build": {},

	"server/phone/engine/build/testdata/fault": {},

	"server/seal":          {outside: []string{"filippo.io/age"}},
	"server/lan/authority": {inside: "server/lan"},
	"server/doctor":        {inside: "server/lan server/lan/authority server/lan/name"},
	"server/lan/lantest":   {},
	"server/lan/name":      {outside: []string{"golang.org/x/net"}},
	"server/lan/trust":     {inside: "api/door server/look"},

	// For tests alone.
	"logbook/overlay":       {},
	"logbook/needed":        {},
	"server/browsertest":    {inside: "logbook/needed"},
	"logbook/storetest":     {inside: "logbook", outside: []string{"pgregory.net/rapid"}},
	"logbook/logtest":       {inside: "logbook", outside: []string{"pgregory.net/rapid"}, pure: true},
	"logbook/days":          {},
	"logbook/etcd/etcdtest": {inside: "logbook/needed", outside: []string{"go.etcd.io/etcd", "go.uber.org/zap"}},
	"logbook/amendtest":     {inside: "logbook logbook/amend logbook/kinds logbook/logtest", pure: true},
	"logbook/growth":        {inside: "logbook logbook/bolt logbook/kinds logbook/logtest"},
	"logbook/stage":         {inside: "colorimetry logbook logbook/advice logbook/deviation logbook/figure logbook/kinds logbook/lighting logbook/setup"},
	"testdata/benchlines":   {},
	"testdata/clients/go":   {outside: []string{generator, "day/contract"}}, // a module of its own
	"testdata/rooms":        {outside: []string{"golang.org/x/tools"}},
	"testdata/setlog":       {},
	"testdata/yardstick":    {outside: []string{"go.etcd.io/bbolt"}},

	"api/pairing/prooftest": {},
}

// stair are the rooms that know the film set, from the bottom: each may import those
// before it only. The questions stand side by side.
var stair = []string{
	"kinds", "amend", "figure", "lighting", "cameras", "setup", "deviation", "advice", "slate", "review", "glance", "footage", "rigging",
	"rebuild", "wrap", "paper", "colorlog", "picture", "handover", "comparison", "answers", "handset",
}

var questions = []string{"deviation", "advice", "slate"}

// engine are the rooms that know no film set and no colour.
var engine = []string{"logbook", "logbook/exchange", "logbook/bolt", "logbook/etcd", "logbook/storetest", "logbook/logtest"}

// outsideLogbook are the rooms that stand above the stair.
var outsideLogbook = regexp.MustCompile(`^(api|openapi|server)(/|$)`)

// againstTheStair lists the rows of a table that break its two rules: the engine knows no
// film set, and questions do not ask each other; and arrows that point upward.
func againstTheStair(rooms map[string]room) (list []string) {
	storey := func(folder string) int { return slices.Index(stair, strings.TrimPrefix(folder, "logbook/")) }
	for folder, r := range rooms {
		for _, other := range strings.Fields(r.inside) {
			switch from, to := storey(folder), storey(other); {
			case slices.Contains(engine, folder) && !slices.Contains(engine, other):
				list = append(list, folder+" is of the engine and may not import "+other)
			case from >= 0 && (to >= from || outsideLogbook.MatchString(other)):
				list = append(list, folder+" imports "+other+", which stands above it")
			case from >= 0 && slices.Contains(questions, stair[from]) && to >= 0 && slices.Contains(questions, stair[to]):
				list = append(list, folder+" is a question and may not import "+other)
			}
		}
	}
	slices.Sort(list)
	return list
}

func TestTheRoomsMakeAStair(t *testing.T) {
	for _, what := range againstTheStair(rooms) {
		t.Error(what)
	}
	for _, name := range stair {
		if _, ok := rooms["logbook/"+name]; !ok {
			t.Errorf("the stair names %s, which has no row", name)
		}
	}
	t.Run("and what breaks it is found", func(t *testing.T) {
		for _, c := range []struct{ folder, inside, want string }{
			{"logbook/setup", "logbook/glance", "which stands above it"},
			{"logbook/kinds", "logbook/kinds/more logbook/figure", "which stands above it"},
			{"logbook/deviation", "logbook/advice", "which stands above it"},
			{"logbook/advice", "logbook/deviation", "is a question"},
			{"logbook/slate", "logbook/setup logbook/advice", "is a question"},
			{"logbook/exchange", "logbook logbook/kinds", "is of the engine"},
			{"logbook", "colorimetry", "is of the engine"},
			{"logbook/picture", "api", "which stands above it"},
			{"logbook/glance", "logbook/deviation colorimetry", ""},
		} {
			got := strings.Join(againstTheStair(map[string]room{c.folder: {inside: c.inside}}), "; ")
			if c.want == "" && got != "" || !strings.Contains(got, c.want) {
				t.Errorf("%s imports %s: got %q, want %q", c.folder, c.inside, got, c.want)
			}
		}
	})
}

// onPaper are the rooms of the stair that hand something out as a file or a page: a phone asks the
// server for it.
var onPaper = []string{"footage", "rigging", "rebuild", "wrap", "paper", "colorlog", "handover", "comparison"}

// onPhones are the rooms that run on a phone as well; what is handed out as a file is not
// made there, and files of footage are not looked at.
func onPhones() []string {
	list := []string{"colorimetry", "logbook", "logbook/exchange"}
	for _, name := range stair {
		if !slices.Contains(onPaper, name) {
			list = append(list, "logbook/"+name)
		}
	}
	return list
}

var phoneRooms = flag.String("rooms.phone", "", "write the rooms that run on a phone into this file, one a line")

func TestRoomsOnPhonesArePure(t *testing.T) {
	var list []string
	for _, folder := range onPhones() {
		list = append(list, "./"+folder)
		for _, below := range append(strings.Fields(rooms[folder].inside), folder) {
			if r, ok := rooms[below]; !ok || !r.pure {
				t.Errorf("%s runs on a phone, and %s is not pure", folder, below)
			}
		}
	}
	if *phoneRooms == "" {
		return
	}
	if err := os.WriteFile(*phoneRooms, []byte(strings.Join(list, "\n")+"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
}

const (
	echo      = "github.com/labstack/echo/v4"
	contract  = "github.com/getkin/kin-openapi"
	generator = "github.com/oapi-codegen/runtime"
)

// forTests are the modules that tests of any room may import as well.
var forTests = []string{
	"golang.org/x/text",
	contract, "golang.org/x/image", "github.com/rogpeppe/go-internal", "github.com/santhosh-tekuri/jsonschema/v6", "pgregory.net/rapid",
}

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
		return isTest || slices.Contains(strings.Fields(r.inside), inside) || inside == folder
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
	files, used := make(map[string]int), make(map[[2]string]bool)
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
		isTest := strings.HasSuffix(name, "_test.go")
		for _, spec := range f.Imports {
			if inside, ok := strings.CutPrefix(strings.Trim(spec.Path.Value, `"`), module+"/"); ok && !isTest {
				used[[2]string{folder, inside}] = true
			}
		}
		for _, what := range r.transgressions(folder, isTest, f) {
			t.Errorf("%s %s, which its room may not", rel, what)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for folder, r := range rooms {
		if files[folder] == 0 {
			t.Errorf("the table of arrows has a row for %s, where no Go file is", folder)
		}
		for _, inside := range strings.Fields(r.inside) {
			if !used[[2]string{folder, inside}] {
				t.Errorf("the table of arrows lets %s import %s, which it does not", folder, inside)
			}
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
