// Command rooms prints figures of how a checkout is cut into packages: lines, files and
// exported names of each, the arrows between them, and the largest loop of files that need
// each other. Tests and generated files are left out.
//
//	go run ./testdata/rooms [FOLDER]
package main

import (
	"fmt"
	"go/ast"
	"go/token"
	"log"
	"os"
	"sort"
	"strings"

	"golang.org/x/tools/go/packages"
)

// figures are those of one package.
type figures struct {
	path                string
	lines, files, names int
	loop                int // files of the largest loop
	imports             []string
}

func main() {
	log.SetFlags(0)
	folder := "."
	if len(os.Args) > 1 {
		folder = os.Args[1]
	}
	all, err := measure(folder)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%-26s %6s %5s %6s %6s %5s\n", "package", "lines", "files", "names", "arrows", "loop")
	var sum figures
	arrows, loop := 0, 0
	for _, f := range all {
		fmt.Printf("%-26s %6d %5d %6d %6d %5d\n", f.path, f.lines, f.files, f.names, len(f.imports), f.loop)
		sum.lines, sum.files, sum.names = sum.lines+f.lines, sum.files+f.files, sum.names+f.names
		arrows, loop = arrows+len(f.imports), max(loop, f.loop)
	}
	fmt.Printf("%-26s %6d %5d %6d %6d %5d\n", fmt.Sprintf("%d packages", len(all)), sum.lines, sum.files, sum.names, arrows, loop)
	fmt.Printf("arrows that no longer way implies: %d\n", short(all))
}

// measure reads the packages of the program: tests and their support are left out.
func measure(folder string) (all []*figures, err error) {
	fset := token.NewFileSet()
	loaded, err := packages.Load(&packages.Config{Dir: folder, Fset: fset, Mode: packages.NeedName | packages.NeedFiles | packages.NeedSyntax |
		packages.NeedTypes | packages.NeedTypesInfo | packages.NeedImports | packages.NeedModule}, "./...")
	if err != nil {
		return nil, err
	}
	if packages.PrintErrors(loaded) > 0 {
		return nil, fmt.Errorf("%s does not compile", folder)
	}
	for _, p := range loaded {
		path := strings.TrimPrefix(strings.TrimPrefix(p.PkgPath, p.Module.Path), "/")
		if strings.HasPrefix(path, "testdata/") || strings.HasSuffix(path, "test") || path == "logbook/stage" {
			continue
		}
		f := &figures{path: path, loop: largestLoop(fset, p)}
		for _, file := range p.Syntax {
			name := fset.Position(file.Pos()).Filename
			if strings.HasSuffix(name, ".gen.go") {
				continue
			}
			f.files++
			f.lines += fset.File(file.Pos()).LineCount() - 1
			f.names += exported(file)
		}
		for other := range p.Imports {
			if strings.HasPrefix(other, p.Module.Path+"/") {
				f.imports = append(f.imports, strings.TrimPrefix(other, p.Module.Path+"/"))
			}
		}
		all = append(all, f)
	}
	sort.Slice(all, func(i, j int) bool { return all[i].lines > all[j].lines })
	return all, nil
}

// exported counts the names of a package that have a capital; methods and fields are not
// counted.
func exported(file *ast.File) (n int) {
	for _, d := range file.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			if d.Recv == nil && d.Name.IsExported() {
				n++
			}
		case *ast.GenDecl:
			for _, s := range d.Specs {
				switch s := s.(type) {
				case *ast.TypeSpec:
					if s.Name.IsExported() {
						n++
					}
				case *ast.ValueSpec:
					for _, name := range s.Names {
						if name.IsExported() {
							n++
						}
					}
				}
			}
		}
	}
	return n
}

// largestLoop is the greatest number of files of a package each of which needs all the
// others, straight or by way of more; 1 where there is no loop.
func largestLoop(fset *token.FileSet, p *packages.Package) int {
	uses := map[string]map[string]bool{}
	for id, o := range p.TypesInfo.Uses {
		if o.Pkg() != p.Types || !o.Pos().IsValid() {
			continue
		}
		from, to := fset.Position(id.Pos()).Filename, fset.Position(o.Pos()).Filename
		if from == to {
			continue
		}
		if uses[from] == nil {
			uses[from] = map[string]bool{}
		}
		uses[from][to] = true
	}
	reached := map[string]map[string]bool{}
	for from := range uses {
		reached[from] = reach(uses, from)
	}
	largest := 1
	for from, to := range reached {
		n := 1
		for other := range to {
			if other != from && reached[other][from] {
				n++
			}
		}
		largest = max(largest, n)
	}
	return largest
}

func reach(uses map[string]map[string]bool, from string) map[string]bool {
	found, todo := map[string]bool{}, []string{from}
	for len(todo) > 0 {
		at := todo[0]
		todo = todo[1:]
		for to := range uses[at] {
			if !found[to] {
				found[to] = true
				todo = append(todo, to)
			}
		}
	}
	return found
}

// short counts the arrows between packages that no longer way implies.
func short(all []*figures) (n int) {
	arrows := map[string]map[string]bool{}
	for _, f := range all {
		arrows[f.path] = map[string]bool{}
		for _, to := range f.imports {
			arrows[f.path][to] = true
		}
	}
	for from := range arrows {
		for to := range arrows[from] {
			implied := false
			for other := range arrows[from] {
				implied = implied || other != to && reach(arrows, other)[to]
			}
			if !implied {
				n++
			}
		}
	}
	return n
}
