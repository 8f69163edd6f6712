package pathway

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"linn/internal/care/casebook"
	"linn/internal/care/plan"
	"linn/internal/locale"
)

// sources parses the Go files of a folder that are not tests.
func sources(t *testing.T, dir string) (*token.FileSet, []*ast.File) {
	t.Helper()
	set := token.NewFileSet()
	names, err := filepath.Glob(filepath.Join(dir, "*.go"))
	if err != nil {
		t.Fatal(err)
	}
	var files []*ast.File
	for _, name := range names {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		f, err := parser.ParseFile(set, name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, f)
	}
	return set, files
}

// Every code that this package or the door refuses with has its sentence.
func TestEveryRefusalHasWords(t *testing.T) {
	found := 0
	for _, dir := range []string{".", "../access"} {
		set, files := sources(t, dir)
		for _, f := range files {
			ast.Inspect(f, func(n ast.Node) bool {
				for _, lit := range refusalCodes(n) {
					code, err := strconv.Unquote(lit.Value)
					if err != nil {
						t.Fatal(err)
					}
					found++
					if strings.HasSuffix(code, "-") {
						continue // "need-" + code: below
					}
					if !locale.Has("refused." + code) {
						t.Errorf("%s: no words for %s", set.Position(lit.Pos()), code)
					}
				}
				return true
			})
		}
	}
	if found < 60 {
		t.Errorf("only %d codes found: the search is broken", found)
	}
	for _, code := range append(NeedCodes, NeedSignature) {
		if code != NeedSignature && (!locale.Has("refused.need-"+code) || !locale.Has("need."+code)) || !locale.Has("need."+code+".short") {
			t.Errorf("no words for need %s", code)
		}
	}
}

// refusalCodes are the codes in refuse("…"), refused("…"), g.refuse(…, "…")
// and Refusal{Code: "…"}.
func refusalCodes(n ast.Node) (list []*ast.BasicLit) {
	text := func(e ast.Expr) {
		if b, ok := e.(*ast.BinaryExpr); ok {
			e = b.X
		}
		if lit, ok := e.(*ast.BasicLit); ok && lit.Kind == token.STRING {
			list = append(list, lit)
		}
	}
	switch n := n.(type) {
	case *ast.CallExpr:
		switch f := n.Fun.(type) {
		case *ast.Ident:
			if (f.Name == "refuse" || f.Name == "refused") && len(n.Args) > 0 {
				text(n.Args[0])
			}
		case *ast.SelectorExpr:
			if f.Sel.Name == "refuse" {
				text(n.Args[len(n.Args)-1])
			}
		}
	case *ast.CompositeLit:
		if name, ok := n.Type.(*ast.SelectorExpr); ok && name.Sel.Name == "Refusal" {
			for _, e := range n.Elts {
				if kv, ok := e.(*ast.KeyValueExpr); ok && kv.Key.(*ast.Ident).Name == "Code" {
					text(kv.Value)
				}
			}
		}
	}
	return list
}

// serostatus are words for what is never an input of any rule, list or print.
var serostatus = regexp.MustCompile(`(?i)(([^c]|^)hiv|hbv|hcv|hbsag|hepatit|sero.?(status|positiv|negativ)|retrovir|infectious.?status|syphilis)`)

// Infection serostatus is no field, no key and no word of the record, the
// plan, the sheet, the pathway or the pages.
func TestSerostatusIsNowhere(t *testing.T) {
	looked := 0
	for _, dir := range []string{"../../eye", "../../finding", "../care/casebook", "../care/plan", "../care/sheet", ".", "../access", "../store", "../invent", "../web"} {
		set, files := sources(t, dir)
		for _, f := range files {
			ast.Inspect(f, func(n ast.Node) bool {
				name, at := "", token.NoPos
				switch n := n.(type) {
				case *ast.Ident:
					name, at = n.Name, n.Pos()
				case *ast.BasicLit:
					name, at = n.Value, n.Pos()
				}
				if looked++; serostatus.MatchString(name) {
					t.Errorf("%s: %s", set.Position(at), name)
				}
				return true
			})
		}
	}
	for _, pattern := range []string{"../locale/*/*.txt", "../store/migration/*.sql", "../web/templates/*"} {
		names, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			looked++
			text, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			if found := serostatus.Find(text); found != nil {
				t.Errorf("%s: %s", name, found)
			}
		}
	}
	if looked < 10000 {
		t.Errorf("only %d places looked at: the search is broken", looked)
	}
	for _, v := range []any{casebook.Case{}, casebook.Identity{}, plan.Input{}} {
		if serostatus.MatchString(strings.Join(keysOf(reflect.TypeOf(v)), " ")) {
			t.Errorf("%T", v)
		}
	}
	for _, planted := range []string{"HIVStatus", "hbsag", "sero_status", "HepatitisB"} {
		if !serostatus.MatchString(planted) {
			t.Errorf("the search misses %s", planted)
		}
	}
}

func keysOf(t reflect.Type) (list []string) {
	for i := range t.NumField() {
		list = append(list, t.Field(i).Name, t.Field(i).Tag.Get("json"))
	}
	return list
}
