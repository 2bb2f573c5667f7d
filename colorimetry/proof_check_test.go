package colorimetry

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// sourceCode is the package as written, with the readers of files below it: what each
// function and variable mentions, by bare name.
type sourceCode struct {
	exported []string             // "Name" or "Type.Name", of the product
	fails    []string             // of these, those that return an error
	tests    map[string]bool      // names of tests and fuzz tests
	mentions map[string][]mention // by name of a function, method or variable
}

// mention is a name that stands alone, a name after a dot (as method names do), a
// text, or a loop.
type mention struct {
	name          string
	dotted, quote bool
	loop          bool
}

func readSourceCode(t *testing.T) *sourceCode {
	t.Helper()
	var paths []string
	for _, pattern := range []string{"*.go", "spectrumfile/*.go"} {
		found, err := filepath.Glob(pattern)
		if err != nil || len(found) == 0 {
			t.Fatalf("no source code in %s: %v", pattern, err)
		}
		paths = append(paths, found...)
	}
	code := &sourceCode{tests: map[string]bool{}, mentions: map[string][]mention{}}
	for _, path := range paths {
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range file.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				code.add(d, strings.HasSuffix(path, "_test.go"))
			case *ast.GenDecl:
				for _, s := range d.Specs {
					if v, is := s.(*ast.ValueSpec); is {
						for _, name := range v.Names {
							code.mentions[name.Name] = append(code.mentions[name.Name], mentionsIn(v)...)
						}
					}
				}
			}
		}
	}
	return code
}

func (c *sourceCode) add(d *ast.FuncDecl, test bool) {
	name := d.Name.Name
	c.mentions[name] = append(c.mentions[name], mentionsIn(d.Body)...)
	switch {
	case test && (strings.HasPrefix(name, "Test") || strings.HasPrefix(name, "Fuzz")):
		c.tests[name] = true
	case !test && d.Name.IsExported():
		if d.Recv != nil {
			kind := d.Recv.List[0].Type
			if star, is := kind.(*ast.StarExpr); is {
				kind = star.X
			}
			if of, is := kind.(*ast.Ident); is && of.IsExported() {
				name = of.Name + "." + name
			} else {
				return
			}
		}
		c.exported = append(c.exported, name)
		if results := d.Type.Results; results != nil {
			if last, is := results.List[len(results.List)-1].Type.(*ast.Ident); is && last.Name == "error" {
				c.fails = append(c.fails, name)
			}
		}
	}
}

// calls is the mention of an exported function.
func calls(function string) func(mention) bool {
	_, method, dotted := strings.Cut(function, ".")
	if !dotted {
		method = function
	}
	return func(m mention) bool { return m.name == method && m.dotted == dotted && !m.quote }
}

func mentionsIn(n ast.Node) (found []mention) {
	ast.Inspect(n, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.SelectorExpr:
			found = append(found, mention{name: n.Sel.Name, dotted: true})
			found = append(found, mentionsIn(n.X)...)
			return false
		case *ast.Ident:
			found = append(found, mention{name: n.Name})
		case *ast.BasicLit:
			if text, err := strconv.Unquote(n.Value); n.Kind == token.STRING && err == nil {
				found = append(found, mention{name: text, quote: true})
			}
		case *ast.ForStmt, *ast.RangeStmt:
			found = append(found, mention{loop: true})
		}
		return true
	})
	return found
}

// reach goes from a test through everything that it calls in this package, and
// reports whether some mention on the way is wanted.
func (c *sourceCode) reach(from string, wanted func(mention) bool) bool {
	seen, todo := map[string]bool{from: true}, []string{from}
	for len(todo) > 0 {
		var name string
		name, todo = todo[0], todo[1:]
		for _, m := range c.mentions[name] {
			if wanted(m) {
				return true
			}
			if _, here := c.mentions[m.name]; here && !m.quote && !seen[m.name] {
				seen[m.name] = true
				todo = append(todo, m.name)
			}
		}
	}
	return false
}

