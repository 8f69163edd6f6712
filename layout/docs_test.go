package layout

import (
	"errors"
	"go/ast"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// ours are the top folders a document may point into.
var ours = []string{"calc", "cmd", "docs", "eye", "finding", "internal", "layout", "scripts", "source", "third_party", "unit"}

var quoted = regexp.MustCompile("`([A-Za-z0-9_./-]+)`")

// handWritten are the documents that people write.
func handWritten(x text) bool {
	return strings.HasSuffix(x.path, ".md") && x.path != "docs/findings.md" && x.path != "docs/formulas.md" && !strings.Contains(x.path, "third_party/")
}

// later are bands that documents may name before they have content.
var later = []string{"internal/learn", "internal/teach", "internal/invent", "internal/care/operation", "internal/care/followup"}

// TestDocumentsPointAtWhatIsThere finds a path in a document that does not
// exist.
func TestDocumentsPointAtWhatIsThere(t *testing.T) {
	for _, x := range theHouse(t).texts {
		if !handWritten(x) {
			continue
		}
		for _, m := range quoted.FindAllStringSubmatch(x.body, -1) {
			name := strings.TrimSuffix(m[1], "/")
			top, _, deep := strings.Cut(name, "/")
			if !deep || !slices.Contains(ours, top) || slices.Contains(later, name) {
				continue
			}
			if _, err := fs.Stat(root(), name); errors.Is(err, fs.ErrNotExist) {
				t.Errorf("%s names %s, which is not there", x.path, name)
			}
		}
	}
}

var testName = regexp.MustCompile("`((?:Test|Fuzz|Example)[A-Z][A-Za-z0-9_]*)`")

// TestNamedTestsExist holds the hazards to their tests.
func TestNamedTestsExist(t *testing.T) {
	there := map[string]bool{}
	for _, f := range theHouse(t).files {
		for _, decl := range f.ast.Decls {
			if d, ok := decl.(*ast.FuncDecl); ok && f.test {
				there[d.Name.Name] = true
			}
		}
	}
	for _, x := range theHouse(t).texts {
		if !handWritten(x) {
			continue
		}
		for _, m := range testName.FindAllStringSubmatch(x.body, -1) {
			if !there[m[1]] {
				t.Errorf("%s names %s, which is no test", x.path, m[1])
			}
		}
	}
}

// TestReadme holds the first screen to its form: the job in a paragraph, then
// exactly two commands.
func TestReadme(t *testing.T) {
	body := readFile(t, "README.md")
	parts := strings.SplitN(body, "```", 3)
	if len(parts) < 3 || strings.Count(strings.TrimSpace(parts[0]), "\n\n") != 1 {
		t.Fatalf("README.md does not begin with a title, one paragraph and a block of commands")
	}
	_, block, _ := strings.Cut(parts[1], "\n")
	var commands []string
	for line := range strings.Lines(block) {
		command, _, _ := strings.Cut(line, "#")
		if command = strings.TrimSpace(command); command != "" {
			commands = append(commands, command)
		}
	}
	if want := []string{"go run ./cmd/linn serve --demo", "./test"}; !slices.Equal(commands, want) {
		t.Errorf("commands %q, want %q", commands, want)
	}
}

// TestToolsAreInstalled holds ./test to the tools that tests call: a test asks
// for one as tool(t, NAME, PACKAGE).
func TestToolsAreInstalled(t *testing.T) {
	script, found := readFile(t, "test"), 0
	for _, f := range theHouse(t).files {
		ast.Inspect(f.ast, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok || len(call.Args) != 3 {
				return true
			}
			fn, ok := call.Fun.(*ast.Ident)
			pkg, isText := call.Args[2].(*ast.BasicLit)
			if !ok || fn.Name != "tool" || !isText {
				return true
			}
			found++
			if name := strings.Trim(pkg.Value, `"`); !strings.Contains(script, "echo "+name) {
				t.Errorf("%s: ./test does not install %s", f.at(call), name)
			}
			return true
		})
	}
	if found == 0 {
		t.Error("no test asks for a tool")
	}
}
