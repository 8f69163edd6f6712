// Command load measures what docs/performance.md states of many people on a
// large record: it fills a record with cases, starts the workbench on it as a
// program of its own with two processors, signs people in, and lets them read
// and write on loopback as a ward does.
//
//	go run ./scripts/load [-cases N] [-people N] [-seconds N] [-db URL] [-hold]
//
// It exits 1 when a page failed, nobody got one, or the start was slow; with
// -hold also when pages were slower than their aim, which on a machine with
// other work says more about that work. Processor time is the workbench's alone,
// its check of the chain behind the pages included. The record is invented; all
// but the newest cases carry a signed plan of about 3 kB instead of the full one.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"time"
)

// The aims.
const (
	aimPage  = 100 * time.Millisecond // 99 of 100 pages
	aimStart = time.Second
)

type options struct {
	cases, people, seconds int
	pause                  time.Duration
	db                     string
	hold                   bool
}

func main() {
	var o options
	flag.IntVar(&o.cases, "cases", 100_000, "cases in the record")
	flag.IntVar(&o.people, "people", 50, "people at work")
	flag.IntVar(&o.seconds, "seconds", 30, "how long they work")
	flag.DurationVar(&o.pause, "pause", 2*time.Second, "mean time a person looks at a page")
	flag.StringVar(&o.db, "db", "", "an empty PostgreSQL database; SQLite when left out")
	flag.BoolVar(&o.hold, "hold", false, "exit 1 also when pages are slower than their aim")
	flag.Parse()
	wrong, slow, err := run(context.Background(), o)
	if err != nil {
		fmt.Fprintln(os.Stderr, "load:", err)
		os.Exit(3)
	}
	if wrong || slow && o.hold {
		os.Exit(1)
	}
}

func run(ctx context.Context, o options) (wrong, slow bool, err error) {
	dir, err := os.MkdirTemp("", "linn-load-")
	if err != nil {
		return false, false, err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	program := filepath.Join(dir, "linn")
	build := exec.CommandContext(ctx, "go", "build", "-trimpath", "-o", program, "./cmd/linn")
	build.Env, build.Stderr = append(os.Environ(), "CGO_ENABLED=0"), os.Stderr
	if err := build.Run(); err != nil {
		return false, false, err
	}
	began := time.Now()
	w := &ward{dir: filepath.Join(dir, "ward"), db: o.db}
	if err := w.fill(ctx, o.cases, o.people); err != nil {
		return false, false, err
	}
	engine := "SQLite"
	if o.db != "" {
		engine = "PostgreSQL"
	}
	fmt.Printf("%s, %s/%s, %d processors; %s, %d cases filled in %.0f s\n", runtime.Version(), runtime.GOOS, runtime.GOARCH, runtime.NumCPU(), engine, o.cases, time.Since(began).Seconds())
	s, err := serve(ctx, program, w)
	if err != nil {
		return false, false, err
	}
	defer func() { err = errors.Join(err, s.end()) }()
	fmt.Printf("start to address: %d ms (aim under %d)\n", s.start.Milliseconds(), aimStart.Milliseconds())
	visits, err := s.work(ctx, w, o)
	if err != nil {
		return false, false, err
	}
	wrong, slow = tell(visits, s, o)
	return wrong, slow, nil
}

// tell prints the waits by kind of page.
func tell(visits []visit, s *served, o options) (wrong, slow bool) {
	kinds := map[string][]time.Duration{}
	failed := 0
	for _, v := range visits {
		kinds[v.what] = append(kinds[v.what], v.took)
		kinds["all"] = append(kinds["all"], v.took)
		if !v.ok {
			failed++
		}
	}
	fmt.Printf("%d people, %d pages in %d s, %d failed; greatest memory %d MiB\n", o.people, len(visits), o.seconds, failed, s.memory())
	for _, what := range []string{"ward", "eye", "measure", "admit", "sheet", "shelf", "all"} {
		list := kinds[what]
		slices.Sort(list)
		if len(list) == 0 {
			continue
		}
		fmt.Printf("%-8s n %5d  median %4d ms  p95 %4d ms  p99 %4d ms  worst %4d ms\n", what, len(list), at(list, 0.5), at(list, 0.95), at(list, 0.99), at(list, 1))
	}
	// A measurement first asks for the page it is entered on.
	if n := len(visits) + len(kinds["measure"]); n > 0 && s.busy > 0 {
		fmt.Printf("processor time %.1f ms a request, %d requests\n", float64(s.busy.Microseconds())/1000/float64(n), n)
	}
	return failed > 0 || len(visits) == 0 || s.start > aimStart, at(kinds["all"], 0.99) >= aimPage.Milliseconds()
}

// at is the p-th part of a sorted list, in ms.
func at(list []time.Duration, p float64) int64 {
	if len(list) == 0 {
		return 0
	}
	return list[min(len(list)-1, int(p*float64(len(list))))].Milliseconds()
}
