//go:build ignore

// Generate writes answers.gen.go of this room and of logbook/handset from the types of the answers,
// which it reads from their source: so it runs while what it writes does not fit them.
//
//	go run generate.go [FOLDER]
//
// writes both into their rooms, or as answers.gen.go and handset.gen.go into FOLDER.
package main

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/format"
	"go/parser"
	"go/token"
	"go/types"
	"log"
	"os"
	"path"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
)

// answers are what the rooms answer; ofHandset are what the messages of a phone are answered with beside
// them.
var answers = []string{
	"glance.SetUpNow", "glance.Verdicts", "glance.Supposed", "glance.SetUpPlane", "glance.SetUpSwatches",
	"advice.SetUpPlan", "advice.Matched", "advice.ClipCorrections", "slate.Next", "deviation.List",
	"review.RecordsPage", "review.History", "review.ConflictsPage", "review.TwinsPage", "review.Quarantine",
	"lighting.ReadingColor", "lighting.LampLearnt", "lighting.GelLearnt", "lighting.MeterLearnt",
	"cameras.SampleColor", "cameras.StillReading", "setup.SetUpDrift",
}

var ofHandset = []string{
	"State", "Held", "Prepared", "Form", "Judged", "Written", "Findings", "SetUps", "Takes", "Clips", "Record", "Waits",
	"Asked", "Taken", "Bundled", "Fault",
}

const (
	module  = "evenwhite/logbook"
	own     = module + "/answers"
	handset = module + "/handset"
)

func main() {
	log.SetFlags(0)
	here, there := "answers.gen.go", "../handset/answers.gen.go"
	if len(os.Args) > 1 {
		here, there = filepath.Join(os.Args[1], "answers.gen.go"), filepath.Join(os.Args[1], "handset.gen.go")
	}
	all := rooms{}
	below := &file{room: own, done: map[string]bool{}}
	phone := &file{room: handset, done: map[string]bool{}, below: below}
	for _, name := range ofHandset {
		phone.root(all.root("handset"), name)
	}
	for _, root := range answers {
		room, name, _ := strings.Cut(root, ".")
		below.root(all.root(room), name)
	}
	phone.write(there)
	below.write(here)
}

// rooms reads the types of this module from its source. Of other modules it knows those that answers
// hold; whatever else stays undefined is told where an answer has it.
type rooms map[string]*types.Package

var others = map[string]*types.TypeName{
	"time":          types.NewTypeName(token.NoPos, types.NewPackage("time", "time"), "Time", nil),
	"encoding/json": types.NewTypeName(token.NoPos, types.NewPackage("encoding/json", "json"), "RawMessage", nil),
}

func (r rooms) Import(room string) (*types.Package, error) {
	if of, ok := r[room]; ok {
		return of, nil
	}
	r[room] = types.NewPackage(room, path.Base(room))
	if other, ok := others[room]; ok {
		types.NewNamed(other, types.NewStruct(nil, nil), nil)
		r[room] = other.Pkg()
		r[room].Scope().Insert(other)
	}
	folder, ok := strings.CutPrefix(room, "evenwhite/")
	if !ok || room == own {
		r[room].MarkComplete()
		return r[room], nil
	}
	names, err := filepath.Glob(filepath.Join("..", "..", folder, "*.go"))
	if err != nil || len(names) == 0 {
		log.Fatalf("%s: no Go files (%v)", room, err)
	}
	var parsed []*ast.File
	files := token.NewFileSet()
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") || strings.HasSuffix(name, ".gen.go") {
			continue
		}
		f, err := parser.ParseFile(files, name, nil, parser.SkipObjectResolution)
		if err != nil {
			log.Fatal(err)
		}
		parsed = append(parsed, f)
	}
	config := types.Config{Importer: r, IgnoreFuncBodies: true, Error: func(error) {}}
	r[room], _ = config.Check(room, files, parsed, nil)
	return r[room], nil
}

func (r rooms) root(room string) *types.Package {
	of, _ := r.Import(module + "/" + room)
	return of
}

// most is how many members the Writer takes of a struct.
const most = 32