// faults says what is wrong with a row.
func (c *sourceCode) faults(function string, p proof, listed string) (faults []string) {
	for what, test := range map[string]string{"check": p.check, "property": p.property} {
		switch {
		case !c.tests[test]:
			faults = append(faults, what+" "+test+" does not exist")
		case !c.reach(test, calls(function)):
			faults = append(faults, what+" "+test+" never comes to it")
		}
	}
	random := func(m mention) bool { return m.loop || m.dotted && m.name == "Check" }
	if !strings.HasPrefix(p.property, "Fuzz") && !c.reach(p.property, random) {
		faults = append(faults, "property "+p.property+" tries one input only")
	}
	if p.file != "" && !c.reach(p.check, func(m mention) bool { return m.quote && m.name == p.file }) {
		faults = append(faults, "check "+p.check+" does not read "+p.file)
	}
	if p.file != "" && !strings.Contains(listed, "| "+p.file+" |") {
		faults = append(faults, p.file+" is not in SOURCES.md")
	}
	if (p.basis == published) != (p.why == "") {
		faults = append(faults, "what no source prints needs a why, and nothing else does")
	}
	if !slices.Contains([]string{published, practice, ours, independent}, p.basis) {
		faults = append(faults, "its basis is "+strconv.Quote(p.basis))
	}
	return faults
}

func TestEveryExportedFunctionIsProved(t *testing.T) {
	sources, err := os.ReadFile("../testdata/colorimetry/SOURCES.md")
	if err != nil {
		t.Fatal(err)
	}
	code := readSourceCode(t)
	count := map[string]int{}
	for _, function := range code.exported {
		p, is := proofs[function]
		if !is {
			t.Errorf("%s has no row: name a published value that it is checked against and a property", function)
			continue
		}
		count[p.basis]++
		for _, fault := range code.faults(function, p, string(sources)) {
			t.Errorf("%s: %s", function, fault)
		}
	}
	for function := range proofs {
		if !slices.Contains(code.exported, function) {
			t.Errorf("%s has a row and does not exist", function)
		}
	}
	t.Logf("%d functions: %v", len(code.exported), count)
}

// What may refuse its input must be shown to do so whatever comes, and never to answer
// with what is no number.
func TestEveryFunctionThatMayFailIsFuzzed(t *testing.T) {
	code := readSourceCode(t)
	if len(code.fails) < 40 {
		t.Fatalf("found %d functions that return an error, want at least 40", len(code.fails))
	}
	for _, function := range code.fails {
		fuzzed := false
		for test := range code.tests {
			fuzzed = fuzzed || strings.HasPrefix(test, "Fuzz") && code.reach(test, calls(function))
		}
		if !fuzzed {
			t.Errorf("%s returns an error, and no fuzz test comes to it", function)
		}
	}
}

func TestTheProofsAreLookedThrough(t *testing.T) {
	code := readSourceCode(t)
	good := proofs["Mix"]
	for name, c := range map[string]struct {
		change func(*proof)
		says   string
	}{
		"a test that does not exist":     {func(p *proof) { p.check = "TestNothing" }, "does not exist"},
		"a test of another function":     {func(p *proof) { p.check = "TestHalfUnitFollowsThePrintedDigits" }, "never comes to it"},
		"a file that is not read":        {func(p *proof) { p.file = "mired.json" }, "does not read"},
		"a file that is not listed":      {func(p *proof) { p.file = "nothing.json" }, "not in SOURCES.md"},
		"a property of one input":        {func(p *proof) { p.property = "TestDistanceInUVPrimeIsEuclidean" }, "one input only"},
		"no source and no reason":        {func(p *proof) { p.basis = ours }, "needs a why"},
		"a basis that nobody has stated": {func(p *proof) { p.basis = "a feeling" }, "its basis"},
	} {
		t.Run(name, func(t *testing.T) {
			p := good
			c.change(&p)
			if faults := strings.Join(code.faults("Mix", p, "| mixed-primaries.json |"), "; "); !strings.Contains(faults, c.says) {
				t.Errorf("got %q, want a fault that says %q", faults, c.says)
			}
		})
	}
	if faults := code.faults("Mix", good, "| mixed-primaries.json |"); len(faults) > 0 {
		t.Errorf("the row itself: got %q, want no fault", faults)
	}
}
