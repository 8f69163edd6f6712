package checkvalue

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"linn/source"
	"linn/unit"
)

// SyntaxError says where a file of check values breaks its form.
type SyntaxError struct {
	Path    string
	Line    int // 0 for the file as a whole
	Problem string
}

func (e *SyntaxError) Error() string { return fmt.Sprintf("%s:%d: %s", e.Path, e.Line, e.Problem) }

// headers are all the headers there are, and all are required; cols is last.
var headers = []string{"source", "where", "grade", "units", "tolerance", "note", "cols"}

const (
	empty     = "-"          // a cell the source leaves empty
	disagrees = "disagrees:" // begins our value and the reason
	half      = "half digit"
)

// Parse reads one file.
func Parse(path, text string) (File, error) {
	f := File{Path: path}
	seen := map[string]bool{}
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		fail := func(format string, args ...any) (File, error) {
			return File{}, &SyntaxError{path, i + 1, fmt.Sprintf(format, args...)}
		}
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		if seen["cols"] {
			r, err := f.row(line)
			if err != nil {
				return fail("%v", err)
			}
			r.Line = i + 1
			f.Rows = append(f.Rows, r)
			continue
		}
		key, value, found := strings.Cut(line, ":")
		value = strings.TrimSpace(value)
		switch {
		case !found || !slices.Contains(headers, key):
			return fail("unknown header %q", key)
		case seen[key]:
			return fail("header %s twice", key)
		case value == "":
			return fail("header %s is empty", key)
		}
		seen[key] = true
		if err := f.header(key, value); err != nil {
			return fail("%s: %v", key, err)
		}
	}
	return f, f.check(seen)
}

func (f *File) check(seen map[string]bool) error {
	for _, h := range headers {
		if !seen[h] {
			return &SyntaxError{f.Path, 0, "missing header " + h}
		}
	}
	if len(f.Rows) == 0 {
		return &SyntaxError{f.Path, 0, "empty table"}
	}
	if f.Tolerance.HalfDigit || f.Tolerance.Reason != "" {
		return nil
	}
	for _, r := range f.Rows {
		for _, cell := range r.Cells[len(f.Inputs):] {
			if cell != empty && f.Tolerance.Value > halfDigit(cell)+slack {
				return &SyntaxError{f.Path, r.Line, "the tolerance is wider than half of the last digit of " + cell + " and gives no reason"}
			}
		}
	}
	return nil
}

func (f *File) header(key, value string) error {
	switch key {
	case "source":
		f.Source = source.Key(value)
		if _, ok := source.Lookup(f.Source); !ok {
			return fmt.Errorf("unknown source %q", value)
		}
	case "where":
		f.Where = value
	case "grade":
		f.Grade = source.Grade(value)
		if !f.Grade.Valid() {
			return fmt.Errorf("unknown grade %q", value)
		}
	case "units":
		f.Units = value
	case "tolerance":
		return f.Tolerance.parse(value)
	case "note":
		f.Note = value
	case "cols":
		return f.columns(value)
	}
	return nil
}

func (t *Tolerance) parse(value string) error {
	width, reason, _ := strings.Cut(value, ";")
	t.Reason = strings.TrimSpace(reason)
	if width = strings.TrimSpace(width); width == half {
		t.HalfDigit = true
		return nil
	}
	number, _, _ := strings.Cut(width, " ")
	v, err := unit.ParseNumber(number)
	if err != nil {
		return err
	}
	if !(v > 0) || math.IsInf(v, 0) {
		return fmt.Errorf("%g is no tolerance", v)
	}
	t.Value = v
	return nil
}

func (f *File) columns(value string) error {
	in, out, found := strings.Cut(value, "|")
	f.Inputs, f.Outputs = strings.Fields(in), strings.Fields(out)
	if !found || len(f.Outputs) == 0 {
		return fmt.Errorf("no output column")
	}
	all := append(slices.Clone(f.Inputs), f.Outputs...)
	slices.Sort(all)
	if len(slices.Compact(all)) < len(f.Inputs)+len(f.Outputs) {
		return fmt.Errorf("a column twice")
	}
	return nil
}

// row reads "inputs | outputs disagrees: … # comment".
func (f *File) row(line string) (Row, error) {
	var r Row
	line, comment, _ := strings.Cut(line, "#")
	r.Comment = strings.TrimSpace(comment)
	parts := strings.Split(line, disagrees)
	in, out, found := strings.Cut(parts[0], "|")
	inputs, outputs := strings.Fields(in), strings.Fields(out)
	if !found || len(inputs) != len(f.Inputs) || len(outputs) != len(f.Outputs) {
		return r, fmt.Errorf("%d | %d cells where the columns are %d | %d", len(inputs), len(outputs), len(f.Inputs), len(f.Outputs))
	}
	for _, cell := range outputs {
		if _, err := unit.ParseNumber(cell); err != nil && cell != empty {
			return r, err
		}
	}
	r.Cells = append(inputs, outputs...)
	for _, text := range parts[1:] {
		d, err := f.disagreement(strings.TrimSpace(text))
		if err != nil {
			return r, err
		}
		r.Disagrees = append(r.Disagrees, d)
	}
	return r, nil
}

// disagreement reads "VALUE reason", or "OUTPUT=VALUE reason" where there are
// several outputs.
func (f *File) disagreement(text string) (Disagreement, error) {
	value, reason, _ := strings.Cut(text, " ")
	d := Disagreement{Output: f.Outputs[0], Ours: value, Reason: strings.TrimSpace(reason)}
	if name, v, named := strings.Cut(value, "="); named {
		d.Output, d.Ours = name, v
	} else if len(f.Outputs) > 1 {
		return d, fmt.Errorf("disagrees: say which output, as OUTPUT=VALUE")
	}
	if !slices.Contains(f.Outputs, d.Output) {
		return d, fmt.Errorf("disagrees: no output %q", d.Output)
	}
	if _, err := unit.ParseNumber(d.Ours); err != nil {
		return d, fmt.Errorf("disagrees: our value: %w", err)
	}
	if d.Reason == "" {
		return d, fmt.Errorf("disagrees without a reason")
	}
	return d, nil
}
