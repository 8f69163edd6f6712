package layout

import (
	"fmt"
	"go/ast"
	"go/types"
	"maps"
	"slices"
	"strings"
)

func isCalc(dir string) bool { return strings.HasPrefix(dir, "calc/") }

// checkNeighbours finds exported functions of calc with two neighbouring
// parameters of one type: named unit types do not stop swapped arguments.
func checkNeighbours(files []*file) (faults []string) {
	for _, f := range files {
		if f.test || !isCalc(f.dir) {
			continue
		}
		look := func(name *ast.Ident, fn *ast.FuncType) {
			if twins := neighbours(fn); name.IsExported() && twins != "" {
				faults = append(faults, fmt.Sprintf("%s: %s has neighbouring parameters of type %s; use an input struct", f.at(name), name.Name, twins))
			}
		}
		for _, decl := range f.ast.Decls {
			switch d := decl.(type) {
			case *ast.FuncDecl:
				look(d.Name, d.Type)
			case *ast.GenDecl:
				for _, spec := range d.Specs {
					if t, ok := spec.(*ast.TypeSpec); ok && t.Name.IsExported() {
						lookInType(t, look)
					}
				}
			}
		}
	}
	return faults
}

// lookInType shows look the functions that an exported type promises.
func lookInType(t *ast.TypeSpec, look func(*ast.Ident, *ast.FuncType)) {
	switch typ := t.Type.(type) {
	case *ast.FuncType:
		look(t.Name, typ)
	case *ast.InterfaceType:
		for _, m := range typ.Methods.List {
			if fn, ok := m.Type.(*ast.FuncType); ok && len(m.Names) == 1 {
				look(m.Names[0], fn)
			}
		}
	}
}

// neighbours returns the type that two parameters in a row share, "" when
// there is none.
func neighbours(fn *ast.FuncType) string {
	last := ""
	for _, field := range fn.Params.List {
		typ := field.Type
		if more, ok := typ.(*ast.Ellipsis); ok {
			typ = more.Elt
		}
		name := types.ExprString(typ)
		if name == last || len(field.Names) > 1 {
			return name
		}
		last = name
	}
	return ""
}

// checkLengths finds functions and files that are too long to read.
func checkLengths(t *tree) (faults []string) {
	for _, f := range t.files {
		if f.test {
			continue
		}
		if n := f.set.File(f.ast.Pos()).LineCount(); n > longestFile && !ast.IsGenerated(f.ast) {
			faults = append(faults, fmt.Sprintf("%s: %d lines; at most %d", f.path, n, longestFile))
		}
		for _, decl := range f.ast.Decls {
			d, ok := decl.(*ast.FuncDecl)
			if !ok {
				continue
			}
			limit := longest
			if f.dir == "internal/pathway" && d.Name.IsExported() {
				limit = longestVerb
			}
			if n := f.length(d); n > limit {
				faults = append(faults, fmt.Sprintf("%s: %s has %d lines; at most %d", f.at(d), d.Name.Name, n, limit))
			}
		}
	}
	return faults
}

// functionLengths lists the lengths of all functions outside tests, shortest
// first.
func functionLengths(files []*file) (lengths []int) {
	for _, f := range files {
		for _, decl := range f.ast.Decls {
			if d, ok := decl.(*ast.FuncDecl); ok && !f.test {
				lengths = append(lengths, f.length(d))
			}
		}
	}
	slices.Sort(lengths)
	return lengths
}

// checkHeadings holds the doc.go of every calc package to its headings.
func checkHeadings(files []*file) (faults []string) {
	docs := map[string]string{}
	for _, f := range files {
		if f.test || !isCalc(f.dir) {
			continue
		}
		if _, seen := docs[f.dir]; !seen {
			docs[f.dir] = ""
		}
		if f.path == f.dir+"/doc.go" && f.ast.Doc != nil {
			docs[f.dir] = f.ast.Doc.Text()
		}
	}
	for _, dir := range slices.Sorted(maps.Keys(docs)) {
		if docs[dir] == "" {
			faults = append(faults, dir+": no doc.go with a package comment")
			continue
		}
		rest := docs[dir]
		for _, h := range headings {
			_, after, found := strings.Cut("\n"+rest, "\n# "+h+"\n")
			if !found {
				faults = append(faults, fmt.Sprintf("%s/doc.go: heading %q is missing or out of order", dir, h))
				continue
			}
			if body, _, _ := strings.Cut(after, "\n# "); strings.TrimSpace(body) == "" || strings.HasPrefix(after, "# ") {
				faults = append(faults, fmt.Sprintf("%s/doc.go: nothing stands under %q", dir, h))
			}
			rest = after
		}
	}
	return faults
}

// selfEvident are methods whose contract is their interface's.
var selfEvident = []string{"Error", "String", "Unwrap"}

// exportedNames counts the exported functions, methods, types, constants and
// variables of calc and those among them that carry a comment.
func exportedNames(files []*file) (all, withComment int, bare []string) {
	count := func(f *file, name *ast.Ident, docs ...*ast.CommentGroup) {
		if !name.IsExported() || slices.Contains(selfEvident, name.Name) {
			return
		}
		all++
		if slices.ContainsFunc(docs, func(g *ast.CommentGroup) bool { return g != nil }) {
			withComment++
			return
		}
		bare = append(bare, f.at(name)+" "+name.Name)
	}
	for _, f := range files {
		if f.test || !isCalc(f.dir) {
			continue
		}
		for _, decl := range f.ast.Decls {
			switch d := decl.(type) {
			case *ast.FuncDecl:
				count(f, d.Name, d.Doc)
			case *ast.GenDecl:
				for _, spec := range d.Specs {
					switch s := spec.(type) {
					case *ast.TypeSpec:
						count(f, s.Name, s.Doc, d.Doc, s.Comment)
					case *ast.ValueSpec:
						for _, n := range s.Names {
							count(f, n, s.Doc, d.Doc, s.Comment)
						}
					}
				}
			}
		}
	}
	return all, withComment, bare
}

// checkNames finds identifiers outside ASCII: the paper's symbol belongs in
// the comment.
func checkNames(files []*file) (faults []string) {
	for _, f := range files {
		ast.Inspect(f.ast, func(n ast.Node) bool {
			if id, ok := n.(*ast.Ident); ok && strings.ContainsFunc(id.Name, func(r rune) bool { return r > 127 }) {
				faults = append(faults, f.at(id)+": identifier "+id.Name+" is not ASCII")
			}
			return true
		})
	}
	return faults
}
