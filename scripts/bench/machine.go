package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
)

// The aims of the chamber's integrator.
const (
	aimSeries   = 1.0  // ms for a series of 10 s
	aimSciPy    = 50.0 // times as fast as scipy
	aimEnvelope = 2.0  // s for 20 × 20 × 20 settings
)

var (
	seriesLine = regexp.MustCompile(`10 s series: ([\d.]+) ms, scipy ([\d.]+) ms, (\d+) times`)
)

// againstSciPy lets scipy and the chamber's integrator solve the same equations
// at the same tolerance, and times the envelope. Both are judged by processor time
// on one core: wall time would judge the other work on the machine.
func againstSciPy(dir string) ([]row, error) {
	bench := filepath.Join(dir, "fluidics.test")
	if out, err := exec.Command("go", "test", "-c", "-o", bench, "./calc/fluidics").CombinedOutput(); err != nil {
		return nil, fmt.Errorf("build of the benchmark: %w\n%s", err, out)
	}
	cmd := exec.Command(bench, "-test.run", "^TestSeriesBesideSciPy$", "-test.v")
	cmd.Dir, cmd.Env = "calc/fluidics", append(os.Environ(), "LINN_FULL=1")
	out, _ := cmd.CombinedOutput() // a missed aim is told by the table
	s := seriesLine.FindSubmatch(out)
	if s == nil {
		return nil, fmt.Errorf("no figures in:\n%s", out)
	}
	envelope, err := leastOf(dir, benchmark{"calc/fluidics", "Envelope8000", 2})
	if err != nil {
		return nil, err
	}
	var n [3]float64
	for i, text := range s[1:4] {
		v, err := strconv.ParseFloat(string(text), 64)
		if err != nil {
			return nil, err
		}
		n[i] = v
	}
	return []row{
		{"chamber, a series of 10 s in scipy (processor time)", fmt.Sprintf("%.0f ms", n[1]), "", true},
		{"chamber, a series of 10 s here (processor time)", fmt.Sprintf("%.2f ms", n[0]), fmt.Sprintf("under %.0f ms", aimSeries), n[0] < aimSeries},
		{"times as fast as scipy", fmt.Sprintf("%.0f", n[2]), fmt.Sprintf("at least %.0f", aimSciPy), n[2] >= aimSciPy},
		{"settings envelope, 20 × 20 × 20, one core (processor time)", fmt.Sprintf("%.1f s", envelope/1e9), fmt.Sprintf("under %.0f s", aimEnvelope), envelope/1e9 < aimEnvelope},
	}, nil
}
