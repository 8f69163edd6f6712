package lenspower

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"linn/calc/optics"
	"linn/unit"
)

// gridTolerance is half of the last digit the grid prints.
const gridTolerance = 0.00005 + 1e-9

// gridRows is how many rows of each kind the grid must hold: a check that
// silently shrinks is no check.
var gridRows = map[string]int{"main": 486, "power-for-target": 80, "double-k": 16, "thick-reference": 36, "srkt-outside-domain": 25}

// gridRow is one row of lens_power_grid.csv by column name.
type gridRow map[string]string

func (r gridRow) num(t *testing.T, col string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r[col], 64)
	if err != nil {
		t.Fatalf("%s: %v", col, err)
	}
	return v
}

func readGrid(t *testing.T) []gridRow {
	t.Helper()
	f, err := os.Open("testdata/derived/lens_power_grid.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []gridRow
	for _, line := range lines[1:] {
		r := gridRow{}
		for i, name := range lines[0] {
			r[name] = line[i]
		}
		rows = append(rows, r)
	}
	return rows
}

var gridMethods = map[string]string{"SRK/T": "srk-t", "T2": "t2", "Holladay 1": "holladay-1", "Hoffer Q": "hoffer-q", "Haigis": "haigis"}

// input makes the method and its input of a row of the thin formulas.
func (r gridRow) input(t *testing.T) (*Method, Input) {
	t.Helper()
	m := MethodNamed(gridMethods[strings.TrimSuffix(r["formula"], " double-K")])
	if m == nil {
		t.Fatalf("no method %s", r["formula"])
	}
	var c Constants
	for _, word := range strings.Fields(r["constants"]) {
		name, value, _ := strings.Cut(word, "=")
		v, err := strconv.ParseFloat(value, 64)
		if err != nil {
			t.Fatal(err)
		}
		switch name {
		case "A":
			c.A = unit.Known(unit.Constant(v))
		case "SF":
			c.SF = unit.Known(unit.Millimetre(v))
		case "pACD":
			c.PACD = unit.Known(unit.Millimetre(v))
		case "a0":
			c.A0 = unit.Known(unit.Millimetre(v))
		case "a1":
			c.A1 = unit.Known(unit.Constant(v))
		case "a2":
			c.A2 = unit.Known(unit.Constant(v))
		}
	}
	k := unit.Dioptre(r.num(t, "K1")+r.num(t, "K2")) / 2
	in := Input{AxialLength: unit.Millimetre(r.num(t, "AL")), K: k, Vertex: 12, Constant: resolved(t, m, c)}
	if r["K_post"] != "" {
		in.K, in.KBefore = unit.Dioptre(r.num(t, "K_post")), unit.Known(k)
	}
	if r["ACD"] != "" {
		in.ACD = unit.Known(unit.Millimetre(r.num(t, "ACD")))
	}
	return m, in
}

// TestGrid holds all rows of the reference grid, computed by a second method in
// another language, to half of their last digit.
func TestGrid(t *testing.T) {
	seen := map[string]int{}
	for i, r := range readGrid(t) {
		seen[r["kind"]]++
		switch r["kind"] {
		case "srkt-outside-domain":
			r.refused(t, i+2)
		case "thick-reference":
			r.thick(t, i+2)
		default:
			r.thin(t, i+2)
		}
	}
	for kind, want := range gridRows {
		if seen[kind] != want {
			t.Errorf("%d rows of kind %s, want %d", seen[kind], kind, want)
		}
		delete(seen, kind)
	}
	for kind := range seen {
		t.Errorf("unknown kind %q", kind)
	}
}

func (r gridRow) thin(t *testing.T, line int) {
	m, in := r.input(t)
	s, err := m.Solve(in)
	if err != nil {
		t.Errorf("line %d: %v", line, err)
		return
	}
	emmetropia, err0 := s.Power(0)
	check := func(what string, got float64, err error, col string) {
		if want := r.num(t, col); err != nil || !(math.Abs(got-want) <= gridTolerance) {
			t.Errorf("line %d: %s %s %s: got %.5f, %v, want %.4f", line, m.ID, r["kind"], what, got, err, want)
		}
	}
	check("position", float64(s.Position), nil, "lens_position")
	check("emmetropia", float64(emmetropia), err0, "emmetropic_power")
	if r["kind"] == "power-for-target" {
		p, err := s.Power(unit.Dioptre(r.num(t, "predicted_refraction")))
		check("power", float64(p), err, "lens_power")
		return
	}
	ref, err := s.Refraction(unit.Dioptre(r.num(t, "lens_power")))
	check("refraction", float64(ref), err, "predicted_refraction")
}

func (r gridRow) refused(t *testing.T, line int) {
	m, in := r.input(t)
	s, err := m.Solve(in)
	var domain *unit.RangeError
	if !errors.As(err, &domain) || domain.What != "corneal-width" || s != (Solution{}) {
		t.Errorf("line %d: %v, %v: not refused at the cusp", line, s, err)
	}
}

// thick is the reference model of the lens-power page, section 7: an eye of
// four paraxial surfaces.
func (r gridRow) thick(t *testing.T, line int) {
	front := unit.Millimetre(keratometric / r.num(t, "K1"))
	e := optics.Thick{Cornea: optics.Cornea{Anterior: front, Posterior: 0.83 * front, Thickness: 0.5},
		Lens:   optics.Shape{Index: 1.49, Thickness: 0.8},
		Centre: unit.Millimetre(r.num(t, "ACD") + 0.39*r.num(t, "LT")), Length: unit.Millimetre(r.num(t, "AL")), Vertex: 12}
	p, err1 := e.Power(0)
	ref, err2 := e.Refraction(unit.Dioptre(r.num(t, "lens_power")))
	for _, c := range []struct {
		col string
		got float64
	}{{"lens_position", float64(e.Centre)}, {"emmetropic_power", float64(p)}, {"predicted_refraction", float64(ref)}} {
		if want := r.num(t, c.col); !(math.Abs(c.got-want) <= gridTolerance) {
			t.Errorf("line %d: thick %s: got %.5f, want %.4f", line, c.col, c.got, want)
		}
	}
	if err := errors.Join(err1, err2); err != nil {
		t.Errorf("line %d: %v", line, err)
	}
}

// nearestHalf is the multiple of 0.5 nearest x; a tie takes the higher.
func nearestHalf(x float64) float64 { return math.Floor(x*2+0.5) / 2 }
