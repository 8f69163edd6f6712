package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
)

// aimRatio is how many times as fast as numpy the methods are to be.
const aimRatio = 6.0

var (
	numpyLine  = regexp.MustCompile(`(?m)^numpy \S+: ([\d.]+) ns per eye`)
	goLine     = regexp.MustCompile(`(?m)^go: ([\d.]+) ns per eye`)
	ratioLine  = regexp.MustCompile(`(?m)^ratio ([\d.]+)`)
	allocsLine = regexp.MustCompile(`(?m)^BenchmarkBulk\S*\s.*\s(\d+) allocs/op`)
)

// againstNumpy lets numpy and the methods compute the same eyes in memory on
// one core, turn and turn about, and compares the medians.
func againstNumpy(dir string, rounds int) ([]row, error) {
	python, err := findPython()
	if err != nil {
		return nil, err
	}
	bench := filepath.Join(dir, "lenspower.test")
	if out, err := exec.Command("go", "test", "-c", "-o", bench, "./calc/lenspower").CombinedOutput(); err != nil {
		return nil, fmt.Errorf("build of the benchmark: %w\n%s", err, out)
	}
	said, err := exec.Command(python, "scripts/bench/numpy_lens.py", "--against", bench, "--rounds", strconv.Itoa(rounds)).CombinedOutput()
	if err != nil {
		return nil, fmt.Errorf("numpy_lens.py: %w\n%s", err, said)
	}
	counted, err := exec.Command(bench, "-test.run", "^$", "-test.bench", "^BenchmarkBulk$", "-test.benchtime", "3x", "-test.benchmem").CombinedOutput()
	if err != nil {
		return nil, fmt.Errorf("benchmark: %w\n%s", err, counted)
	}
	var n [4]float64
	for i, find := range []struct {
		line *regexp.Regexp
		in   []byte
	}{{numpyLine, said}, {goLine, said}, {ratioLine, said}, {allocsLine, counted}} {
		m := find.line.FindSubmatch(find.in)
		if m == nil {
			return nil, fmt.Errorf("no line %s in:\n%s", find.line, find.in)
		}
		if n[i], err = strconv.ParseFloat(string(m[1]), 64); err != nil {
			return nil, err
		}
	}
	os.Stdout.Write(said)
	return []row{
		{"five methods in numpy, one core", fmt.Sprintf("%.0f ns per eye", n[0]), "", true},
		{"five methods here, one core", fmt.Sprintf("%.0f ns per eye", n[1]), "", true},
		{"times as fast as numpy", fmt.Sprintf("%.1f", n[2]), fmt.Sprintf("at least %.0f", aimRatio), n[2] >= aimRatio},
		{"allocations", fmt.Sprintf("%.0f", n[3]), "0", n[3] == 0},
	}, nil
}

// findPython is a python3 that has numpy.
func findPython() (string, error) {
	for _, p := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(p, "-c", "import numpy").Run() == nil {
			return p, nil
		}
	}
	return "", fmt.Errorf("no python3 with numpy (Debian: python3-numpy)")
}
