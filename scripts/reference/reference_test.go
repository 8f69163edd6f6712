// Package reference holds the calculations against frozen files that other
// programs, beside this test, computed: a second implementation in another
// language. `./test` lets those programs recompute their files.
package reference

import (
	"testing"

	"linn/calc/lenspower"
	"linn/internal/checkvalue"
	"linn/unit"
)

// cells reads the columns of a row; a file that lacks one ends the test.
type cells struct {
	t *testing.T
	f *checkvalue.File
	r checkvalue.Row
}

func (c cells) number(column string) float64 {
	c.t.Helper()
	v, err := c.f.Number(c.r, column)
	if err != nil {
		c.t.Fatal(err)
	}
	return v
}

func mm(v float64) unit.Reading[unit.Millimetre] { return unit.Known(unit.Millimetre(v)) }

func pure(v float64) unit.Reading[unit.Constant] { return unit.Known(unit.Constant(v)) }

// TestLensPower compares position, power and refraction of every method with
// the closed forms of lens_power.py.
func TestLensPower(t *testing.T) {
	files, err := checkvalue.Load("testdata/derived")
	if err != nil || len(files) != 1 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	f := &files[0]
	seen := map[string]int{}
	for _, r := range f.Rows {
		id, err := f.Text(r, "method")
		if err != nil {
			t.Fatal(err)
		}
		seen[id]++
		compare(cells{t, f, r}, lenspower.MethodNamed(id))
	}
	for _, m := range lenspower.Methods {
		if seen[m.ID] < 100 {
			t.Errorf("%s has %d rows", m.ID, seen[m.ID])
		}
	}
}

func compare(c cells, m *lenspower.Method) {
	c.t.Helper()
	if m == nil {
		c.t.Fatalf("line %d: unknown method", c.r.Line)
	}
	constant, _, missing := m.Resolve(lenspower.Constants{A: pure(c.number("a")), SF: mm(c.number("sf")), PACD: mm(c.number("pacd")),
		A0: mm(c.number("a0")), A1: pure(c.number("a1")), A2: pure(c.number("a2"))})
	if missing != "" || constant.Converted {
		c.t.Fatalf("line %d: %s missing, or not as given", c.r.Line, missing)
	}
	s, err := m.Solve(lenspower.Input{AxialLength: unit.Millimetre(c.number("al")), K: unit.Dioptre(c.number("k")),
		ACD: mm(c.number("acd")), Vertex: 12, Constant: constant})
	if err != nil {
		c.t.Errorf("line %d: %v", c.r.Line, err)
		return
	}
	power, errP := s.Power(unit.Dioptre(c.number("target")))
	refraction, errR := s.Refraction(unit.Dioptre(c.number("lens")))
	for _, err := range []error{errP, errR, c.f.Compare(c.r, "d", float64(s.Position)),
		c.f.Compare(c.r, "power", float64(power)), c.f.Compare(c.r, "refraction", float64(refraction))} {
		if err != nil {
			c.t.Error(err)
		}
	}
}