// A file is what is generated for a room: the cases of three switches.
type file struct {
	room    string
	below   *file // for types of other rooms
	done    map[string]bool
	structs []string
	lists   []string
	maps    []string
}

func (f *file) root(of *types.Package, name string) {
	found := of.Scope().Lookup(name)
	if found == nil {
		log.Fatalf("%s has no type %s", of.Path(), name)
	}
	f.knows(found.Type())
}

// spelled is a type as the file names it.
func (f *file) spelled(t types.Type) string {
	return types.TypeString(t, func(p *types.Package) string {
		if p.Path() == f.room {
			return ""
		}
		return p.Name()
	})
}

// knows adds a type to the file of its room.
func (f *file) knows(t types.Type) {
	if f.below != nil && !strings.Contains(types.TypeString(t, nil), f.room+".") {
		f.below.knows(t)
		return
	}
	called := f.spelled(t)
	if f.done[called] {
		return
	}
	f.done[called] = true
	switch of := t.(type) {
	case *types.Named:
		f.structs = append(f.structs, f.structCase(of, called))
	case *types.Slice:
		f.list(called, "*v != nil", of.Elem())
	case *types.Array:
		f.list(called, "true", of.Elem())
	case *types.Map:
		if f.below == nil || f.spelled(of.Key()) != "string" {
			log.Fatalf("%s cannot be part of an answer: only a map of strings that is of a type of logbook/handset can", t)
		}
		f.knows(of.Elem())
		f.maps = append(f.maps, fmt.Sprintf("case *%s:\nif *v != nil {\nfor key := range *v {\nkeys = append(keys, key)\n}\n"+
			"return keys, func(key string) any {\none := (*v)[key]\nreturn &one\n}\n}\n", called))
	default:
		log.Fatalf("%s cannot be part of an answer", t)
	}
}

// list adds a list. Its index is compared without a sign, so that the compiler need not look at it again.
func (f *file) list(called, there string, of types.Type) {
	const form = "case *%s:\nif list = %s; uint(i) < uint(len(*v)) {\nreturn %s, true\n}\n"
	f.lists = append(f.lists, fmt.Sprintf(form, called, there, f.element(of)))
}

// element is where an element of a list lies.
func (f *file) element(of types.Type) string {
	if simple(of) {
		return "&(*v)[i]"
	}
	if basic := basicOf(of); basic != "" {
		return "(*" + basic + ")(&(*v)[i])"
	}
	f.knows(of)
	return "&(*v)[i]"
}

func (f *file) structCase(t *types.Named, called string) string {
	of, ok := t.Underlying().(*types.Struct)
	if !ok || writesItself(t) {
		log.Fatalf("%s cannot be part of an answer: give the writer a case for it", t)
	}
	p := &printer{file: f, about: t.String(), known: map[string]bool{}}
	p.members("v", of)
	if len(p.ats) == 0 || len(p.ats) > most {
		log.Fatalf("%s has %d members: want 1 to %d", t, len(p.ats), most)
	}
	var b strings.Builder
	fmt.Fprintf(&b, "case *%s:\nif v != nil {\n", called)
	for i, at := range p.ats {
		fmt.Fprintf(&b, "m[%d] = %s\n", i, at)
	}
	fmt.Fprintf(&b, "return \"%s\", m\n}\n", strings.Join(p.names, " "))
	return b.String()
}

func (f *file) write(to string) {
	var body strings.Builder
	one := func(head string, cases []string, rest string) {
		slices.Sort(cases)
		fmt.Fprintf(&body, "\nfunc %s {\nswitch v := at.(type) {\n%s}\nreturn %s\n}\n", head, strings.Join(cases, ""), rest)
	}
	members := "Members"
	if f.below != nil {
		members = path.Base(own) + ".Members"
	}
	one("members(at any) (names string, m "+members+")", f.structs, "names, m")
	one("element(at any, i int) (one any, list bool)", f.lists, "one, list")
	if len(f.maps) > 0 {
		one("keys(at any) (keys []string, of func(string) any)", f.maps, "keys, of")
	}
	var out bytes.Buffer
	out.WriteString("// Code generated by logbook/answers/generate.go from the types of the answers. DO NOT EDIT.\n\n")
	fmt.Fprintf(&out, "package %s\n\nimport (\n", path.Base(f.room))
	for _, of := range []string{"encoding/json", "", module, module + "/advice", own, module + "/cameras", module + "/deviation",
		module + "/figure",
		module + "/glance", module + "/lighting", module + "/review", module + "/setup", module + "/slate"} {
		switch {
		case of == "":
			out.WriteString("\n")
		case strings.Contains(body.String(), path.Base(of)+"."):
			fmt.Fprintf(&out, "%q\n", of)
		}
	}
	out.WriteString(")\n" + body.String())
	text, err := format.Source(out.Bytes())
	if err != nil {
		log.Fatalf("%v in\n%s", err, out.String())
	}
	if err := os.WriteFile(to, text, 0o644); err != nil {
		log.Fatal(err)
	}
}

