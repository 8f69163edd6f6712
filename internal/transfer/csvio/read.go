package csvio

import (
	"strconv"
	"unicode/utf8"

	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/plan"
)

// reader reads rows of one table. Every worker has its own.
type reader struct {
	h      header
	row    Row
	fellow eye.Eye
	cells  []cell
}

// read reads one row into r.row. The refusals carry their line and column.
func (r *reader) read(text string, x extent, number, line int) (refused finding.Refusals) {
	r.row = Row{Lens: lenspower.NewLens(), ID: strconv.Itoa(number)}
	r.fellow = eye.Eye{}
	if r.h.after {
		r.row.After = &plan.After{}
	}
	at := func(f finding.Refusal, offset int) {
		lines, column := place(text, offset)
		f.Line, f.Column = line+lines, column
		refused = append(refused, f)
	}
	if x.broken {
		at(finding.Refusal{Code: "quotes"}, 0)
		return refused
	}
	if !utf8.ValidString(text) {
		at(finding.Refusal{Code: "not-utf8-row"}, 0)
		return refused
	}
	r.cells = cells(r.cells, text, r.h.delim)
	if len(r.cells) != len(r.h.columns) {
		at(finding.Refusal{Code: "cell-count", Values: finding.Values{
			{Name: "got", Text: strconv.Itoa(len(r.cells))}, {Name: "wanted", Text: strconv.Itoa(len(r.h.columns))}}}, 0)
		return refused
	}
	for i := range r.cells {
		c, col := &r.cells[i], &r.h.columns[i]
		if c.text == "" || col.set == nil {
			continue
		}
		if f := col.set(r, c.text); f != nil {
			at(*f, c.at)
		}
	}
	if f := r.row.Lens.Check(); f != nil && len(refused) == 0 {
		at(*f, 0)
	}
	return refused
}

// place turns an offset in a row into line ends before it and a column; a
// quoted cell may hold line ends.
func place(row string, offset int) (lines, column int) {
	start := 0
	for i := 0; i < offset; i++ {
		if n := lineEnd(row[i:]); row[i] == '\n' || row[i] == '\r' {
			i += n - 1
			lines, start = lines+1, i+1
		}
	}
	return lines, offset - start + 1
}
