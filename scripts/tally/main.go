// Command tally reads the output of `go test -json` on standard input, shows
// what a person needs of it (each package's verdict, every failure's output,
// every skip with its reason) and counts.
//
//	go test -json ./... | go run ./scripts/tally [-strict] [-counts FILE]
//
// It writes "PASSED FAILED SKIPPED" to FILE and exits 1 when a test failed,
// when nothing ran, or, with -strict, when a test was skipped.
package main

import (
	"flag"
	"fmt"
	"os"
)

func main() {
	strict := flag.Bool("strict", false, "a skipped test is a failure")
	counts := flag.String("counts", "", "file for the counts")
	flag.Parse()
	t := newTally(os.Stdout)
	if err := t.read(os.Stdin); err != nil {
		fmt.Fprintln(os.Stderr, "tally:", err)
		os.Exit(3)
	}
	sum := t.sum(*strict)
	if *counts != "" {
		if err := os.WriteFile(*counts, []byte(sum.String()+"\n"), 0o600); err != nil {
			fmt.Fprintln(os.Stderr, "tally:", err)
			os.Exit(3)
		}
	}
	if sum.failed > 0 || sum.passed == 0 {
		os.Exit(1)
	}
}
