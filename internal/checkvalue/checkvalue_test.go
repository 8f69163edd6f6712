package checkvalue

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const good = `source: hoffer1993
where: Table 1
grade: c
units: K=D -> P=D
tolerance: half digit
note: made up for this test
# a comment line
cols: method K | P d

hoffer-q 43.5 | 20.56 5.16   # row 1
srk-t 44.00 | −1.25 -       # the source prints no position
t2 44.00 | 21.9 5.1 disagrees: P=20.88 misprint disagrees: d=5.25 the same misprint
`

func parsed(t *testing.T, text string) File {
	t.Helper()
	f, err := Parse("published/x.txt", text)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func TestParse(t *testing.T) {
	f := parsed(t, good)
	if len(f.Rows) != 3 || f.Source != "hoffer1993" || !f.Published() || !f.Unconfirmed() || f.Rows[0].Comment != "row 1" || f.Rows[1].Line != 11 {
		t.Fatalf("%+v", f)
	}
	if p, err := f.Number(f.Rows[1], "P"); p != -1.25 || err != nil {
		t.Errorf("true minus: %v %v", p, err)
	}
	if m, err := f.Text(f.Rows[0], "method"); m != "hoffer-q" || err != nil {
		t.Errorf("word: %v %v", m, err)
	}
	if f.Printed(f.Rows[1], "d") || !f.Printed(f.Rows[0], "d") || f.Printed(f.Rows[0], "nonesuch") {
		t.Error("empty cell")
	}
}

func TestCompare(t *testing.T) {
	f := parsed(t, good)
	for _, c := range []struct {
		name   string
		row    int
		output string
		got    float64
		says   string // "" when it agrees
	}{
		{"exact", 0, "P", 20.56, ""},
		{"half a digit above", 0, "P", 20.565, ""},
		{"more than half a digit", 0, "P", 20.5651, "tolerance"},
		{"another column's digits", 0, "d", 5.164, ""},
		{"not a number", 0, "P", math.NaN(), "NaN"},
		{"endless", 0, "P", math.Inf(1), "Inf"},
		{"an input", 0, "K", 43.5, "not an output"},
		{"a column that is not there", 0, "Q", 1, "not an output"},
		{"a cell the source leaves empty", 1, "d", 5, "not-a-number"},
		{"our value, marked", 2, "P", 20.883, ""},
		{"the second mark of a row", 2, "d", 5.25, ""},
		{"neither ours nor theirs", 2, "P", 20.9, "ours is"},
		{"a mark that has become stale", 2, "P", 21.9, "ours is"},
	} {
		t.Run(c.name, func(t *testing.T) {
			err := f.Compare(f.Rows[c.row], c.output, c.got)
			if c.says == "" && err != nil || c.says != "" && (err == nil || !strings.Contains(err.Error(), c.says)) {
				t.Errorf("got %v, want %q", err, c.says)
			}
		})
	}
	stale := parsed(t, strings.Replace(good, "P=20.88", "P=21.9", 1))
	if err := stale.Compare(stale.Rows[2], "P", 21.9); err == nil || !strings.Contains(err.Error(), "after all") {
		t.Errorf("a mark without a difference: %v", err)
	}
}

func TestTolerance(t *testing.T) {
	wide := strings.Replace(good, "half digit", "0.5 D; the chart was read off a graph", 1)
	f := parsed(t, wide)
	if f.Tolerance.Value != 0.5 || f.Tolerance.Reason == "" {
		t.Errorf("%+v", f.Tolerance)
	}
	if err := f.Compare(f.Rows[0], "P", 21.05); err != nil {
		t.Error(err)
	}
}

func TestRefuses(t *testing.T) {
	change := func(old, new string) string { return strings.Replace(good, old, new, 1) }
	for _, c := range []struct{ name, text, says string }{
		{"empty file", "", "missing header source"},
		{"empty table", good[:strings.Index(good, "hoffer-q")], "empty table"},
		{"unknown header", change("where:", "page:"), `unknown header "page"`},
		{"missing header", change("units: K=D -> P=D\n", ""), "missing header units"},
		{"header twice", change("grade: c", "grade: c\ngrade: c"), "grade twice"},
		{"empty header", change("grade: c", "grade:"), "grade is empty"},
		{"unknown source", change("hoffer1993", "hoffer1893"), "unknown source"},
		{"unknown grade", change("grade: c", "grade: e"), "unknown grade"},
		{"row before cols", change("# a comment line", "1 2 | 3 4"), "unknown header"},
		{"wide tolerance without reason", change("half digit", "0.5 D"), "gives no reason"},
		{"no tolerance", change("half digit", "0 D"), "no tolerance"},
		{"tolerance in words", change("half digit", "small"), "not-a-number"},
		{"no output column", change("method K | P d", "method K P d"), "no output column"},
		{"column twice", change("method K | P d", "method K | P K"), "a column twice"},
		{"a cell too few", change("srk-t 44.00", "srk-t"), "cells where the columns"},
		{"an output in words", change("20.56 5.16", "20.56 deep"), "not-a-number"},
		{"disagrees without reason", change("disagrees: P=20.88 misprint", "disagrees: P=20.88"), "without a reason"},
		{"disagrees without output", change("disagrees: P=20.88", "disagrees: 20.88"), "say which output"},
		{"disagrees about nothing", change("disagrees: P=20.88", "disagrees: Q=20.88"), "no output"},
		{"disagrees in words", change("disagrees: P=20.88", "disagrees: P=much"), "our value"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Parse("x.txt", c.text)
			var syntax *SyntaxError
			if !errors.As(err, &syntax) || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, want %q", err, c.says)
			}
		})
	}
}

