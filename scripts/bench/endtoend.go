package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"time"
)

// The aims of a million rows on two cores.
const (
	aimTime   = 15 * time.Second
	aimMemory = 200 << 20
	perRow    = 5 // methods that answer each row
)

// endToEnd builds the program, lets it answer a file of eyes on two cores and
// says how long it took and how much memory it held at most.
func endToEnd(dir string, rows int) ([]row, error) {
	program, eyes, answers := filepath.Join(dir, "linn"), filepath.Join(dir, "eyes.csv"), filepath.Join(dir, "answers.csv")
	if out, err := exec.Command("go", "build", "-buildvcs=false", "-o", program, "./cmd/linn").CombinedOutput(); err != nil {
		return nil, fmt.Errorf("build: %w\n%s", err, out)
	}
	if err := writeEyes(eyes, rows); err != nil {
		return nil, err
	}
	took, memory, err := run(program, eyes, answers)
	if err != nil {
		return nil, err
	}
	lines, err := countLines(answers)
	if err != nil {
		return nil, err
	}
	table := []row{
		{fmt.Sprintf("linn lens --csv, %d rows", rows), fmt.Sprintf("%.2f s", took.Seconds()), fmt.Sprintf("under %.0f s", aimTime.Seconds()), took < aimTime},
		{"lines written below the header", fmt.Sprint(lines - 1), fmt.Sprint(perRow * rows), lines-1 == perRow*rows},
	}
	if memory > 0 {
		table = append(table, row{"greatest resident memory", fmt.Sprintf("%.0f MiB", float64(memory)/(1<<20)), fmt.Sprintf("under %d MiB", aimMemory>>20), memory < aimMemory})
	}
	return table, nil
}

// run answers the file of eyes into the file of answers with two processors.
func run(program, eyes, answers string) (time.Duration, int64, error) {
	out, err := os.Create(answers)
	if err != nil {
		return 0, 0, err
	}
	defer out.Close()
	var said bytes.Buffer
	cmd := exec.Command(program, "lens", "--csv", eyes)
	cmd.Stdout, cmd.Stderr = out, &said
	cmd.Env = append(os.Environ(), "GOMAXPROCS=2")
	start := time.Now()
	err = cmd.Run()
	took := time.Since(start)
	if err != nil {
		return 0, 0, fmt.Errorf("linn lens --csv: %w\n%.2000s", err, said.String())
	}
	return took, peakMemory(cmd.ProcessState), out.Close()
}

func countLines(name string) (int, error) {
	f, err := os.Open(name)
	if err != nil {
		return 0, err
	}
	defer f.Close()
	n, buf := 0, make([]byte, 1<<20)
	for {
		k, err := f.Read(buf)
		n += bytes.Count(buf[:k], []byte{'\n'})
		if errors.Is(err, io.EOF) {
			return n, nil
		}
		if err != nil {
			return 0, err
		}
	}
}
