package csvio

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/care/plan"
)

// Job is one run over a table of eyes.
type Job struct {
	Name string // of the input, for messages
	In   io.Reader
	Out  io.Writer

	// Answer answers one row; it is called from several goroutines at once.
	Answer func(*Row, *plan.Row)

	// Message is told why something was refused, in input order.
	Message func(finding.Refusal)

	// Progress is told how many rows are done, now and then; may be nil.
	Progress func(rows int)

	// Another answer than that of the lens methods: its first line, the further
	// columns it takes, and what writes one row's answer. Write is called from
	// several goroutines at once; what it refuses stands in its place.
	Columns string
	Also    Also
	Write   func(b []byte, r *Row) ([]byte, finding.Refusals)

	chunk int // size of a chunk in bytes; 0 takes chunkSize
}

// Summary is what a run did.
type Summary struct {
	Rows    int  // read, refused ones included
	Refused int  // rows
	Table   bool // the table as a whole was refused, or its rest
}

// Columns is the first line of the answer.
const Columns = "id,method,lens_position_mm,power_d,lens_d,refraction_d,findings"

// Lenses reads the table of the job and writes the answers in input order.
// Its memory does not depend on the size of the table. The error is one of
// the machinery, or ctx's when it was interrupted: what stands in Out is then
// whole rows from the beginning.
func Lenses(ctx context.Context, j Job) (Summary, error) {
	if j.chunk == 0 {
		j.chunk = chunkSize
	}
	in := newChunker(j.In, j.chunk)
	text, line, err := in.header()
	if errors.Is(err, errRowTooLong) {
		j.Message(finding.Refusal{Code: "row-too-long", Line: line, Column: 1})
		return Summary{Table: true}, nil
	}
	if err != nil {
		return Summary{}, fmt.Errorf("read %s: %w", j.Name, err)
	}
	h, refused := readHeader(text, in.delim, line, j.Also)
	if len(refused) > 0 {
		for _, r := range refused {
			j.Message(r)
		}
		return Summary{Table: true}, nil
	}
	out := bufio.NewWriterSize(j.Out, 64<<10)
	if j.Write == nil {
		j.Columns = Columns
	}
	if _, err := out.WriteString(j.Columns + "\n"); err != nil {
		return Summary{}, fmt.Errorf("write answers: %w", err)
	}
	s, err := j.stream(ctx, in, h, out)
	if flushed := out.Flush(); err == nil && flushed != nil {
		err = fmt.Errorf("write answers: %w", flushed)
	}
	return s, err
}

// task is a chunk on its way through a worker; done carries what it became.
type task struct {
	chunk chunk
	err   error // of the reading; the chunk is then empty
	done  chan result
}

// result is the text of a chunk's answers.
type result struct {
	text    []byte
	rows    int
	bad     int
	refused finding.Refusals
	err     error
}

// stream sends chunks through the workers and writes their answers in order.
// At most two chunks for each worker are under way.
func (j *Job) stream(ctx context.Context, in *chunker, h header, out io.Writer) (s Summary, err error) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	workers := max(1, runtime.GOMAXPROCS(0))
	work := make(chan task)
	order := make(chan task, 2*workers)
	free := make(chan []byte, 3*workers)
	go feed(ctx, in, work, order)
	for range workers {
		go func() {
			w := worker{job: j, reader: reader{h: h}}
			for t := range work {
				t.done <- w.safely(t.chunk, j.take(free))
			}
		}()
	}
	for {
		var t task
		var ok bool
		select {
		case <-ctx.Done():
			return s, ctx.Err()
		case t, ok = <-order:
			if !ok {
				return s, ctx.Err()
			}
		}
		if t.err != nil {
			return j.end(s, in, t.err)
		}
		r := <-t.done
		if r.err != nil {
			return s, r.err
		}
		if _, err := out.Write(r.text); err != nil {
			return s, fmt.Errorf("write answers: %w", err)
		}
		for _, f := range r.refused {
			j.Message(f)
		}
		s.Rows, s.Refused = s.Rows+r.rows, s.Refused+r.bad
		select {
		case free <- r.text[:0]:
		default:
		}
		if j.Progress != nil {
			j.Progress(s.Rows)
		}
	}
}

// end tells what an error of the reading means.
func (j *Job) end(s Summary, in *chunker, err error) (Summary, error) {
	if errors.Is(err, errRowTooLong) {
		j.Message(finding.Refusal{Code: "row-too-long", Line: in.line, Column: 1})
		s.Table = true
		return s, nil
	}
	return s, fmt.Errorf("read %s: %w", j.Name, err)
}

// feed cuts the stream into tasks until its end, an error or ctx.
func feed(ctx context.Context, in *chunker, work, order chan<- task) {
	defer close(work)
	defer close(order)
	for {
		c, err := in.next()
		if errors.Is(err, io.EOF) {
			return
		}
		t := task{chunk: c, err: err, done: make(chan result, 1)}
		select {
		case <-ctx.Done():
			return
		case order <- t:
		}
		if err != nil {
			return
		}
		select {
		case <-ctx.Done():
			t.done <- result{err: ctx.Err()}
			return
		case work <- t:
		}
	}
}

