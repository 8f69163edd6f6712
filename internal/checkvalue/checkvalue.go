// Package checkvalue reads the files of check values that stand beside the
// calculations: testdata/published holds numbers as a source printed them,
// testdata/derived numbers of our own second method. It serves tests and the
// generator of docs/formulas.md.
//
// A file is text: seven headers, then one case per line.
//
//	source: retzlaff1990            key in package source
//	where: Table 2, p. 123          equation, table, page
//	grade: a                        a read in the source, b secondary, c memory, d our own
//	units: K=D AL=mm A=1 -> P=D
//	tolerance: half digit           or "0.05 D", and "; reason" when that is wider
//	note: what was read and how
//	cols: K AL A | P
//	43.50 23.50 118.4 | 20.56       # row 1
//	43.50 24.20 118.4 | 18.9  disagrees: 18.499 printed value does not follow from the equation
//
// Cells are entered as printed; "-" is a cell the source leaves empty. Inputs
// may be words. An output agrees when it lies within the tolerance of print;
// one that does not keeps the printed value and carries ours with the reason,
// never a wider tolerance. Unknown, missing and repeated headers, an empty
// table and an unknown source are refused.
package checkvalue

import (
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"linn/source"
	"linn/unit"
)

// File is one file of check values.
type File struct {
	Path            string
	Source          source.Key
	Where           string
	Grade           source.Grade
	Units           string
	Tolerance       Tolerance
	Note            string
	Inputs, Outputs []string // column names
	Rows            []Row
}

// Tolerance is how far from print a value may lie.
type Tolerance struct {
	HalfDigit bool    // half a unit of the last printed digit of each cell
	Value     float64 // otherwise
	Reason    string  // why it is wider than half a digit
}

// Row is one case.
type Row struct {
	Line      int
	Cells     []string // as printed, inputs then outputs
	Comment   string
	Disagrees []Disagreement
}

// Disagreement is an output that our equation does not reproduce.
type Disagreement struct {
	Output string
	Ours   string // our value as text; its digits are what is claimed
	Reason string
}

// slack absorbs the binary rounding of a printed decimal, nothing more.
const slack = 1e-9

// Load reads every .txt file of dir in name order. A directory that does not
// exist has no files.
func Load(dir string) ([]File, error) {
	names, err := filepath.Glob(filepath.Join(dir, "*.txt"))
	if err != nil {
		return nil, fmt.Errorf("checkvalue: %w", err)
	}
	var files []File
	for _, name := range names {
		text, err := os.ReadFile(name)
		if err != nil {
			return nil, fmt.Errorf("checkvalue: %w", err)
		}
		f, err := Parse(name, string(text))
		if err != nil {
			return nil, err
		}
		files = append(files, f)
	}
	return files, nil
}

// LoadTree reads the files of every testdata/published and testdata/derived
// folder below root.
func LoadTree(root string) ([]File, error) {
	var files []File
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.IsDir() || filepath.Base(filepath.Dir(path)) != "testdata" {
			return err
		}
		if base := filepath.Base(path); base != "published" && base != "derived" {
			return nil
		}
		more, err := Load(path)
		files = append(files, more...)
		return err
	})
	return files, err
}

// Published reports whether the file holds a source's numbers.
func (f *File) Published() bool { return filepath.Base(filepath.Dir(f.Path)) == "published" }

// Unconfirmed reports whether its numbers are from memory: they are run like
// any other and listed as not yet read in the source.
func (f *File) Unconfirmed() bool { return f.Grade == source.Memory }

// column returns the place of a column in Cells, -1 when there is none.
func (f *File) column(name string) int {
	if i := slices.Index(f.Inputs, name); i >= 0 {
		return i
	}
	if i := slices.Index(f.Outputs, name); i >= 0 {
		return len(f.Inputs) + i
	}
	return -1
}

// Text returns the cell of the named column as printed.
func (f *File) Text(r Row, name string) (string, error) {
	i := f.column(name)
	if i < 0 {
		return "", fmt.Errorf("%s: no column %s", f.Path, name)
	}
	return r.Cells[i], nil
}

// Number returns the cell of the named column as a number. A cell left empty
// is an error.
func (f *File) Number(r Row, name string) (float64, error) {
	text, err := f.Text(r, name)
	if err != nil {
		return 0, err
	}
	v, err := unit.ParseNumber(text)
	if err != nil {
		return 0, fmt.Errorf("%s:%d: %s: %w", f.Path, r.Line, name, err)
	}
	return v, nil
}

// Printed reports whether the source prints the named cell.
func (f *File) Printed(r Row, name string) bool {
	text, err := f.Text(r, name)
	return err == nil && text != empty
}

// Compare holds got against the printed output, and against our own value
// where the row disagrees. A disagreement that has ceased to exist is an error
// as well.
func (f *File) Compare(r Row, output string, got float64) error {
	if !slices.Contains(f.Outputs, output) {
		return fmt.Errorf("%s: %s is not an output", f.Path, output)
	}
	if math.IsNaN(got) || math.IsInf(got, 0) {
		return fmt.Errorf("%s:%d: %s: got %g", f.Path, r.Line, output, got)
	}
	want, err := f.Number(r, output)
	if err != nil {
		return err
	}
	text, err := f.Text(r, output)
	if err != nil {
		return err
	}
	far := math.Abs(got-want) > f.Tolerance.of(text)+slack
	i := slices.IndexFunc(r.Disagrees, func(d Disagreement) bool { return d.Output == output })
	if i < 0 {
		if far {
			return fmt.Errorf("%s:%d: %s: got %.6f, printed %s, tolerance %g", f.Path, r.Line, output, got, text, f.Tolerance.of(text))
		}
		return nil
	}
	ours, err := unit.ParseNumber(r.Disagrees[i].Ours)
	switch {
	case err != nil:
		return fmt.Errorf("%s:%d: %s: %w", f.Path, r.Line, output, err)
	case math.Abs(got-ours) > halfDigit(r.Disagrees[i].Ours)+slack:
		return fmt.Errorf("%s:%d: %s: got %.6f, the row says ours is %s", f.Path, r.Line, output, got, r.Disagrees[i].Ours)
	case !far:
		return fmt.Errorf("%s:%d: %s: agrees with print after all: %.6f, printed %s", f.Path, r.Line, output, got, text)
	}
	return nil
}

func (t Tolerance) of(printed string) float64 {
	if t.HalfDigit {
		return halfDigit(printed)
	}
	return t.Value
}

// halfDigit is half a unit of the last digit of a printed number.
func halfDigit(text string) float64 {
	decimals := 0
	if i := strings.LastIndexAny(text, ".,"); i >= 0 {
		decimals = len(text) - i - 1
	}
	return 0.5 * math.Pow(10, -float64(decimals))
}
