// Command bench measures what docs/performance.md states, in one run on one
// machine: the lens methods against the same equations in numpy, turn and
// turn about, and a file of a million eyes through `linn lens --csv`.
//
//	go run ./scripts/bench [-short] [-rows N] [-rounds N]
//
// It exits 1 when an aim is missed. With -short it only shows that the
// benches run: few rows, and the aims are printed but not held.
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"runtime"
	"slices"
	"text/tabwriter"
)

// row is one line of the table.
type row struct {
	what, got, aim string
	met            bool
}

func main() {
	short := flag.Bool("short", false, "few rows; the aims are not held")
	rows := flag.Int("rows", 1_000_000, "rows of the file of eyes")
	rounds := flag.Int("rounds", 5, "turns of program and numpy")
	flag.Parse()
	if *short {
		*rows, *rounds = 20_000, 1
	}
	table, err := measure(*rows, *rounds)
	if err != nil {
		fmt.Fprintln(os.Stderr, "bench:", err)
		os.Exit(3)
	}
	show(os.Stdout, table)
	if !*short && missed(table) {
		os.Exit(1)
	}
}

func measure(rows, rounds int) ([]row, error) {
	dir, err := os.MkdirTemp("", "linn-bench-")
	if err != nil {
		return nil, err
	}
	defer os.RemoveAll(dir)
	table, err := againstNumpy(dir, rounds)
	if err != nil {
		return nil, err
	}
	chamber, err := againstSciPy(dir)
	if err != nil {
		return nil, err
	}
	rays, err := opticsAgainstNumpy(dir)
	if err != nil {
		return nil, err
	}
	more, err := endToEnd(dir, rows)
	return slices.Concat(table, chamber, rays, more), err
}

func show(w io.Writer, table []row) {
	fmt.Fprintf(w, "%s, %s/%s, %d processors\n", runtime.Version(), runtime.GOOS, runtime.GOARCH, runtime.NumCPU())
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(t, "what\tgot\taim\t")
	for _, r := range table {
		verdict := "met"
		switch {
		case r.aim == "":
			verdict = ""
		case !r.met:
			verdict = "MISSED"
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%s\n", r.what, r.got, r.aim, verdict)
	}
	t.Flush()
}

func missed(table []row) bool {
	for _, r := range table {
		if r.aim != "" && !r.met {
			return true
		}
	}
	return false
}