func TestLoad(t *testing.T) {
	root := t.TempDir()
	for _, name := range []string{"a/testdata/published/x.txt", "a/testdata/derived/y.txt", "a/testdata/other/z.txt", "a/published/z.txt"} {
		path := filepath.Join(root, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		text := good
		if strings.HasSuffix(name, "z.txt") {
			text = "not a file of check values"
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	files, err := LoadTree(root)
	if err != nil || len(files) != 2 || files[0].Published() || !files[1].Published() {
		t.Fatalf("%d files, %v", len(files), err)
	}
	if none, err := Load(filepath.Join(root, "nowhere")); none != nil || err != nil {
		t.Errorf("%v %v", none, err)
	}
	if _, err := Load(filepath.Join(root, "a/published")); err == nil {
		t.Error("a broken file was read")
	}
}

func FuzzParse(f *testing.F) {
	f.Add(good)
	f.Add(strings.Replace(good, "half digit", "0.5 D; reason", 1))
	f.Add("source: si\nwhere: x\ngrade: d\nunits: -\ntolerance: 1 D; y\nnote: n\ncols: | a\n| 1\n")
	f.Fuzz(func(t *testing.T, text string) {
		file, err := Parse("fuzz.txt", text)
		if err != nil {
			return
		}
		if len(file.Rows) == 0 || len(file.Outputs) == 0 {
			t.Fatal("a file without a check")
		}
		for _, r := range file.Rows {
			for _, out := range file.Outputs {
				if !file.Printed(r, out) {
					continue
				}
				v, err := file.Number(r, out)
				if err != nil {
					t.Fatalf("an output was taken that is no number: %v", err)
				}
				if err := file.Compare(r, out, v); err != nil && len(r.Disagrees) == 0 {
					t.Fatalf("print disagrees with itself: %v", err)
				}
				far := v + 2*file.Tolerance.of("0")*10 + math.Abs(v)
				if err := file.Compare(r, out, far+1); err == nil && len(r.Disagrees) == 0 {
					t.Fatalf("%g passes for %g", far+1, v)
				}
			}
		}
	})
}

func TestRun(t *testing.T) {
	f := parsed(t, good)
	right := func(c *Case) (Results, error) {
		switch c.Word("method") {
		case "hoffer-q":
			return Results{"P": 20.5649, "d": 5.16}, nil
		case "srk-t":
			return Results{"P": -1.25}, nil
		}
		return Results{"P": 20.88, "d": c.Num("K") - 38.75}, nil
	}
	if faults := f.Run(right); faults != nil {
		t.Errorf("%v", faults)
	}
	for _, c := range []struct {
		name string
		run  Runner
		says string
	}{
		{"a column that is not there", func(c *Case) (Results, error) { c.Num("AL"); return right(c) }, "no column AL"},
		{"a word for a number", func(c *Case) (Results, error) { c.Num("method"); return right(c) }, "not-a-number"},
		{"a calculation that fails", func(*Case) (Results, error) { return nil, errors.New("outside") }, "outside"},
		{"an output left out", func(*Case) (Results, error) { return Results{"P": 20.56}, nil }, "not computed"},
		{"a wrong output", func(*Case) (Results, error) { return Results{"P": 0, "d": 0}, nil }, "printed 20.56"},
	} {
		t.Run(c.name, func(t *testing.T) {
			faults := f.Run(c.run)
			if len(faults) == 0 || !strings.Contains(errors.Join(faults...).Error(), c.says) {
				t.Errorf("got %v, want %q", faults, c.says)
			}
		})
	}
	if gone := Unmatched([]File{f}, map[string]Runner{"published/x.txt": nil, "published/y.txt": nil}); len(gone) != 1 || gone[0] != "published/y.txt" {
		t.Errorf("unmatched: %v", gone)
	}
}
