package checkvalue

import (
	"fmt"
	"path/filepath"
	"slices"
)

// Case is one row on its way through a calculation. The first cell that cannot
// be read is remembered and reported by Run.
type Case struct {
	File *File
	Row  Row
	err  error
}

// Num returns the cell of the named column as a number.
func (c *Case) Num(column string) float64 {
	v, err := c.File.Number(c.Row, column)
	c.keep(err)
	return v
}

// Word returns the cell of the named column as printed.
func (c *Case) Word(column string) string {
	text, err := c.File.Text(c.Row, column)
	c.keep(err)
	return text
}

func (c *Case) keep(err error) {
	if c.err == nil {
		c.err = err
	}
}

// Results are the computed outputs of one case, by column.
type Results map[string]float64

// Runner computes one case.
type Runner func(*Case) (Results, error)

// Run computes every row and holds each printed output against its result.
// A printed output that was not computed is an error.
func (f *File) Run(run Runner) (faults []error) {
	for _, r := range f.Rows {
		c := &Case{File: f, Row: r}
		got, err := run(c)
		if c.err != nil {
			err = c.err
		}
		if err != nil {
			faults = append(faults, fmt.Errorf("%s:%d: %w", f.Path, r.Line, err))
			continue
		}
		for _, out := range f.Outputs {
			if !f.Printed(r, out) {
				continue
			}
			v, computed := got[out]
			if !computed {
				faults = append(faults, fmt.Errorf("%s:%d: %s was not computed", f.Path, r.Line, out))
			} else if err := f.Compare(r, out, v); err != nil {
				faults = append(faults, err)
			}
		}
	}
	return faults
}

// Name is the file's folder and name: "published/author1993-table2.txt".
func (f *File) Name() string {
	return filepath.Base(filepath.Dir(f.Path)) + "/" + filepath.Base(f.Path)
}

// Unmatched names the runners that have no file.
func Unmatched[R any](files []File, runners map[string]R) (names []string) {
	for name := range runners {
		if !slices.ContainsFunc(files, func(f File) bool { return f.Name() == name }) {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	return names
}
