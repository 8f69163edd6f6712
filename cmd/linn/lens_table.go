package main

import (
	"fmt"
	"os"
	"strconv"
	"time"

	"linn/finding"
	"linn/internal/pathway"
	"linn/internal/transfer/csvio"
)

// lensTable answers a table of eyes as a stream. What was refused is told on
// standard error, the rest is written.
func (a *app) lensTable(name string, progress bool, o pathway.LensOptions) error {
	in, err := a.open(name)
	if err != nil {
		return err
	}
	defer in.Close()
	tell := newComplaints(a, name)
	job := csvio.Job{Name: name, In: in, Out: a.out, Message: tell.tell,
		Answer: func(r *csvio.Row, into *pathway.LensRow) {
			into.Options = o
			pathway.AnswerRow(&r.Eye, &r.Lens, r.Power, into)
		}}
	if progress || isTerminal(a.err) {
		job.Progress = a.progress()
	}
	s, err := csvio.Lenses(a.ctx, job)
	tell.close()
	if job.Progress != nil {
		fmt.Fprintf(a.err, "\r%s\n", a.t("command.rows", rows(s.Rows)...))
	}
	switch {
	case err != nil:
		return err
	case s.Refused > 0:
		a.say("command.rows-refused", append(rows(s.Rows), finding.Value{Name: "refused", Text: strconv.Itoa(s.Refused)})...)
		return errRefused
	case s.Table:
		return errRefused
	}
	return nil
}

func rows(n int) []finding.Value { return []finding.Value{{Name: "n", Text: strconv.Itoa(n)}} }

// progress tells the number of rows four times a second.
func (a *app) progress() func(int) {
	last := time.Now()
	return func(n int) {
		if now := time.Now(); now.Sub(last) > 250*time.Millisecond {
			last = now
			fmt.Fprintf(a.err, "\r%s", a.t("command.rows", rows(n)...))
		}
	}
}

// isTerminal reports whether w is a terminal: a character device.
func isTerminal(w any) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
}
