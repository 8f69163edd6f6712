package layout

import (
	"fmt"
	"go/ast"
	"slices"
	"strconv"
	"strings"
)

// lineOf maps every listed package to its line, and says which line is the
// last pure one.
func lineOf() (line map[string]int, pureTo int) {
	line = map[string]int{}
	for n, text := range strings.Split(strings.TrimSpace(lines), "\n") {
		for _, p := range strings.Fields(text) {
			line[p] = n
		}
	}
	return line, line[lastPure]
}

// under reports whether pkg is name, or lies below name when name ends in a
// slash.
func under(pkg, name string) bool {
	return pkg == name || strings.HasSuffix(name, "/") && strings.HasPrefix(pkg, name)
}

func anyUnder(pkg string, names []string) bool {
	return slices.ContainsFunc(names, func(n string) bool { return under(pkg, n) })
}

func isEdge(pkg string) bool { return under(pkg, "internal/web") || under(pkg, "cmd/") }

// checkImports holds every file against the order of lines and the lists of
// rules_test.go.
func checkImports(files []*file) (faults []string) {
	line, pureTo := lineOf()
	wiring := map[string][]string{} // package → which of wires it imports
	for _, f := range files {
		have, listed := line[f.dir]
		if !listed {
			faults = append(faults, f.path+": "+f.dir+" stands on no line of the list")
			continue
		}
		for _, spec := range f.ast.Imports {
			to, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				faults = append(faults, f.path+": unreadable import "+spec.Path.Value)
				continue
			}
			say := func(why string) { faults = append(faults, fmt.Sprintf("%s: %s: %s", f.path, to, why)) }
			for _, why := range forbidden(f, to, spec, have <= pureTo) {
				say(why)
			}
			own, ours := strings.CutPrefix(to, module)
			if !ours || f.test {
				continue
			}
			if want, known := line[own]; !known || want >= have {
				say(f.dir + " may not import it: not on an earlier line")
			}
			if slices.Contains(wires, own) && !slices.Contains(wiring[f.dir], own) {
				wiring[f.dir] = append(wiring[f.dir], own)
			}
		}
	}
	for dir, both := range wiring {
		if len(both) > 1 && dir != "cmd/linn" {
			faults = append(faults, dir+": only cmd/linn wires store and web")
		}
	}
	return faults
}

// forbidden says why f may not import to, the order of lines apart.
func forbidden(f *file, to string, spec *ast.ImportSpec, isPure bool) (why []string) {
	if spec.Name != nil && spec.Name.Name == "." {
		why = append(why, "dot imports hide where a name comes from")
	}
	own, ours := strings.CutPrefix(to, module)
	switch {
	case ours && !f.test:
		why = append(why, forbiddenOwn(f.dir, own)...)
	case ours:
	case to == "math/rand":
		why = append(why, "chance comes from a seeded math/rand/v2 source")
	case f.test:
	case to == "testing" || strings.HasPrefix(to, "testing/"):
		if _, support := supportOnly[f.dir]; !support {
			why = append(why, "testing belongs in _test files")
		}
	case strings.Contains(strings.SplitN(to, "/", 2)[0], "."):
		why = append(why, forbiddenPart(f.dir, to, isPure)...)
	case isPure && !slices.Contains(pure, to) && !slices.Contains(pureAlso[f.dir], to):
		why = append(why, f.dir+" is pure: no I/O, clock or hidden state")
	}
	return why
}

func forbiddenOwn(from, to string) (why []string) {
	for _, n := range never {
		if under(from, n[0]) && under(to, n[1]) {
			why = append(why, "never from "+from+": "+n[2])
		}
	}
	if users, support := supportOnly[to]; support && !slices.Contains(users, from) {
		why = append(why, "serves tests only")
	}
	if isEdge(from) && !slices.Contains(words, to) && !anyUnder(to, openToEdges) && !(from == "cmd/linn" && slices.Contains(wires, to)) {
		why = append(why, from+" reaches it only through internal/pathway")
	}
	return why
}

// forbiddenPart judges an import of third-party code.
func forbiddenPart(from, to string, isPure bool) []string {
	if g, ok := strings.CutPrefix(to, gonum); ok && isPure {
		if !slices.Contains(gonumPackages, g) || !slices.Contains(grants[from], g) {
			return []string{"grants names no such package of gonum for " + from}
		}
		return nil
	}
	if isPure {
		return []string{from + " is pure: no third-party code"}
	}
	mod := partOf(to)
	if mod == "" || !anyUnder(from, parts[mod]) {
		return []string{"parts does not name " + from + " as its user"}
	}
	return nil
}

// partOf is the module in parts that holds the package, "" when none does.
func partOf(pkg string) string {
	for mod := range parts {
		if pkg == mod || strings.HasPrefix(pkg, mod+"/") {
			return mod
		}
	}
	return ""
}

// checkCalls finds clocks, hidden chance and standard streams behind imports
// that are allowed in themselves. Tests are held to seeded chance too.
func checkCalls(files []*file) (faults []string) {
	line, pureTo := lineOf()
	for _, f := range files {
		if at, listed := line[f.dir]; !listed || at > pureTo {
			continue
		}
		names, draws := importNames(f.ast), draws(f.ast)
		ast.Inspect(f.ast, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.SelectorExpr:
				x, ok := n.X.(*ast.Ident)
				if !ok {
					break
				}
				path := names[x.Name]
				switch {
				case path == "math/rand/v2" && !slices.Contains(seeded, n.Sel.Name):
					faults = append(faults, fmt.Sprintf("%s: %s.%s draws unseeded chance", f.at(n), x.Name, n.Sel.Name))
				case !f.test && slices.Contains(impure[path], n.Sel.Name):
					faults = append(faults, fmt.Sprintf("%s: %s.%s in a pure package", f.at(n), x.Name, n.Sel.Name))
				}
			case *ast.CallExpr:
				if id, ok := n.Fun.(*ast.Ident); ok && !f.test && (id.Name == "println" || id.Name == "print") {
					faults = append(faults, f.at(n)+": "+id.Name+" in a pure package")
				}
			case *ast.CompositeLit:
				if draws && !sourced(n, names) {
					faults = append(faults, f.at(n)+": a distribution that is drawn from needs its Src")
				}
			}
			return true
		})
	}
	return faults
}

// draws reports whether the file calls Rand() on anything.
func draws(f *ast.File) (found bool) {
	ast.Inspect(f, func(n ast.Node) bool {
		if call, ok := n.(*ast.CallExpr); ok && len(call.Args) == 0 {
			if sel, ok := call.Fun.(*ast.SelectorExpr); ok && sel.Sel.Name == "Rand" {
				found = true
			}
		}
		return !found
	})
	return found
}

// sourced reports whether a literal that is a gonum distribution names its
// source of chance.
func sourced(lit *ast.CompositeLit, names map[string]string) bool {
	sel, ok := lit.Type.(*ast.SelectorExpr)
	if !ok {
		return true
	}
	x, ok := sel.X.(*ast.Ident)
	if !ok || names[x.Name] != gonum+"stat/distuv" {
		return true
	}
	return slices.ContainsFunc(lit.Elts, func(e ast.Expr) bool {
		kv, ok := e.(*ast.KeyValueExpr)
		if !ok {
			return false
		}
		key, ok := kv.Key.(*ast.Ident)
		return ok && key.Name == "Src"
	})
}
