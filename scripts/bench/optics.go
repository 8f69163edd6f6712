package main

import (
	"fmt"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
)

// The aims of the optics: 20,000 draws by six calculations and a picture of
// 512 by 512 on one core, in ms.
const (
	aimDraws   = 10.0
	aimPicture = 60.0
)

// opticsAgainstNumpy times rays, drawn eyes and a blurred picture beside the
// same work in numpy: the least processor time of three rounds of each.
func opticsAgainstNumpy(dir string) ([]row, error) {
	python, err := findPython()
	if err != nil {
		return nil, err
	}
	said, err := exec.Command(python, "scripts/bench/numpy_optics.py").CombinedOutput()
	if err != nil {
		return nil, fmt.Errorf("numpy_optics.py: %w\n%s", err, said)
	}
	var there, here [3]float64
	for i, name := range []string{"ray", "draws", "blur"} {
		if there[i], err = figure(regexp.MustCompile(`(?m)^numpy `+name+`: ([\d.]+)`), said); err != nil {
			return nil, err
		}
	}
	for i, b := range []benchmark{{"calc/optics", "Trace/navarro", 2_000_000}, {"calc/uncertainty", "Simulate", 40}, {"calc/optics", "Blur512", 10}} {
		if here[i], err = leastOf(dir, b); err != nil {
			return nil, err
		}
	}
	ray, drawn, picture := here[0], here[1]/1e6, here[2]/1e6
	return []row{
		{"exact rays through four conics here, one core", fmt.Sprintf("%.1f million a second", 1000/ray), "", true},
		{"the same in numpy", fmt.Sprintf("%.1f million a second", 1000/there[0]), "", true},
		{"20,000 drawn eyes by six calculations here", fmt.Sprintf("%.1f ms", drawn), fmt.Sprintf("under %.0f ms", aimDraws), drawn < aimDraws},
		{"the same in numpy", fmt.Sprintf("%.1f ms", there[1]), "", true},
		{"a picture of 512 × 512 blurred here", fmt.Sprintf("%.0f ms", picture), fmt.Sprintf("under %.0f ms", aimPicture), picture < aimPicture},
		{"the same in numpy", fmt.Sprintf("%.0f ms", there[2]), "", true},
	}, nil
}

func figure(find *regexp.Regexp, in []byte) (float64, error) {
	m := find.FindSubmatch(in)
	if m == nil {
		return 0, fmt.Errorf("no line %s in:\n%s", find, in)
	}
	return strconv.ParseFloat(string(m[1]), 64)
}

// leastOf is the least processor time of three rounds of a benchmark, in ns a
// turn: what many turns cost beyond one, so that other work on the machine and
// the start of the process do not count.
func leastOf(dir string, b benchmark) (float64, error) {
	binary := filepath.Join(dir, filepath.Base(b.pkg)+".test")
	if out, err := exec.Command("go", "test", "-c", "-o", binary, "./"+b.pkg).CombinedOutput(); err != nil {
		return 0, fmt.Errorf("build of the benchmark: %w\n%s", err, out)
	}
	least := 0.0
	for range 3 {
		one, err := spent(binary, b.name, 1)
		if err != nil {
			return 0, err
		}
		many, err := spent(binary, b.name, b.turns+1)
		if err != nil {
			return 0, err
		}
		if v := (many - one) / float64(b.turns); least == 0 || v < least {
			least = v
		}
	}
	return least, nil
}

// benchmark is one of a package, and how many turns it is given.
type benchmark struct {
	pkg, name string
	turns     int
}

// spent is the processor time of a run, in ns.
func spent(binary, name string, turns int) (float64, error) {
	run := exec.Command(binary, "-test.run", "^$", "-test.bench", "^Benchmark"+strings.ReplaceAll(name, "/", "$/^")+"$", "-test.benchtime", strconv.Itoa(turns)+"x", "-test.cpu", "1")
	if said, err := run.CombinedOutput(); err != nil || !strings.Contains(string(said), "ns/op") {
		return 0, fmt.Errorf("benchmark %s: %v\n%s", name, err, said)
	}
	return float64(run.ProcessState.UserTime() + run.ProcessState.SystemTime()), nil
}
