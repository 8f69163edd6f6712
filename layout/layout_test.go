package layout

import (
	"io/fs"
	"os"
	"strings"
	"sync"
	"testing"
)

// house reads the real tree once.
var house = sync.OnceValues(func() (*tree, error) { return read(root()) })

func root() fs.FS { return os.DirFS("..") }

func theHouse(t *testing.T) *tree {
	t.Helper()
	h, err := house()
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func report(t *testing.T, faults []string) {
	t.Helper()
	for _, f := range faults {
		t.Error(f)
	}
}

func TestImports(t *testing.T)    { report(t, checkImports(theHouse(t).files)) }
func TestPurity(t *testing.T)     { report(t, checkCalls(theHouse(t).files)) }
func TestNeighbours(t *testing.T) { report(t, checkNeighbours(theHouse(t).files)) }
func TestLengths(t *testing.T)    { report(t, checkLengths(theHouse(t))) }
func TestHeadings(t *testing.T)   { report(t, checkHeadings(theHouse(t).files)) }
func TestNames(t *testing.T)      { report(t, checkNames(theHouse(t).files)) }
func TestWords(t *testing.T)      { report(t, checkWords(theHouse(t).texts)) }
func TestPages(t *testing.T)      { report(t, checkPages(theHouse(t))) }
func TestSerostatus(t *testing.T) { report(t, checkSerostatus(theHouse(t).files)) }

// TestFunctionLengths holds the whole house to short functions.
func TestFunctionLengths(t *testing.T) {
	lengths := functionLengths(theHouse(t).files)
	if len(lengths) < 20 {
		t.Fatalf("only %d functions found", len(lengths))
	}
	median, p95 := lengths[len(lengths)/2], lengths[len(lengths)*95/100]
	t.Logf("%d functions: median %d lines, 95th percentile %d, longest %d", len(lengths), median, p95, lengths[len(lengths)-1])
	if median > medianFunc || p95 > p95Func {
		t.Errorf("median %d lines (at most %d), 95th percentile %d (at most %d)", median, medianFunc, p95, p95Func)
	}
}

// TestDocumented holds calc to comments on what it exports.
func TestDocumented(t *testing.T) {
	all, with, bare := exportedNames(theHouse(t).files)
	if all == 0 {
		t.Fatal("calc exports nothing")
	}
	if share := float64(with) / float64(all); share < documented {
		t.Errorf("%d of %d exported names in calc carry a comment; without:\n%s", with, all, strings.Join(bare, "\n"))
	}
}

// TestGrantsAreUsed keeps the table of grants true: a grant that nobody uses
// is taken back.
func TestGrantsAreUsed(t *testing.T) {
	used := map[string]bool{}
	for _, f := range theHouse(t).files {
		for _, spec := range f.ast.Imports {
			used[f.dir+" "+strings.Trim(spec.Path.Value, `"`)] = true
		}
	}
	for dir, list := range grants {
		for _, g := range list {
			if !used[dir+" "+gonum+g] {
				t.Errorf("%s is granted %s and does not import it", dir, g)
			}
		}
	}
}