// A printer lists the members of a struct.
type printer struct {
	*file
	about string
	known map[string]bool // the names of members
	names []string
	ats   []string
}

func (p *printer) wrong(at string, t types.Type, why string) {
	log.Fatalf("%s: %s: %s %s", p.about, at, t, why)
}

func (p *printer) members(of string, s *types.Struct) {
	for i := range s.NumFields() {
		field := s.Field(i)
		name, options, _ := strings.Cut(reflect.StructTag(s.Tag(i)).Get("json"), ",")
		at := of + "." + field.Name()
		switch {
		case name == "-" && options == "":
		case field.Embedded() && name == "":
			inner, ok := field.Type().Underlying().(*types.Struct)
			if !ok {
				p.wrong(at, field.Type(), "is embedded and no struct")
			}
			p.members(at, inner)
		case !field.Exported():
		case !regexp.MustCompile(`^\w+$`).MatchString(name) || p.known[name]:
			p.wrong(at, field.Type(), "needs a name of its own in its tag json, of letters and digits")
		default:
			p.known[name] = true
			p.member(name, at, field.Type(), options)
		}
	}
}

func (p *printer) member(name, at string, t types.Type, options string) {
	if options != "" && !canBeLeftOut(t, options) {
		p.wrong(at, t, "cannot be left out by "+options)
	}
	basic := basicOf(t)
	pointer, isPointer := t.(*types.Pointer)
	switch {
	case simple(t):
		at = "&" + at
	case basic != "":
		at = "(*" + basic + ")(&" + at + ")"
	case isPointer:
		p.knows(pointer.Elem())
	default:
		p.knows(t)
		at = "&" + at
	}
	if options != "" {
		name += "?"
	}
	p.names, p.ats = append(p.names, name), append(p.ats, at)
}

// canBeLeftOut says which types are left out here as encoding/json leaves them out.
func canBeLeftOut(t types.Type, options string) bool {
	switch options {
	case "omitempty":
		switch t.Underlying().(type) {
		case *types.Basic, *types.Pointer, *types.Slice, *types.Map:
			return true
		}
		return types.TypeString(t, nil) == "encoding/json.RawMessage"
	case "omitzero":
		name := types.TypeString(t, nil)
		return name == "time.Time" || name == module+".ID"
	}
	return false
}

// basicOf is the basic type that the Writer writes a type as, or nothing.
func basicOf(t types.Type) string {
	if n, ok := t.(*types.Named); ok && writesItself(n) {
		return ""
	}
	if basic, ok := t.Underlying().(*types.Basic); ok {
		switch basic.Kind() {
		case types.String, types.Bool, types.Int, types.Float64:
			return basic.Name()
		}
	}
	return ""
}

// simple reports whether the Writer itself writes a type.
func simple(t types.Type) bool {
	switch types.TypeString(t, nil) {
	case "string", "float64", "int", "bool", "*float64", "*bool", "time.Time", "*time.Time", "encoding/json.RawMessage",
		module + ".ID", "*" + module + ".Edit":
		return true
	}
	return false
}

// writesItself reports whether a type says itself how it is written, or when it is zero.
func writesItself(n *types.Named) bool {
	for m := range n.Methods() {
		if slices.Contains([]string{"MarshalJSON", "MarshalText", "IsZero"}, m.Name()) {
			return true
		}
	}
	return false
}
