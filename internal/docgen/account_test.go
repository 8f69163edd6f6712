package main

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	methods "linn/calc/lenspower"
	"linn/source"
)

// selfEvident are methods that compute nothing.
var selfEvident = []string{"Error", "Unwrap", "String", "MarshalJSON", "UnmarshalJSON", "MarshalText", "UnmarshalText"}

// exported lists the exported functions and methods of the package at dir:
// "Func" and "Type.Method".
func exported(t *testing.T, dir string) (names []string) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(root(t), dir, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		for _, decl := range f.Decls {
			d, ok := decl.(*ast.FuncDecl)
			if !ok || !d.Name.IsExported() || slices.Contains(selfEvident, d.Name.Name) {
				continue
			}
			if d.Recv == nil {
				names = append(names, d.Name.Name)
			} else if recv := receiver(d); ast.IsExported(recv) {
				names = append(names, recv+"."+d.Name.Name)
			}
		}
	}
	return names
}

func receiver(d *ast.FuncDecl) string {
	typ := d.Recv.List[0].Type
	for {
		switch t := typ.(type) {
		case *ast.StarExpr:
			typ = t.X
		case *ast.IndexExpr:
			typ = t.X
		case *ast.Ident:
			return t.Name
		default:
			return ""
		}
	}
}

// calcPackages are the folders of calc that hold Go files.
func calcPackages(t *testing.T) []string {
	t.Helper()
	found := map[string]bool{}
	err := filepath.WalkDir(filepath.Join(root(t), "calc"), func(name string, d fs.DirEntry, err error) error {
		if err == nil && strings.HasSuffix(name, ".go") {
			rel, e := filepath.Rel(root(t), filepath.Dir(name))
			found[filepath.ToSlash(rel)] = true
			return e
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return slices.Sorted(maps.Keys(found))
}

// TestEveryFormulaIsListed holds the table to the code, both ways.
func TestEveryFormulaIsListed(t *testing.T) {
	for _, pkg := range calcPackages(t) {
		listed := slices.Clone(plumbing[pkg])
		for _, f := range formulas {
			if f.pkg == pkg {
				listed = append(listed, f.names...)
			}
		}
		there := exported(t, pkg)
		for _, name := range there {
			if !slices.Contains(listed, name) {
				t.Errorf("%s: %s stands in no formula", pkg, name)
			}
		}
		for _, name := range listed {
			id, isMethod := strings.CutPrefix(name, "method ")
			if isMethod && methods.MethodNamed(id) == nil || !isMethod && !slices.Contains(there, name) {
				t.Errorf("%s: %s is listed and not there", pkg, name)
			}
		}
	}
	for _, m := range methods.Methods {
		if !slices.ContainsFunc(formulas, func(f formula) bool { return slices.Contains(f.names, "method "+m.ID) }) {
			t.Errorf("lens method %s stands in no formula", m.ID)
		}
	}
}

// TestEveryCheckIsListed holds the table to the files and the constants.
func TestEveryCheckIsListed(t *testing.T) {
	files, err := checkFiles(root(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range files {
		if !slices.ContainsFunc(formulas, func(f formula) bool {
			return slices.ContainsFunc(f.checks, func(p string) bool { return f.matches(p, c.Path) })
		}) {
			t.Errorf("%s belongs to no formula", c.Path)
		}
	}
	for _, f := range formulas {
		if f.standsIn == "" || len(f.sources()) == 0 {
			t.Errorf("%s: no source, or nothing said of what holds it", f.name)
		}
		for _, p := range f.checks {
			if _, err := path.Match(p, ""); err != nil || len(f.files(files, p)) == 0 {
				t.Errorf("%s: no check file matches %s (%v)", f.name, p, err)
			}
		}
		for _, p := range f.constants {
			if !slices.ContainsFunc(source.Constants(), func(c source.Constant) bool { return strings.HasPrefix(c.Name, p) }) {
				t.Errorf("%s: no constant begins with %s", f.name, p)
			}
		}
	}
	for _, c := range source.Constants() {
		begins := func(p string) bool { return strings.HasPrefix(c.Name, p) }
		if !slices.ContainsFunc(thresholds, begins) && !slices.ContainsFunc(formulas, func(f formula) bool {
			return slices.ContainsFunc(f.constants, func(p string) bool { return strings.HasPrefix(c.Name, p) })
		}) {
			t.Errorf("constant %s belongs to no formula", c.Name)
		}
	}
}

// TestEveryDeclarerIsImported finds a package that declares findings or
// constants which the documents would miss, because nothing here imports it.
func TestEveryDeclarerIsImported(t *testing.T) {
	declares, imports := map[string]bool{}, map[string][]string{}
	err := filepath.WalkDir(root(t), func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") || strings.Contains(name, "testdata") {
			return err
		}
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root(t), filepath.Dir(name))
		if err != nil {
			return err
		}
		pkg := "linn/" + filepath.ToSlash(rel)
		for _, spec := range f.Imports {
			imports[pkg] = append(imports[pkg], strings.Trim(spec.Path.Value, `"`))
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok && sel.Sel.Name == "Declare" {
				if x, ok := sel.X.(*ast.Ident); ok && (x.Name == "finding" || x.Name == "source") {
					declares[pkg] = true
				}
			}
			return true
		})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	reached := map[string]bool{}
	var reach func(string)
	reach = func(pkg string) {
		if !reached[pkg] {
			reached[pkg] = true
			for _, next := range imports[pkg] {
				reach(next)
			}
		}
	}
	reach("linn/internal/docgen")
	for pkg := range declares {
		if !reached[pkg] {
			t.Errorf("%s declares findings or constants and is not imported by docgen", pkg)
		}
	}
}
