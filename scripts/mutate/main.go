// Command mutate plants known slips in a copy of the lens formulas, one at a
// time, and holds the tests to it: for every slip a named test must fail.
//
//	go run ./scripts/mutate [-only NAME] [-jobs N]
//
// It prints which test caught which slip. It exits 1 when a slip is not caught,
// when the text a slip changes does not stand exactly once in its file, or when
// a test fails on the unchanged copy; a test that does not build or does not
// exist catches nothing.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"runtime"
	"strings"
	"sync"
	"text/tabwriter"
	"time"
)

// perSlip is how long the tests of one slip may take.
const perSlip = 3 * time.Minute

func main() {
	only := flag.String("only", "", "run one slip by name")
	jobs := flag.Int("jobs", runtime.NumCPU(), "copies worked on at once")
	flag.Parse()
	if err := run(".", *only, max(*jobs, 1)); err != nil {
		fmt.Fprintln(os.Stderr, "mutate:", err)
		os.Exit(1)
	}
}

func run(root, only string, jobs int) error {
	chosen, err := choose(only)
	if err != nil {
		return err
	}
	work, err := os.MkdirTemp("", "linn-mutate-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	var copies []string
	for i := range jobs {
		dir := fmt.Sprintf("%s/%d", work, i)
		if err := copyModule(root, dir); err != nil {
			return err
		}
		copies = append(copies, dir)
	}
	if err := baseline(copies[0], chosen); err != nil {
		return err
	}
	faults := plantAll(copies, chosen)
	w := tabwriter.NewWriter(os.Stdout, 0, 0, 2, ' ', 0)
	missed := 0
	for i, s := range chosen {
		verdict := s.test
		if faults[i] != nil {
			verdict = "NOT CAUGHT: " + faults[i].Error()
			missed++
		}
		fmt.Fprintf(w, "%s\t%s\t%s\n", s.name, s.pkg, verdict)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	fmt.Printf("%d of %d slips caught\n", len(chosen)-missed, len(chosen))
	if missed > 0 {
		return fmt.Errorf("%d slips not caught", missed)
	}
	return nil
}

func choose(only string) ([]slip, error) {
	if only == "" {
		return slips, nil
	}
	for _, s := range slips {
		if s.name == only {
			return []slip{s}, nil
		}
	}
	return nil, fmt.Errorf("no slip is named %q", only)
}

// baseline runs the named tests on the unchanged copy: each must be there and
// pass.
func baseline(dir string, chosen []slip) error {
	done := map[string]bool{}
	for _, s := range chosen {
		key := s.pkg + " " + s.test
		if done[key] {
			continue
		}
		done[key] = true
		out, err := goTest(dir, s)
		if err != nil {
			return fmt.Errorf("%s fails without any slip:\n%s", key, out)
		}
		if !strings.Contains(out, "--- PASS: "+s.test+" ") {
			return fmt.Errorf("%s is not there:\n%s", key, out)
		}
	}
	return nil
}

// plantAll works through the slips with as many copies as there are.
func plantAll(copies []string, chosen []slip) []error {
	faults := make([]error, len(chosen))
	next := make(chan int)
	var wait sync.WaitGroup
	for _, dir := range copies {
		wait.Go(func() {
			for i := range next {
				faults[i] = plant(dir, chosen[i])
				fmt.Fprintf(os.Stderr, "mutate: %d of %d: %s\n", i+1, len(chosen), chosen[i].name)
			}
		})
	}
	for i := range chosen {
		next <- i
	}
	close(next)
	wait.Wait()
	return faults
}

// plant makes the slip in the copy, runs its test and takes the slip back. It
// returns nil when the test caught it.
func plant(dir string, s slip) (err error) {
	was, err := s.apply(dir)
	defer func() {
		if back := restore(dir, was); back != nil {
			err = errors.Join(err, back)
		}
	}()
	if err != nil {
		return err
	}
	out, failed := goTest(dir, s)
	switch {
	case strings.Contains(out, "[build failed]") || strings.Contains(out, "[setup failed]"):
		return fmt.Errorf("the slip does not build:\n%s", out)
	case failed == nil:
		return errors.New("the test passes")
	case !strings.Contains(out, "--- FAIL: "+s.test+" "):
		return fmt.Errorf("another failure:\n%s", out)
	case s.says != "" && !strings.Contains(out, s.says):
		return fmt.Errorf("it fails without saying %q:\n%s", s.says, out)
	}
	return nil
}

// goTest runs the slip's test in the copy and returns what it said.
func goTest(dir string, s slip) (string, error) {
	ctx, stop := context.WithTimeout(context.Background(), perSlip)
	defer stop()
	pattern := "^" + strings.ReplaceAll(s.test, "/", "$/^") + "$"
	cmd := command(ctx, dir, "go", "test", "-count=1", "-vet=off", "-ldflags=-s -w", "-v", "-run", pattern, "./"+s.pkg)
	out, err := cmd.CombinedOutput()
	return string(out), err
}
