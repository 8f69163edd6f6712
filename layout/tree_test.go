package layout

import (
	"bytes"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"slices"
	"strconv"
	"strings"
)

// file is one Go file of the tree.
type file struct {
	path string // from the module's root, with slashes
	dir  string // the package: path without the file's name
	test bool
	ast  *ast.File
	set  *token.FileSet
}

// at writes where n stands.
func (f *file) at(n ast.Node) string {
	return fmt.Sprintf("%s:%d", f.path, f.set.Position(n.Pos()).Line)
}

// length counts the lines of n.
func (f *file) length(n ast.Node) int {
	return f.set.Position(n.End()).Line - f.set.Position(n.Pos()).Line + 1
}

// text is one text file of the tree that people wrote.
type text struct{ path, body string }

// tree is what the checks look at.
type tree struct {
	files []*file
	texts []text
}

// skipped folders hold nothing that we wrote as a program or a page.
func skipped(dir string) bool {
	base := path.Base(dir)
	return base == ".git" || base == ".cache" || base == "node_modules" || dir == "docs/screens"
}

// read loads the tree. It reads inside the test, not in a child process, so
// that the test cache notices every file and folder it rests on.
func read(fsys fs.FS) (*tree, error) {
	t := &tree{}
	err := fs.WalkDir(fsys, ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && skipped(name):
			return fs.SkipDir
		case !d.Type().IsRegular():
			return nil
		}
		return t.add(fsys, name)
	})
	return t, err
}

func (t *tree) add(fsys fs.FS, name string) error {
	isGo, vendored := strings.HasSuffix(name, ".go"), strings.HasPrefix(name, "third_party/")
	if !isGo && vendored || path.Base(name) == "go.sum" {
		return nil
	}
	body, err := fs.ReadFile(fsys, name)
	if err != nil {
		return err
	}
	if bytes.IndexByte(body[:min(len(body), 8000)], 0) < 0 && !strings.HasSuffix(name, ".pdf") {
		t.texts = append(t.texts, text{name, string(body)})
	}
	if !isGo || slices.Contains(strings.Split(path.Dir(name), "/"), "testdata") {
		return nil
	}
	f := &file{path: name, dir: path.Dir(name), test: strings.HasSuffix(name, "_test.go"), set: token.NewFileSet()}
	f.ast, err = parser.ParseFile(f.set, name, body, parser.ParseComments|parser.SkipObjectResolution)
	if err != nil {
		return err
	}
	t.files = append(t.files, f)
	return nil
}

// importNames maps the name a file uses to the path it imports.
func importNames(f *ast.File) map[string]string {
	names := map[string]string{}
	for _, spec := range f.Imports {
		p, err := strconv.Unquote(spec.Path.Value)
		if err != nil {
			continue
		}
		name := path.Base(p)
		if name == "v2" || name == "v5" { // math/rand/v2 is called rand
			name = path.Base(path.Dir(p))
		}
		if spec.Name != nil {
			name = spec.Name.Name
		}
		names[name] = p
	}
	return names
}
