package main

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"linn/calc/lenspower"
	"linn/eye"
)

// TestEyesAreTaken holds the made-up file to the parsers of the format, and
// to itself: the same size gives the same bytes.
func TestEyesAreTaken(t *testing.T) {
	const n = 500
	var made [2]string
	for i := range made {
		name := filepath.Join(t.TempDir(), "eyes.csv")
		if err := writeEyes(name, n); err != nil {
			t.Fatal(err)
		}
		b, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		made[i] = string(b)
	}
	if made[0] != made[1] {
		t.Error("two files of one size differ")
	}
	rows, err := csv.NewReader(strings.NewReader(made[0])).ReadAll()
	if err != nil || len(rows) != n+1 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for _, row := range rows[1:] {
		takes(t, rows[0], row)
	}
}

func takes(t *testing.T, heads, row []string) {
	t.Helper()
	e, l := eye.Eye{}, lenspower.NewLens()
	for i, key := range heads {
		switch f, lf := eye.FieldNamed(key), lenspower.LensFieldNamed(key); {
		case f != nil:
			if r := f.Set(&e, row[i]); r != nil {
				t.Error(r)
			}
		case lf != nil:
			if r := lf.Set(&l, row[i]); r != nil {
				t.Error(r)
			}
		case key != "id":
			t.Errorf("unknown column %s", key)
		}
	}
	if e.KFlat.Value > e.KSteep.Value {
		t.Errorf("flat K %v above steep K %v", e.KFlat.Value, e.KSteep.Value)
	}
}

func TestMissed(t *testing.T) {
	for _, c := range []struct {
		table []row
		want  bool
	}{
		{[]row{{"a", "1", "", false}}, false},
		{[]row{{"a", "1", "2", true}}, false},
		{[]row{{"a", "1", "2", true}, {"b", "3", "2", false}}, true},
	} {
		if got := missed(c.table); got != c.want {
			t.Errorf("missed(%v) = %v", c.table, got)
		}
	}
}

func TestCountLines(t *testing.T) {
	name := filepath.Join(t.TempDir(), "x")
	if err := os.WriteFile(name, slices.Repeat([]byte("a,b\n"), 700_000), 0o600); err != nil {
		t.Fatal(err)
	}
	if n, err := countLines(name); n != 700_000 || err != nil {
		t.Errorf("%d %v", n, err)
	}
}
