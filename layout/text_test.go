package layout

import (
	"fmt"
	"go/ast"
	"go/token"
	"path"
	"regexp"
	"slices"
	"strings"
)

// pattern is something that must not stand in a text, and why.
type pattern struct {
	re  *regexp.Regexp
	why string
}

func must(expr, why string) pattern { return pattern{regexp.MustCompile(expr), why} }

// unwanted are words that no file of the project holds. They are written in
// two halves here so that this file does not hold them either.
var unwanted = []pattern{
	must(`\bTO`+`DO\b|\bFIX`+`ME\b|\bX`+`XX\b`, "unfinished work belongs in an issue"),
	must(`(?i)future w`+`ork|not (yet )?impl`+`emented`, "what is not there is not promised"),
	must(`(?i)seed d`+`ocument|\bsub`+`agent|\btran`+`scripts?\b`, "a word of the workshop, not of the trade"),
	must(`(?i)clau`+`de|anthro`+`pic|chat`+`gpt|open`+`ai\b|language m`+`odel`, "a word of the workshop, not of the trade"),
	must(`(^|[\s"'=(`+"`"+`])/(wo`+`rk|ro`+`ot|ho`+`me)/`, "a path of one machine"),
	must(`(?i)proxy\.go`+`lang\.org|registry\.np`+`mjs\.org|deb\.deb`+`ian\.org|py`+`pi\.org`, "a registry's host"),
}

func checkWords(texts []text) (faults []string) {
	for _, t := range texts {
		for n, line := range strings.Split(t.body, "\n") {
			for _, p := range unwanted {
				if hit := p.re.FindString(line); hit != "" {
					faults = append(faults, fmt.Sprintf("%s:%d: %q: %s", t.path, n+1, strings.TrimSpace(hit), p.why))
				}
			}
		}
	}
	return faults
}

// inPage are what the strict content policy would block, or what would make
// a page need the internet or do arithmetic.
var inPage = []pattern{
	must(`(?i)\sstyle\s*=`, "no inline style"),
	must(`(?i)<style[\s>]`, "no style element; styles stand in files"),
	must(`(?i)<script(\s+(type|defer|async|nonce|id|class)(\s*=\s*("[^"]*"|'[^']*'|[^\s>"']+))?)*\s*>`, "no inline script"),
	must(`(?i)\son[a-z]+\s*=\s*["']`, "no inline event handler"),
	must(`(?i)(href|src|action)\s*=\s*["']?\s*java`+`script:`, "no script address"),
	must(`(?i)<(link|script|img|iframe|source|use|image|object|embed)\b[^>]*\b(src|href|data)\s*=\s*["']?\s*(https?:)?//`, "nothing is loaded from outside the program"),
	must(`(?i)(@import\s+|url\(\s*)["']?\s*(url\(\s*["']?\s*)?(https?:)?//`, "nothing is loaded from outside the program"),
	must(`\{\{[^}]*\bprintf\b[^}]*%[-+ #0-9.]*[dfegEGvx]`, "numbers arrive already printed"),
}

var pageEnds = []string{".html", ".tmpl", ".gohtml", ".svg", ".css"}

// checkPages looks at templates, and at the string literals of the packages
// that write pages.
func checkPages(t *tree) (faults []string) {
	for _, x := range t.texts {
		if slices.Contains(pageEnds, path.Ext(x.path)) && !strings.Contains(x.path, "testdata/") {
			faults = append(faults, pageFaults(x.path, x.body)...)
		}
	}
	for _, f := range t.files {
		if f.test || !isEdge(f.dir) && !strings.HasPrefix(f.dir, "internal/web/") {
			continue
		}
		ast.Inspect(f.ast, func(n ast.Node) bool {
			if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
				faults = append(faults, pageFaults(f.at(lit), lit.Value)...)
			}
			return true
		})
	}
	return faults
}

func pageFaults(where, body string) (faults []string) {
	for _, p := range inPage {
		if hit := p.re.FindString(body); hit != "" {
			faults = append(faults, fmt.Sprintf("%s: %q: %s", where, strings.TrimSpace(hit), p.why))
		}
	}
	return faults
}

// serostatus may not be an input of any rule, list order or print.
var serostatus = regexp.MustCompile(`(?i)\bhiv\b|hiv_|_hiv|hbsag|hepatitis|serostatus|sero[_-]?(positive|negative)|bloodborne`)

// checkSerostatus looks at the identifiers and the string literals of every
// package of the product; comments may say why.
func checkSerostatus(files []*file) (faults []string) {
	for _, f := range files {
		if f.test {
			continue
		}
		ast.Inspect(f.ast, func(n ast.Node) bool {
			word := ""
			switch n := n.(type) {
			case *ast.Ident:
				word = n.Name
			case *ast.BasicLit:
				word = n.Value
			}
			if hit := serostatus.FindString(word); hit != "" {
				faults = append(faults, fmt.Sprintf("%s: %q: infection serostatus is never an input", f.at(n), hit))
			}
			return true
		})
	}
	return faults
}