// take returns memory for the answers of one chunk.
func (j *Job) take(free <-chan []byte) []byte {
	select {
	case b := <-free:
		return b
	default:
		return make([]byte, 0, 4*j.chunk)
	}
}

// worker answers chunks.
type worker struct {
	job    *Job
	reader reader
	answer plan.Row
}

// safely turns a broken invariant of ours into an error: a worker never takes
// the program down with a trace.
func (w *worker) safely(c chunk, into []byte) (r result) {
	defer func() {
		if p := recover(); p != nil {
			r = result{err: fmt.Errorf("rows from line %d of %s: broken invariant: %v", c.line, w.job.Name, p)}
		}
	}()
	return w.do(c, into)
}

func (w *worker) do(c chunk, into []byte) result {
	r := result{text: into}
	number, line := c.row, c.line
	for at := 0; at < len(c.text); {
		x, ok := nextRow(c.text[at:], w.reader.h.delim, true)
		if !ok { // the chunker let only whole rows through
			r.err = fmt.Errorf("rows from line %d of %s cannot be told apart", line, w.job.Name)
			return r
		}
		if text := c.text[at : at+x.length]; !blank(text) {
			w.one(&r, text, x, number, line)
			number++
		}
		at, line = at+x.next, line+x.lines
	}
	return r
}

func (w *worker) one(r *result, text string, x extent, number, line int) {
	refused := w.reader.read(text, x, number, line)
	whole := len(r.text)
	if len(refused) == 0 && w.job.Write != nil {
		r.text, refused = w.job.Write(r.text, &w.reader.row)
		for i := range refused {
			refused[i].Line, refused[i].Column = line, 1
		}
	} else if len(refused) == 0 {
		w.job.Answer(&w.reader.row, &w.answer)
		for _, f := range w.answer.Refused {
			f.Line, f.Column = line, 1
			refused = append(refused, f)
		}
	}
	r.rows++
	if len(refused) > 0 {
		r.bad++
		r.refused = append(r.refused, refused...)
		r.text = appendCell(r.text[:whole], w.reader.row.ID)
		for range strings.Count(w.job.Columns, ",") {
			r.text = append(r.text, ',')
		}
		r.text = append(append(append(r.text, "refused:"...), refused[0].Code...), '\n')
		return
	}
	if w.job.Write != nil {
		return
	}
	for i := range w.answer.Lines {
		r.text = appendLine(r.text, w.reader.row.ID, w.answer.Codes, &w.answer.Lines[i])
	}
}

// appendLine writes one line of the answer.
func appendLine(b []byte, id string, codes []string, l *plan.Line) []byte {
	b = append(appendCell(b, id), ',')
	b = append(append(b, l.Method...), ',')
	for _, n := range [...]plan.Number{l.LensPosition, l.Power, l.Chosen, l.Refraction} {
		b = append(appendNumber(b, n), ',')
	}
	b = appendCodes(b, codes, l.Codes)
	return append(b, '\n')
}

// appendCodes joins the row's codes and the method's own, each once.
func appendCodes(b []byte, row, own []string) []byte {
	start := len(b)
	add := func(code string) {
		if len(b) > start {
			b = append(b, ';')
		}
		b = append(b, code...)
	}
	for i, code := range row {
		if !slices.Contains(row[:i], code) {
			add(code)
		}
	}
	for i, code := range own {
		if !slices.Contains(row, code) && !slices.Contains(own[:i], code) {
			add(code)
		}
	}
	return b
}

// appendNumber writes four decimals, never −0, nothing for what does not exist.
func appendNumber(b []byte, n plan.Number) []byte {
	if !n.Known {
		return b
	}
	at := len(b)
	b = strconv.AppendFloat(b, n.Value, 'f', 4, 64)
	if string(b[at:]) == "-0.0000" {
		b = append(b[:at], "0.0000"...)
	}
	return b
}

// appendCell quotes a text that would break the table.
func appendCell(b []byte, text string) []byte {
	if !strings.ContainsAny(text, ",;\"\r\n") {
		return append(b, text...)
	}
	return append(append(append(b, '"'), strings.ReplaceAll(text, `"`, `""`)...), '"')
}

// AppendRow writes an id, words and numbers and the codes of findings as one
// line of an answer, in the form of the answer of the lens methods.
func AppendRow(b []byte, id string, words []string, numbers []plan.Number, found []finding.Finding) []byte {
	b = appendCell(b, id)
	for _, w := range words {
		b = appendCell(append(b, ','), w)
	}
	for _, n := range numbers {
		b = appendNumber(append(b, ','), n)
	}
	var codes []string
	for _, f := range found {
		codes = append(codes, f.Code)
	}
	return append(appendCodes(append(b, ','), codes, nil), '\n')
}
