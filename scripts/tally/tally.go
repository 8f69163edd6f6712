package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strings"
)

// event is one line of `go test -json` (see `go doc test2json`).
type event struct {
	Action      string
	Package     string
	ImportPath  string
	Test        string
	Elapsed     float64
	Output      string
	FailedBuild string
}

// sum is what was counted.
type sum struct{ passed, failed, skipped int }

func (s sum) String() string { return fmt.Sprintf("%d %d %d", s.passed, s.failed, s.skipped) }

// tally gathers the events of one run.
type tally struct {
	out    io.Writer
	output map[string]*strings.Builder // by package and test, until its verdict
	failed map[string]int              // failed tests by package
	count  sum
	skips  []string
}

func newTally(out io.Writer) *tally {
	return &tally{out: out, output: map[string]*strings.Builder{}, failed: map[string]int{}}
}

// read takes every event. A line that is no event is shown as it stands.
func (t *tally) read(in io.Reader) error {
	r := bufio.NewReader(in)
	for {
		line, err := r.ReadString('\n')
		if line = strings.TrimRight(line, "\n"); line != "" {
			var e event
			if json.Unmarshal([]byte(line), &e) != nil || e.Action == "" {
				fmt.Fprintln(t.out, line)
			} else {
				t.take(e)
			}
		}
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
	}
}

func (t *tally) take(e event) {
	key := e.Package + " " + e.Test
	switch e.Action {
	case "output", "build-output":
		if e.Action == "build-output" {
			key = "build " + e.ImportPath
		}
		if t.output[key] == nil {
			t.output[key] = &strings.Builder{}
		}
		t.output[key].WriteString(e.Output)
		return
	case "pass", "fail", "skip":
	default:
		return
	}
	if e.Test == "" {
		t.closePackage(e)
	} else {
		t.closeTest(e, key)
	}
	delete(t.output, key)
}

func (t *tally) closeTest(e event, key string) {
	switch e.Action {
	case "pass":
		t.count.passed++
	case "skip":
		t.count.skipped++
		t.skips = append(t.skips, e.Package+" "+e.Test+": "+t.reason(key))
	case "fail":
		t.count.failed++
		t.failed[e.Package]++
		fmt.Fprintf(t.out, "FAIL %s %s\n%s", e.Package, e.Test, t.shown(key))
	}
}

// closePackage shows a package's verdict. A package that fails without a
// failed test (it does not build, panics or exits) counts as one failure.
func (t *tally) closePackage(e event) {
	switch {
	case e.Action == "skip": // no test files
	case e.Action == "pass":
		fmt.Fprintf(t.out, "ok   %s %.1f s\n", e.Package, e.Elapsed)
	case t.failed[e.Package] > 0:
		fmt.Fprintf(t.out, "FAIL %s %.1f s, %d failed\n", e.Package, e.Elapsed, t.failed[e.Package])
	default:
		t.count.failed++
		fmt.Fprintf(t.out, "FAIL %s\n%s%s", e.Package, t.shown("build "+e.FailedBuild), t.unfinished(e.Package))
	}
}

// unfinished is the output of a package and of its tests that never came to a
// verdict, as after a panic.
func (t *tally) unfinished(pkg string) string {
	var b strings.Builder
	for key := range t.output {
		if strings.HasPrefix(key, pkg+" ") {
			b.WriteString(t.shown(key))
		}
	}
	return b.String()
}

// shown is the output under key without test2json's own marks.
func (t *tally) shown(key string) string {
	if t.output[key] == nil {
		return ""
	}
	var b strings.Builder
	for line := range strings.Lines(t.output[key].String()) {
		if !strings.HasPrefix(line, "=== ") {
			b.WriteString(line)
		}
	}
	return b.String()
}

// reason is the last thing a skipped test said before its verdict.
func (t *tally) reason(key string) string {
	last := "no reason given"
	for _, line := range strings.Split(t.shown(key), "\n") {
		if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "---") {
			last = line
		}
	}
	return last
}

// sum closes the count: with strict, skips are failures.
func (t *tally) sum(strict bool) sum {
	for _, s := range t.skips {
		fmt.Fprintln(t.out, "skip", s)
	}
	s := t.count
	if strict {
		s.failed, s.skipped = s.failed+s.skipped, 0
	}
	return s
}
